" Colours by form only; the language server knows which words a block takes.
if exists('b:current_syntax')
  finish
endif

syntax match flatwiseHeader /\%(^\|[{;}]\)\s*\zs\l\w*\ze[^#";{}]*{/
syntax match flatwiseField /\%(^\|[{;}]\)\s*\zs\l\w*\ze\%([^#";{}]*{\)\@!/
syntax match flatwiseUse /^\s*\zsuse\ze\s\+"/
syntax match flatwiseNumber /\%([[:alnum:]_]\)\@<!-\?\d\+\%([ -]\d\+\)\?\%([.\/]\d\+\)\?\%(%\|\a\+\d\?\%(\/\a\+\d\?\)\?\)\?/
syntax match flatwiseCode /\<\u\+\d\+\%(\.\d\)\?\>/
syntax region flatwiseText start=/"/ skip=/\\["\\]/ end=/"/ oneline
syntax match flatwiseComment /#.*/

highlight default link flatwiseHeader Structure
highlight default link flatwiseField Identifier
highlight default link flatwiseUse Include
highlight default link flatwiseNumber Number
highlight default link flatwiseCode Constant
highlight default link flatwiseText String
highlight default link flatwiseComment Comment

let b:current_syntax = 'flatwise'
