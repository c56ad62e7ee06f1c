// Starts `flatwise serve` for job files; everything that the editor shows comes from the server.
const { workspace } = require("vscode");
const { LanguageClient } = require("vscode-languageclient/node");

let client;

function activate() {
  const command = workspace.getConfiguration("flatwise").get("command") || "flatwise";
  const server = { command, args: ["serve"] };
  client = new LanguageClient("flatwise", "Flatwise", server, { documentSelector: [{ language: "flatwise" }] });
  return client.start();
}

function deactivate() {
  return client && client.stop();
}

module.exports = { activate, deactivate };
