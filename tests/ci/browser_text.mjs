// Asks a browser what of each drawing shows, by paint.
//   node browser_text.mjs OUT.jsonl FILE…        CHROMIUM names the program
import { createRequire } from "node:module";
import { appendFileSync, readFileSync, writeFileSync } from "node:fs";
import { resolve } from "node:path";

const require = createRequire(resolve(process.env.MODULES, "package.json"));
const { chromium } = require("playwright-core");
const [out, ...files] = process.argv.slice(2);
writeFileSync(out, "");
const context = await chromium.launchPersistentContext(process.env.PROFILE, {
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  headless: true,
  viewport: { width: 800, height: 600 },
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync"],
});
const page = await context.newPage();

// The box of each pure paint on the page, in user units: 1 unit is `k` pixels.
const inks = async ({ text, k, w, h }) => {
  const image = new Image();
  await new Promise((done, fail) => {
    image.onload = done;
    image.onerror = () => fail(new Error("not drawn"));
    // At its full size from the start: a browser rounds the measures of small faces.
    const large = text.replace("width='200px' height='100px'", `width='${w * k}px' height='${h * k}px'`);
    image.src = URL.createObjectURL(new Blob([large], { type: "image/svg+xml" }));
  });
  const canvas = document.createElement("canvas");
  canvas.width = w * k;
  canvas.height = h * k;
  const pen = canvas.getContext("2d", { willReadFrequently: true });
  pen.drawImage(image, 0, 0, w * k, h * k);
  const data = pen.getImageData(0, 0, canvas.width, canvas.height).data;
  const boxes = {};
  for (let y = 0, at = 0; y < canvas.height; y++)
    for (let x = 0; x < canvas.width; x++, at += 4) {
      if (data[at + 3] < 128) continue;
      // Where two paints mix, at an edge of one on the other, neither is seen.
      const red = data[at], blue = data[at + 2];
      if ((red > 60 && red < 195) || (blue > 60 && blue < 195)) continue;
      const paint = red > 60 ? "red" : blue > 60 ? "blue" : "black";
      const b = (boxes[paint] ??= [Infinity, Infinity, -1, -1]);
      if (x < b[0]) b[0] = x;
      if (y < b[1]) b[1] = y;
      if (x + 1 > b[2]) b[2] = x + 1;
      if (y + 1 > b[3]) b[3] = y + 1;
    }
  for (const paint in boxes) boxes[paint] = boxes[paint].map((v) => v / k);
  return boxes;
};

for (const file of files) {
  try {
    const boxes = await page.evaluate(inks, { text: readFileSync(file, "utf8"), k: 8, w: 200, h: 100 });
    appendFileSync(out, JSON.stringify({ file, boxes }) + "\n");
  } catch (error) {
    console.error(`${file}: ${String(error).split("\n")[0]}`);
  }
}
await context.close();
