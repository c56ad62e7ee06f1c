-- Starts the language server for job files: one server for all files of a project.
local marks = { 'flatwise.toml', 'pyproject.toml', '.git' }

local function root_of(file)
  local folder = vim.fn.fnamemodify(file, ':p:h')
  while true do
    for _, mark in ipairs(marks) do
      if vim.loop.fs_stat(folder .. '/' .. mark) then
        return folder
      end
    end
    local above = vim.fn.fnamemodify(folder, ':h')
    if above == folder then
      return vim.fn.fnamemodify(file, ':p:h')
    end
    folder = above
  end
end

local buffer = vim.api.nvim_get_current_buf()
local root = root_of(vim.api.nvim_buf_get_name(buffer))
local config = {
  name = 'flatwise',
  cmd = { 'flatwise', 'serve' },
  root_dir = root,
  workspace_folders = { { uri = vim.uri_from_fname(root), name = root } },
}

if not vim.lsp.handlers['window/showDocument'] then
  -- Neovim before 0.9 shows no documents: pages open in the browser, text in the editor
  config.capabilities = vim.lsp.protocol.make_client_capabilities()
  config.capabilities.window.showDocument = { support = true }
  config.handlers = {
    ['window/showDocument'] = function(_, shown)
      if not shown.external then
        vim.cmd('edit ' .. vim.fn.fnameescape(vim.uri_to_fname(shown.uri)))
        return { success = true }
      end
      local opener = vim.fn.has('mac') == 1 and { 'open' }
        or vim.fn.has('win32') == 1 and { 'rundll32', 'url.dll,FileProtocolHandler' }
        or { 'xdg-open' }
      local started, job = pcall(vim.fn.jobstart, vim.list_extend(opener, { shown.uri }), { detach = true })
      return { success = started and job > 0 }
    end,
  }
end

if vim.lsp.start then
  vim.lsp.start(config)
else
  -- Neovim 0.7
  _G.flatwise_servers = _G.flatwise_servers or {}
  local id = _G.flatwise_servers[root]
  if not id or not vim.lsp.get_client_by_id(id) then
    id = vim.lsp.start_client(config)
    _G.flatwise_servers[root] = id
  end
  if id then
    vim.lsp.buf_attach_client(buffer, id)
  end
end

vim.bo[buffer].omnifunc = 'v:lua.vim.lsp.omnifunc'
vim.bo[buffer].formatexpr = 'v:lua.vim.lsp.formatexpr()'

-- a summary of each job is shown above it; vim.lsp.codelens.run() runs `Build`, `Preview` and `Open the sheet`
vim.api.nvim_create_autocmd({ 'BufEnter', 'InsertLeave', 'BufWritePost' }, {
  buffer = buffer,
  callback = function()
    local clients = vim.lsp.get_clients and vim.lsp.get_clients({ bufnr = buffer })
      or vim.lsp.buf_get_clients(buffer)
    for _, client in pairs(clients) do
      -- Neovim would report an error if the server is still starting
      if client.name == 'flatwise' and (client.server_capabilities or {}).codeLensProvider then
        pcall(vim.lsp.codelens.refresh, { bufnr = buffer })
      end
    end
  end,
})

-- colours from the compiled grammar, where it is there; else from the Vim set-up
if #vim.api.nvim_get_runtime_file('parser/flatwise.*', false) > 0 then
  if vim.treesitter.start then
    vim.treesitter.start(buffer, 'flatwise')
  else
    -- Neovim 0.7
    vim.treesitter.highlighter.new(vim.treesitter.get_parser(buffer, 'flatwise'))
  end
end
