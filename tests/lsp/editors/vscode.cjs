// Runs the bundled extension with the real vscode-languageclient and a small stand-in for the editor's own module
// `vscode`: opens a job, prints its findings as JSON, previews it from the palette, and stops; with `again` it starts
// the server again when the findings have come, and prints those that come then.
// Arguments: the extension's folder, the command for the server, the job, `once` or `again`.
const fs = require("fs");
const path = require("path");
const Module = require("module");

const [folder, command, job, how] = process.argv.slice(2);
const disposable = () => ({ dispose() {} });

class Position {
  constructor(line, character) { Object.assign(this, { line, character }); }
}
class Range {
  constructor(...at) {
    const [start, end] = at.length === 2 ? at : [new Position(at[0], at[1]), new Position(at[2], at[3])];
    Object.assign(this, { start, end });
  }
}
class Diagnostic {
  constructor(range, message, severity) { Object.assign(this, { range, message, severity }); }
}
class EventEmitter {
  constructor() {
    this.heard = [];
    this.event = (listener, self) => (this.heard.push(listener.bind(self)), disposable());
  }
  fire(what) { this.heard.forEach((listener) => listener(what)); }
  dispose() {}
}
class CancellationTokenSource {
  constructor() { this.token = { isCancellationRequested: false, onCancellationRequested: disposable }; }
  cancel() {}
  dispose() {}
}
class TabInputText {
  constructor(uri) { this.uri = uri; }
}
class CodeActionKind {
  constructor(value) { this.value = value; }
  append(part) { return new CodeActionKind(this.value ? `${this.value}.${part}` : part); }
}
CodeActionKind.Empty = new CodeActionKind("");
class Uri {
  constructor(file) { Object.assign(this, { scheme: "file", authority: "", path: file, fsPath: file, query: "", fragment: "" }); }
  toString() { return "file://" + this.path; }
  with() { return this; }
  static file(file) { return new Uri(file); }
  static parse(uri) { return new Uri(decodeURIComponent(uri.replace("file://", ""))); }
}

const text = fs.readFileSync(job, "utf-8");
const document = {
  uri: Uri.file(job), fileName: job, languageId: "flatwise", version: 1, isClosed: false, isDirty: false, getText: () => text,
};

// everything else: a class where the name begins with a capital, else a function
const rest = (known) => new Proxy(known, {
  get(target, name) {
    if (!(name in target) && typeof name === "string" && name !== "then") {
      target[name] = /^[A-Z]/.test(name) ? class { static [Symbol.hasInstance]() { return false; } } : disposable;
    }
    return target[name];
  },
});

const known = {};
let restarted = how !== "again";

function tell(found) {
  if (!restarted) {
    restarted = true;
    known["flatwise.restart"]();
    return;
  }
  const codes = found.map((each) => ({
    code: each.code && each.code.value !== undefined ? each.code.value : each.code,
    line: each.range.start.line, message: each.message, severity: each.severity, source: each.source,
  }));
  process.stdout.write(JSON.stringify(codes));
  known["flatwise.preview"]().then(() => extension.deactivate()).then(() => process.exit(0), (wrong) => { console.error(wrong); process.exit(1); });
}

const vscode = rest({
  version: "1.91.0",
  env: { appName: "stand-in", language: "en", openExternal: async (uri) => (console.error(`opened ${uri.path}`), true) },
  Position, Range, Diagnostic, EventEmitter, CancellationTokenSource, CodeActionKind, TabInputText, Uri,
  Disposable: class { constructor(dispose) { this.dispose = dispose; } static from() { return disposable(); } },
  DiagnosticSeverity: { Error: 0, Warning: 1, Information: 2, Hint: 3 },
  DiagnosticTag: { Unnecessary: 1, Deprecated: 2 },
  workspace: rest({
    workspaceFolders: [{ uri: Uri.file(path.dirname(path.dirname(job))), name: "shop", index: 0 }],
    textDocuments: [document], notebookDocuments: [],
    getConfiguration: () => ({ get: (key) => (key === "command" ? command : undefined) }),
    getWorkspaceFolder: () => vscode.workspace.workspaceFolders[0],
    createFileSystemWatcher: () => rest({}),
  }),
  languages: rest({
    match: (selector) => (JSON.stringify(selector).includes("flatwise") ? 10 : 0),
    createDiagnosticCollection: () => rest({ set: (uri, found) => uri.path === job && found.length && tell(found) }),
  }),
  window: rest({
    visibleTextEditors: [{ document }], activeTextEditor: { document, selection: { active: new Position(8, 0) } }, state: { focused: true },
    showErrorMessage: async () => {}, showWarningMessage: async () => {}, showInformationMessage: async () => {},
    tabGroups: rest({ all: [{ tabs: [{ input: new TabInputText(document.uri) }] }] }),
    createOutputChannel: () => rest({ append: (said) => process.stderr.write(said), appendLine: (said) => console.error(said) }),
  }),
  commands: rest({ registerCommand: (name, run) => ((known[name] = run), disposable()) }),
});

const load = Module._load;
Module._load = (name, ...others) => (name === "vscode" ? vscode : load(name, ...others));
const extension = require(path.join(folder, require(path.join(folder, "package.json")).main));
extension.activate({ subscriptions: [] }).catch((wrong) => { console.error(wrong); process.exit(1); });
setTimeout(() => { console.error("no findings in 90 s"); process.exit(1); }, 90000);
