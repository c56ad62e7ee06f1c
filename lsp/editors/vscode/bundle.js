// Makes what the extension needs beside its own files: dist/extension.js with all that it requires, the licences of
// those packages, the grammar and the licence of Flatwise.
const fs = require("fs");
const path = require("path");
const esbuild = require("esbuild");

for (const file of ["grammar/flatwise.tmLanguage.json", "LICENSE"]) {
  fs.copyFileSync(path.join("../../..", file), path.basename(file));
}
const { metafile } = esbuild.buildSync({
  entryPoints: ["extension.js"],
  outfile: "dist/extension.js",
  bundle: true,
  minify: true,
  platform: "node",
  target: "node18", // that of Visual Studio Code 1.82
  external: ["vscode"],
  metafile: true,
});
const packages = new Set(Object.keys(metafile.inputs).map((file) => (file.match(/^.*node_modules\/(@[^/]+\/)?[^/]+/) || [])[0]));
packages.delete(undefined);
const licences = [...packages].sort().map((folder) => {
  const { name, version } = require(path.resolve(folder, "package.json"));
  const file = fs.readdirSync(folder).find((one) => /^licen[cs]e/i.test(one));
  return `${name} ${version}\n\n${fs.readFileSync(path.join(folder, file), "utf-8").trim()}\n`;
});
fs.writeFileSync("dist/licences.txt", licences.join("\n----\n\n"));
