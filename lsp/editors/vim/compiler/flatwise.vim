" After :compiler flatwise, :make % lists the findings of a job.
if exists('current_compiler')
  finish
endif
let current_compiler = 'flatwise'

CompilerSet makeprg=flatwise\ check
" FW501 error  jobs/shelf.flat:12:9, a blank line, and the message; then the source line, related places and the help.
" Source lines (a number and a bar) are dropped, since the list leads to them.
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
