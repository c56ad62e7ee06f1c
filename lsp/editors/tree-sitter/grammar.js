// The shapes of the language for editors that colour by tree-sitter: blocks, fields, values.  There is no word of the
// language here; grammar/flatwise_grammar/flatwise.lark is the model.  After a change, run `tree-sitter generate --abi 14`
// in a copy of this folder, and take src/parser.c from there.
const number = /-?([0-9]+( [0-9]+)?\/[0-9]+|[0-9]+(\.[0-9]+)?)/;
const unit = /%|[A-Za-z]+[0-9]?(\/[A-Za-z]+[0-9]?)?/;
// a unit after a space, where its shape can be neither a name nor a code: `2.2 kW`, `400 mm/s2`, `70 %`
const spaced_unit = /%|[A-Za-z]*[A-Z][a-z][A-Za-z]*[0-9]?|[A-Za-z]*[A-Z]|[A-Za-z]+[0-9]?\/[A-Za-z]+[0-9]?/;

const lines = ($) => seq(repeat(choice($._end, $.block, seq($.field, $._end))), optional($.field));

module.exports = grammar({
  name: "flatwise",
  extras: ($) => [/[ \t\f\v]/, $.comment],
  rules: {
    file: ($) => lines($),
    block: ($) => seq($.name, repeat($._item), "{", lines($), "}"),
    field: ($) => seq($.name, repeat($._item)),
    _item: ($) => choice($.number, $.quantity, $.name, $.code, $.string, $.tolerance, $._comma, $.point),
    // a line that ends in a comma goes on
    _comma: ($) => prec.right(seq(",", repeat($._newline))),
    point: ($) => seq("(", $._coordinate, $._comma, $._coordinate, ")"),
    _coordinate: ($) => repeat1(choice($.number, $.quantity, $.name)),
    quantity: ($) => seq($.number, choice(alias($._unit, $.unit), alias($._spaced_unit, $.unit))),

    _end: ($) => choice($._newline, ";"),
    _newline: () => /\r\n?|\n/,
    name: () => /[a-z][a-z0-9_]*/,
    code: () => /[A-Z]+[0-9]+(\.[0-9])?/,
    string: () => /"[^"\\\r\n]*(\\["\\][^"\\\r\n]*)*"/,
    tolerance: () => "+/-",
    number: () => token(number),
    _unit: () => token.immediate(unit),
    _spaced_unit: () => token(spaced_unit),
    comment: () => /#[^\r\n]*/,
  },
});
