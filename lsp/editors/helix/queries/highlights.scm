; Colours by form only; the language server knows which words a block takes.  No two patterns meet in one node, so their
; order does not matter.
(comment) @comment
(string) @string
(number) @constant.numeric
(unit) @type.builtin
(code) @constant
(tolerance) @operator
[";" ","] @punctuation.delimiter
["(" ")" "{" "}"] @punctuation.bracket

((file (field . (name) @keyword.control.import . (string))) (#eq? @keyword.control.import "use"))
(block . (name) @type)
(block . (name) . (name) @constructor)
(block (field . (name) @variable.other.member))
