" Job files of Flatwise.
if exists('b:did_ftplugin')
  finish
endif
let b:did_ftplugin = 1

setlocal commentstring=#\ %s
setlocal comments=:#
setlocal expandtab shiftwidth=4 softtabstop=4
setlocal iskeyword=@,48-57,_
setlocal formatexpr=flatwise#format()
let b:undo_ftplugin = 'setlocal commentstring< comments< expandtab< shiftwidth< softtabstop< iskeyword< formatexpr<'

" for the plugin vim-lsp; its functions are loaded when first called, so exists() can't find them
if exists('g:lsp_loaded') && !exists('g:flatwise_registered')
  let g:flatwise_registered = 1
  call lsp#register_server({
        \ 'name': 'flatwise',
        \ 'cmd': {server_info -> ['flatwise', 'serve']},
        \ 'root_uri': {server_info -> lsp#utils#path_to_uri(flatwise#root())},
        \ 'allowlist': ['flatwise'],
        \ })
endif
