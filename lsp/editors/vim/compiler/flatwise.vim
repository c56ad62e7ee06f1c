" :compiler flatwise, then :make % lists what is wrong with a job.
if exists('current_compiler')
  finish
endif
let current_compiler = 'flatwise'

CompilerSet makeprg=flatwise\ check
" FW501 error  jobs/shelf.flat:12:9, a blank line, and the sentence
CompilerSet errorformat=%EFW%n\ error\ \ %f:%l:%c,%WFW%n\ warning\ \ %f:%l:%c,%+C\ \ %m,%-C,%-Z%.%#,%-G%.%#
