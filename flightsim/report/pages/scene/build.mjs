// Builds ../scene.min.js and writes, beside it, the hashes that a test holds sources and built file to.
// npm ci && npm run build
import { createHash } from "node:crypto";
import { readFileSync, readdirSync, writeFileSync } from "node:fs";
import { build } from "esbuild";

const licence = readFileSync("LICENSE-three.txt", "utf8").trim();
await build({
  entryPoints: ["src/main.js"],
  bundle: true,
  minify: true,
  format: "iife",
  target: "es2020",
  charset: "ascii",
  legalComments: "none",
  outfile: "../scene.min.js",
  banner: { js: `/* three.js, and the bay drawn with it.\n${licence.replaceAll("©", "(c)")} */` },
});

const sources = ["LICENSE-three.txt", "build.mjs", "package-lock.json", "package.json",
  ...readdirSync("src").sort().map((name) => `src/${name}`)];
const hash = (paths) => {
  const sum = createHash("sha256");
  for (const path of paths) sum.update(readFileSync(path));
  return sum.digest("hex");
};
writeFileSync("built.sha256", `${hash(sources)}  sources\n${hash(["../scene.min.js"])}  scene.min.js\n`);
