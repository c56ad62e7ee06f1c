// Starts `flatwise serve` for job files; everything that the editor shows comes from the server.
const { commands, workspace } = require("vscode");
const { LanguageClient } = require("vscode-languageclient/node");

let client;

function start() {
  const command = workspace.getConfiguration("flatwise").get("command") || "flatwise";
  const server = { command, args: ["serve"] };
  client = new LanguageClient("flatwise", "Flatwise", server, { documentSelector: [{ language: "flatwise" }] });
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
