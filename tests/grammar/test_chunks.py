"""Where a text is cut into chunks that are read by themselves: at whole blocks, and at half-typed ones above them."""

from __future__ import annotations

import pytest

from flatwise_grammar import chunk_bounds

#: texts, with a bar where each chunk after the first begins
MARKED = [
    "",
    "a { b 1 }\n|c { d 1 }\n",
    '# first\n\n|use "x"\n\n# second\n|a {\n  b 1\n}\r\n|c {\r}\r|d {\r}',
    "a {\nb 1\nc 2\n}\n|d {\n}\n",
    # braces in quoted texts and in comments don't count
    'a {\n  b "}{" # {\n  c "\\"}"\n}\n|d "{" {\n}\n|e {\n}\n',
    "\n\n|a { }\n",
    "a {\r\n b 1\r\n}\r\n|c { }",
    'a { "{\n|c { }\n',
    "a { # {\n}\n|c { }",
    # an extra closing brace closes nothing
    "a { b {\n}}}\n|c { }",
    "}\n|a {\n}}\n|b {\n  c 1\n}\n|d {\n}\n",
    # a brace is missing: a header in the first column begins a chunk where lines inside blocks are indented
    "a { b 1\n|c {\n d 1\n}\n",
    "a {\n|b {\n c 1\n}\n|d {\n e 1\n}\n",
    "a {\n b 1\n|c { d 1 }\n|e {\nf 1\n}\n",
    # but not where braces match
    "a {\n b 1\nc {\nd 1\n}\n}\n",
    # nor where lines inside blocks are not indented
    "a {\n  b 1\n|c x {\n  d 1\n}\n",
    'a {\n  b 1\n|c {\n  d {\n    e 1\n|f {\n  g 1\n}\n|use "x"\n|h { }\n',
    "a {\n# note\n\n   # note\n  b 1\n|c {\n  d 1\n}\n",
    "a {\n  b 1\nfeed 3\nc 1 # {\n",
    "a {\nb 1\nc {\nd 1\n}\n",
    # the body of the open block decides, not that of another before it
    "x {\ny 1\n}\n|a {\n  b 1\n|c {\n  d 1\n}\n",
    "x {\n  y 1\n}\n|a {\nb 1\nc {\nd 1\n}\n",
    "a {\n  x {\ny 1\n}\n|c {\n  d 1\n}\n",
    # where it has no body yet, the body under the header decides
    "a {\n|c {\n  d 1\n}\n",
    "a {\n|c {\n\td 1\n}\n",
    "a {\n|c {\n\n  # note\n  d 1\n}\n",
    "a {\nb {\nc {\n  d 1\n}\n",
    "a {\nc {\nd 1\n}\n",
    "a {\n|c { d 1 }\n",
    "a {\n|c { d 1 }\n|e {",
    "a {\n|c {",
]


@pytest.mark.parametrize("marked", MARKED)
def test_a_text_is_cut_into_chunks(marked: str) -> None:
    text = marked.replace("|", "")
    assert "|".join(text[start:end] for start, end in chunk_bounds(text)) == marked
    assert all(start < end for start, end in chunk_bounds(text))
