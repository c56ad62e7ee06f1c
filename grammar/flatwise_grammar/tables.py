"""Made by `python -m flatwise_grammar.make_tables` from `flatwise.lark`; do not edit.

`PATTERN` has each terminal as a named group.  `RULES` are (what the rule makes, how many parts it takes).  `ACTIONS`
gives for each state the action at a terminal or after a rule: a state to go to if it is not negative, else the rule
`~action` to reduce by.  Reading begins in `START` and ends in `END`.
"""

# ruff: noqa
# fmt: off

PATTERN = '(?P<NEWLINE>\r\n?|\n)|(?P<BLANKS>[ \t\x0c\\v]+)|(?P<COMMENT>#[^\r\n]*)|(?P<NAME>[a-z][a-z0-9_]*(?![\\w-]))|(?P<CODE>[A-Z]+[0-9]+(?:\\.[0-9])?(?![\\w-]))|(?P<STRING>"[^"\\\\\r\n]*(?:\\\\["\\\\][^"\\\\\r\n]*)*")|(?P<PLUS_MINUS>\\+/\\-)|(?P<COMMA>,)|(?P<LPAR>\\()|(?P<RPAR>\\))|(?P<BAD_MIXED>-?[0-9]+(?:[ \t]{2,}|\t)[0-9]+\\/[0-9]+(?:(?:%|(?![eE][0-9])[A-Za-z]+[0-9]?(?:\\/[A-Za-z]+[0-9]?)?))?(?=[\\s,;(){}#"]|\\+\\/-|$))|(?P<QUANTITY>-?(?:[0-9]+(?: [0-9]+)?\\/[0-9]+|[0-9]+(?:\\.[0-9]+)?)(?:[ \t]+(?:%|(?=[A-Za-z]*[A-Z][a-z]|[A-Za-z]*[A-Z](?![A-Za-z0-9])|[A-Za-z]+[0-9]?\\/)[A-Za-z]+[0-9]?(?:\\/[A-Za-z]+[0-9]?)?)|(?:%|(?![eE][0-9])[A-Za-z]+[0-9]?(?:\\/[A-Za-z]+[0-9]?)?))(?=[\\s,;(){}#"]|\\+\\/-|$))|(?P<NUMBER>-?(?:[0-9]+(?: [0-9]+)?\\/[0-9]+|[0-9]+(?:\\.[0-9]+)?)(?=[\\s,;(){}#"]|\\+\\/-|$))|(?P<BAD_STRING>"[^"\\\\\r\n]*(?:\\\\.[^"\\\\\r\n]*)*"?)|(?P<BAD_NUMBER>[-+]?\\.?[0-9](?:(?!\\+\\/-)[^\\s,;(){}#"])*)|(?P<BAD_WORD>[^\\W\\d][\\w-]*)|(?P<LBRACE>\\{)|(?P<RBRACE>\\})|(?P<SEMICOLON>;)|(?P<STRAY>[^\r\n])'

RULES: tuple[tuple[str, int], ...] = (
    ('__coordinate_plus_1', 1),
    ('__coordinate_plus_1', 2),
    ('__header_star_0', 1),
    ('__header_star_0', 2),
    ('coordinate', 1),
    ('field', 1),
    ('field', 2),
    ('header', 2),
    ('header', 3),
    ('item', 1),
    ('line', 1),
    ('point', 5),
)

ACTIONS: tuple[dict[str, int], ...] = (
    {'NAME': 1, 'field': 2, 'header': 3, 'line': 4},
    {'$END': -6, 'CODE': 5, 'COMMA': 6, 'LBRACE': 7, 'LPAR': 8, 'NAME': 9, 'NUMBER': 10, 'PLUS_MINUS': 11, 'QUANTITY': 12, 'STRING': 13, '__header_star_0': 14, 'item': 15, 'point': 16},
    {'$END': -11},
    {'$END': -11},
    {},
    {'$END': -10, 'CODE': -10, 'COMMA': -10, 'LBRACE': -10, 'LPAR': -10, 'NAME': -10, 'NUMBER': -10, 'PLUS_MINUS': -10, 'QUANTITY': -10, 'STRING': -10},
    {'$END': -10, 'CODE': -10, 'COMMA': -10, 'LBRACE': -10, 'LPAR': -10, 'NAME': -10, 'NUMBER': -10, 'PLUS_MINUS': -10, 'QUANTITY': -10, 'STRING': -10},
    {'$END': -8},
    {'NAME': 17, 'NUMBER': 18, 'QUANTITY': 19, '__coordinate_plus_1': 20, 'coordinate': 21},
    {'$END': -10, 'CODE': -10, 'COMMA': -10, 'LBRACE': -10, 'LPAR': -10, 'NAME': -10, 'NUMBER': -10, 'PLUS_MINUS': -10, 'QUANTITY': -10, 'STRING': -10},
    {'$END': -10, 'CODE': -10, 'COMMA': -10, 'LBRACE': -10, 'LPAR': -10, 'NAME': -10, 'NUMBER': -10, 'PLUS_MINUS': -10, 'QUANTITY': -10, 'STRING': -10},
    {'$END': -10, 'CODE': -10, 'COMMA': -10, 'LBRACE': -10, 'LPAR': -10, 'NAME': -10, 'NUMBER': -10, 'PLUS_MINUS': -10, 'QUANTITY': -10, 'STRING': -10},
    {'$END': -10, 'CODE': -10, 'COMMA': -10, 'LBRACE': -10, 'LPAR': -10, 'NAME': -10, 'NUMBER': -10, 'PLUS_MINUS': -10, 'QUANTITY': -10, 'STRING': -10},
    {'$END': -10, 'CODE': -10, 'COMMA': -10, 'LBRACE': -10, 'LPAR': -10, 'NAME': -10, 'NUMBER': -10, 'PLUS_MINUS': -10, 'QUANTITY': -10, 'STRING': -10},
    {'$END': -7, 'CODE': 5, 'COMMA': 6, 'LBRACE': 22, 'LPAR': 8, 'NAME': 9, 'NUMBER': 10, 'PLUS_MINUS': 11, 'QUANTITY': 12, 'STRING': 13, 'item': 23, 'point': 16},
    {'$END': -3, 'CODE': -3, 'COMMA': -3, 'LBRACE': -3, 'LPAR': -3, 'NAME': -3, 'NUMBER': -3, 'PLUS_MINUS': -3, 'QUANTITY': -3, 'STRING': -3},
    {'$END': -10, 'CODE': -10, 'COMMA': -10, 'LBRACE': -10, 'LPAR': -10, 'NAME': -10, 'NUMBER': -10, 'PLUS_MINUS': -10, 'QUANTITY': -10, 'STRING': -10},
    {'COMMA': -1, 'NAME': -1, 'NUMBER': -1, 'QUANTITY': -1, 'RPAR': -1},
    {'COMMA': -1, 'NAME': -1, 'NUMBER': -1, 'QUANTITY': -1, 'RPAR': -1},
    {'COMMA': -1, 'NAME': -1, 'NUMBER': -1, 'QUANTITY': -1, 'RPAR': -1},
    {'COMMA': -5, 'NAME': 24, 'NUMBER': 25, 'QUANTITY': 26, 'RPAR': -5},
    {'COMMA': 27},
    {'$END': -9},
    {'$END': -4, 'CODE': -4, 'COMMA': -4, 'LBRACE': -4, 'LPAR': -4, 'NAME': -4, 'NUMBER': -4, 'PLUS_MINUS': -4, 'QUANTITY': -4, 'STRING': -4},
    {'COMMA': -2, 'NAME': -2, 'NUMBER': -2, 'QUANTITY': -2, 'RPAR': -2},
    {'COMMA': -2, 'NAME': -2, 'NUMBER': -2, 'QUANTITY': -2, 'RPAR': -2},
    {'COMMA': -2, 'NAME': -2, 'NUMBER': -2, 'QUANTITY': -2, 'RPAR': -2},
    {'NAME': 17, 'NUMBER': 18, 'QUANTITY': 19, '__coordinate_plus_1': 20, 'coordinate': 28},
    {'RPAR': 29},
    {'$END': -12, 'CODE': -12, 'COMMA': -12, 'LBRACE': -12, 'LPAR': -12, 'NAME': -12, 'NUMBER': -12, 'PLUS_MINUS': -12, 'QUANTITY': -12, 'STRING': -12},
)

START = 0
END = 4
