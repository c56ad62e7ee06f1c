autocmd BufNewFile,BufRead *.flat setfiletype flatwise
