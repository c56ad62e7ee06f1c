// Starts `flatwise serve` for job files; everything that the editor shows comes from the server.
const { commands, window, workspace } = require("vscode");
const { LanguageClient } = require("vscode-languageclient/node");

let client;

// from the palette `Preview` has no arguments: it takes the job or batch of the cursor
function executeCommand(command, given, next) {
  const editor = window.activeTextEditor;
  const here = command === "flatwise.preview" && !given.length && editor;
  return next(command, here ? [editor.document.uri.toString(), editor.selection.active.line] : given);
}

function start() {
  const command = workspace.getConfiguration("flatwise").get("command") || "flatwise";
  const server = { command, args: ["serve"] };
  const options = { documentSelector: [{ language: "flatwise" }], middleware: { executeCommand } };
  client = new LanguageClient("flatwise", "Flatwise", server, options);
  return client.start();
}

async function restart() {
  await client.stop().catch(() => {}); // it may never have started
  return start();
}

function activate(context) {
  context.subscriptions.push(commands.registerCommand("flatwise.restart", restart));
  return start();
}

function deactivate() {
  return client && client.stop();
}

module.exports = { activate, deactivate };
