// Colours texts with vscode-textmate.  In: JSON {grammar, texts: {name: text}} on stdin.
// Out: JSON {name: [[line, start, end, [scopes…]], …]}, columns in UTF-16 units.
const fs = require("fs");
const path = require("path");
const { createRequire } = require("module");

const need = createRequire(path.join(process.argv[2], "package.json"));
const oniguruma = need("vscode-oniguruma");
const textmate = need("vscode-textmate");

async function main() {
  const given = JSON.parse(fs.readFileSync(0, "utf-8"));
  const wasm = fs.readFileSync(need.resolve("vscode-oniguruma/release/onig.wasm")).buffer;
  await oniguruma.loadWASM(wasm);
  const registry = new textmate.Registry({
    onigLib: Promise.resolve({
      createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
      createOnigString: (text) => new oniguruma.OnigString(text),
    }),
    loadGrammar: async () => textmate.parseRawGrammar(given.grammar, "flatwise.json"),
  });
  const grammar = await registry.loadGrammar("source.flatwise");
  const found = {};
  for (const [name, text] of Object.entries(given.texts)) {
    let stack = textmate.INITIAL;
    found[name] = [];
    text.split(/\r\n|\r|\n/).forEach((line, number) => {
      const result = grammar.tokenizeLine(line, stack);
      for (const token of result.tokens) {
        found[name].push([number, token.startIndex, token.endIndex, token.scopes]);
      }
      stack = result.ruleStack;
    });
  }
  process.stdout.write(JSON.stringify(found));
}

main().catch((error) => {
  console.error(error);
  process.exit(1);
});
