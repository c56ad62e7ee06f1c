-- Drives Neovim as a user would: open a job, see its finding, take the fix, save; then hover, complete, rename.
-- What was seen is written as JSON to $FLATWISE_SEEN.
local seen = {}

local function wait(what, test)
  if not vim.wait(60000, test, 20) then
    seen.failed = what
    error(what)
  end
end

local function request(method, params)
  local answers = assert(vim.lsp.buf_request_sync(0, method, params, 60000), method .. ' was not answered')
  for _, answer in pairs(answers) do
    local wrong = answer.err or answer.error
    if wrong then
      return nil, wrong.message
    end
    return answer.result
  end
end

local function go_to(word)
  vim.fn.cursor(1, 1)
  assert(vim.fn.search('\\V' .. word, 'c') > 0, word)
end

local function codes()
  local found = {}
  for _, one in ipairs(vim.diagnostic.get(0)) do
    table.insert(found, one.code or one.user_data.lsp.code)
  end
  return found
end

local function encoding()
  for _, client in pairs(vim.lsp.buf_get_clients(0)) do
    return client.offset_encoding
  end
end

local ok, why = pcall(function()
  seen.filetype = vim.bo.filetype
  wait('no client', function() return next(vim.lsp.buf_get_clients(0)) ~= nil end)
  wait('no finding', function() return #vim.diagnostic.get(0) > 0 end)
  local first = vim.diagnostic.get(0)[1]
  seen.before = codes()
  seen.line = first.lnum
  seen.message = first.message

  go_to('stepovr')
  local params = vim.lsp.util.make_range_params()
  params.context = { diagnostics = vim.lsp.diagnostic.get_line_diagnostics() }
  for _, action in ipairs(request('textDocument/codeAction', params)) do
    if action.isPreferred then
      seen.title = action.title
      vim.lsp.util.apply_workspace_edit(action.edit, encoding())
      break
    end
  end
  wait('the finding stays', function() return #codes() == 0 or codes()[1] ~= 'FW101' end)
  seen.after = codes()
  vim.cmd('write')

  go_to('fly_64')
  wait('no hover', function()
    local hover = request('textDocument/hover', vim.lsp.util.make_position_params())
    seen.hover = hover and hover.contents.value
    return seen.hover ~= nil and seen.hover:find('rim speed') ~= nil
  end)

  go_to('depth')
  vim.cmd('normal! o')
  vim.api.nvim_set_current_line('        ')
  vim.fn.cursor(vim.fn.line('.'), 9)
  local at = vim.lsp.util.make_position_params()
  at.position.character = 8
  seen.offers = {}
  for _, item in ipairs(request('textDocument/completion', at).items) do
    table.insert(seen.offers, item.label)
  end
  vim.cmd('delete')

  go_to('own_dog')
  local rename = vim.lsp.util.make_position_params()
  rename.newName = 'oak_dog'
  vim.lsp.util.apply_workspace_edit(assert(request('textDocument/rename', rename)), encoding())
  rename.newName = 'Not A Name'
  local _, refused = request('textDocument/rename', rename)
  seen.refused = refused
  vim.cmd('write')

  go_to('oak_dog')
  local line = vim.fn.search('^job') - 1
  seen.page = request('workspace/executeCommand', { command = 'flatwise.preview', arguments = { vim.uri_from_bufnr(0), line } })
  wait('no browser', function() return vim.fn.filereadable('opened') == 1 end)
end)
seen.ok = ok
seen.why = tostring(why)
vim.fn.writefile({ vim.fn.json_encode(seen) }, vim.env.FLATWISE_SEEN)
vim.cmd('qall!')
