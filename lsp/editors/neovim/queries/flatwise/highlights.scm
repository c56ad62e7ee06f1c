; Colours by form only; the language server knows which words a block takes.  No two patterns meet in one node.
(comment) @comment
(string) @string
(number) @number
(unit) @type
(code) @constant
(tolerance) @operator
[";" ","] @punctuation.delimiter
["(" ")" "{" "}"] @punctuation.bracket

((file (field . (name) @include . (string))) (#eq? @include "use"))
(block . (name) @type)
(block . (name) . (name) @constructor)
(block (field . (name) @property))
