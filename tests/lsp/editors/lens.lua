-- Drives Neovim as a user would: waits for the lenses of a batch and builds it by its own.  What was seen is written as
-- JSON to $FLATWISE_SEEN.
local seen = { offered = {} }
vim.lsp.handlers['window/showMessage'] = function(_, told) seen.message = told.message end

local function wait(what, test)
  seen[what] = vim.wait(60000, test, 20)
end

-- a user chooses the lens from a list
vim.ui.select = function(items, options, choose)
  for index, item in ipairs(items) do
    table.insert(seen.offered, options.format_item(item))
    if seen.offered[index] == 'Build' then choose(item, index) end
  end
end

wait('started', function()
  for _, client in pairs(vim.lsp.buf_get_clients(0)) do
    return client.server_capabilities and client.server_capabilities.codeLensProvider ~= nil
  end
end)
vim.cmd('doautocmd InsertLeave')
wait('shown', function() return #vim.lsp.codelens.get(0) > 0 end)
vim.fn.cursor(1, 1)
vim.fn.search('^batch')
vim.lsp.codelens.run()
wait('built', function() return seen.message ~= nil end)
vim.fn.writefile({ vim.fn.json_encode(seen) }, vim.env.FLATWISE_SEEN)
vim.cmd('qall!')
