" Functions for the options of the file type.

" 'formatexpr': formats the whole file, so `gqq` and `gggqG` do the same.
function! flatwise#format() abort
  if mode() =~# '[iR]'
    return 1    " a comment has become too long while typing: Vim wraps it itself
  endif
  let l:file = tempname() . '.flat'
  try
    call writefile(getline(1, '$'), l:file)
    let l:said = system('flatwise format ' . shellescape(l:file))
    if v:shell_error > 1
      echohl ErrorMsg | echomsg 'flatwise format: ' . substitute(l:said, '\_s\+', ' ', 'g') | echohl None
      return 0
    endif
    let l:lines = readfile(l:file)
  finally
    call delete(l:file)
  endtry
  let l:view = winsaveview()
  if len(l:lines) < line('$')
    silent keepjumps execute (len(l:lines) + 1) . ',$delete _'
  endif
  call setline(1, l:lines)
  call winrestview(l:view)
  return 0
endfunction

" A line without the contents of its strings and without its comment.
function! s:code(line) abort
  return substitute(substitute(getline(a:line), '"\%([^"\\]\|\\.\)*"\?', '""', 'g'), '\s*\%(#.*\)\?$', '', '')
endfunction

function! s:before(line) abort
  let l:at = prevnonblank(a:line - 1)
  while l:at > 0 && s:code(l:at) ==# ''
    let l:at = prevnonblank(l:at - 1)
  endwhile
  return l:at
endfunction

" 'indentexpr': one step for each open brace; a line continued after a comma is aligned with the first value.
function! flatwise#indent(line) abort
  let l:before = s:before(a:line)
  if l:before == 0
    return 0
  endif
  let l:code = s:code(l:before)
  let l:above = s:before(l:before)
  let l:goes_on = l:above > 0 && s:code(l:above) =~# ',$'
  if l:code =~# ',$'
    return l:goes_on ? indent(l:before) : matchend(l:code, '^\s*\w\+\s\+')
  endif
  while l:goes_on
    let l:before = l:above
    let l:above = s:before(l:before)
    let l:goes_on = l:above > 0 && s:code(l:above) =~# ',$'
  endwhile
  let l:braces = substitute(substitute(l:code, '^\s*}', '', ''), '[^{}]', '', 'g')
  let l:open = len(substitute(l:braces, '}', '', 'g')) - len(substitute(l:braces, '{', '', 'g'))
  let l:open -= getline(a:line) =~# '^\s*}'
  return max([0, indent(l:before) + l:open * shiftwidth()])
endfunction

" The folder of the current file's project; the file's own folder where there is none.
function! flatwise#root() abort
  let l:folder = expand('%:p:h')
  for l:mark in ['flatwise.toml', 'pyproject.toml']
    let l:found = findfile(l:mark, escape(l:folder, ' ,;*') . ';')
    if l:found !=# ''
      return fnamemodify(l:found, ':p:h')
    endif
  endfor
  return l:folder
endfunction
