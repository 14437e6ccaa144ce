// Draws small documents in a browser and writes down which pixels each inks.
//   node features.mjs DOCUMENTS.jsonl OUT.jsonl [FACE.ttf]      CHROMIUM names the program
// A line of DOCUMENTS is {"name", "text", "size"}, `size` the page's side in CSS pixels. A line of OUT
// is {"name", "side", "rows"}, a row the bits of its pixels from left to right as hex digits.
import { createRequire } from "node:module";
import { appendFileSync, existsSync, readFileSync, writeFileSync } from "node:fs";
import { resolve } from "node:path";

const require = createRequire(resolve(process.env.MODULES, "package.json"));
const { chromium } = require("playwright-core");

const [documents, out, face] = process.argv.slice(2);
const SIDE = 256;
// The one face that this program brings along is not on every machine: the browser gets it in the file.
const font = face && existsSync(face)
  ? `<style>@font-face{font-family:Ubuntu;font-weight:300;src:url(data:font/ttf;base64,${readFileSync(face).toString("base64")})}</style>`
  : "";

const context = await chromium.launchPersistentContext(process.env.PROFILE, {
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  headless: true,
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
const page = await context.newPage();
await page.goto("about:blank");

const draw = async ({ documents, side }) => {
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = side;
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  const results = [];
  for (const one of documents) {
    const url = URL.createObjectURL(new Blob([one.text], { type: "image/svg+xml" }));
    const image = new Image();
    const read = await new Promise((done) => {
      image.onload = () => done(true);
      image.onerror = () => done(false);
      image.src = url;
    });
    if (!read) { results.push({ name: one.name, side: 0, rows: [] }); continue; }
    if (one.text.includes("@font-face")) {
      // A face may arrive a moment after the picture.
      for (let i = 0; i < 3; i++) { pen.drawImage(image, 0, 0, side, side); await new Promise((d) => setTimeout(d, 15)); }
    }
    pen.clearRect(0, 0, side, side);
    pen.drawImage(image, 0, 0, side, side);
    URL.revokeObjectURL(url);
    const data = pen.getImageData(0, 0, side, side).data;
    const rows = [];
    for (let y = 0; y < side; y++) {
      let row = "", digit = 0;
      for (let x = 0; x < side; x++) {
        digit = digit * 2 + (data[(y * side + x) * 4 + 3] > 127 ? 1 : 0);
        if (x % 4 === 3) { row += digit.toString(16); digit = 0; }
      }
      rows.push(row);
    }
    results.push({ name: one.name, side, rows });
  }
  return results;
};

writeFileSync(out, "");
const all = readFileSync(documents, "utf8").trim().split("\n").map((line) => JSON.parse(line));
for (const one of all)
  if (font && one.text.includes("<text")) one.text = one.text.replace(/(<svg[^>]*>)/, `$1${font}`);
for (let at = 0; at < all.length; at += 200) {
  const found = await page.evaluate(draw, { documents: all.slice(at, at + 200), side: SIDE });
  appendFileSync(out, found.map((f) => JSON.stringify(f)).join("\n") + "\n");
}
await context.close();
