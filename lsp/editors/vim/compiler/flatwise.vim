" :compiler flatwise, then :make % lists what is wrong with a job.
if exists('current_compiler')
  finish
endif
let current_compiler = 'flatwise'

CompilerSet makeprg=flatwise\ check
" FW501 error  jobs/shelf.flat:12:9, a blank line, and the sentence; then the source line, what else matters and the
" way out.  Source lines (a number, a bar) are left out of the text: the list leads there.
CompilerSet errorformat=
      \%EFW%n\ error\ \ %f:%l:%c,
      \%WFW%n\ warning\ \ %f:%l:%c,
      \%EFW%n\ error\ \ %f,
      \%WFW%n\ warning\ \ %f,
      \%EFW%n\ error,
      \%WFW%n\ warning,
      \%-C%*[\ 0-9]\|%.%#,
      \%-C%*[\ ]:%.%#,
      \%C\ \ %m,
      \%-C,
      \%-Z%.%#,
      \%-G%.%#
