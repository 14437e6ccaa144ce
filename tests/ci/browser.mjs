// Asks a browser where each shape of each drawing lies, and (with --ink) what of it shows.
//   node browser.mjs [--ink] OUT.jsonl FILE…        CHROMIUM names the program
import { createRequire } from "node:module";
import { appendFileSync, readFileSync, writeFileSync } from "node:fs";
import { pathToFileURL } from "node:url";
import { resolve } from "node:path";

const require = createRequire(resolve(process.env.MODULES, "package.json"));
const { chromium } = require("playwright-core");

let files = process.argv.slice(2);
const ink = files[0] === "--ink";
if (ink) files = files.slice(1);
const out = files.shift();
writeFileSync(out, "");

const context = await chromium.launchPersistentContext(process.env.PROFILE, {
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  headless: true,
  viewport: { width: 800, height: 600 },
  args: ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--allow-file-access-from-files"],
});
const page = await context.newPage();

const boxes = () => {
  const all = [...document.querySelectorAll("*")];
  const drawn = "path,rect,circle,ellipse,line,polyline,polygon,use";
  const never = "defs,symbol,clipPath,mask,marker,pattern,linearGradient,radialGradient,text,foreignObject";
  const list = [];
  all.forEach((element, index) => {
    if (!element.matches(drawn) || element.parentElement.closest(never)) return;
    let box, ctm;
    try { box = element.getBBox(); ctm = element.getScreenCTM(); } catch { return; }
    if (!ctm) return;
    list.push({
      index, tag: element.localName,
      box: [box.x, box.y, box.width, box.height],
      ctm: [ctm.a, ctm.b, ctm.c, ctm.d, ctm.e, ctm.f],
    });
  });
  return list;
};

// Draws each shape alone, large, and finds the pixels that it inks. Runs on an empty page.
const inks = async ({ text, indexes }) => {
  const results = [];
  for (const index of indexes) {
    const dom = new DOMParser().parseFromString(text, "image/svg+xml");
    const all = [...dom.querySelectorAll("*")];
    const root = dom.documentElement;
    // What a clone repeats takes its visibility from the clone.
    for (const element of all) element.style.removeProperty("visibility");
    root.style.visibility = "hidden";
    all[index].style.visibility = "visible";
    const url = URL.createObjectURL(new Blob([new XMLSerializer().serializeToString(dom)], { type: "image/svg+xml" }));
    const image = new Image();
    await new Promise((done, fail) => { image.onload = done; image.onerror = fail; image.src = url; });
    // The exact size of the page, not the picture's, which is rounded to whole pixels.
    const probe = document.importNode(root, false);
    document.body.replaceChildren(probe);
    const w = probe.width.baseVal.value, h = probe.height.baseVal.value;
    const k = 2400 / Math.max(w, h);
    const canvas = document.createElement("canvas");
    canvas.width = Math.ceil(w * k); canvas.height = Math.ceil(h * k);
    const pen = canvas.getContext("2d", { willReadFrequently: true });
    pen.drawImage(image, 0, 0, w * k, h * k);
    URL.revokeObjectURL(url);
    const data = pen.getImageData(0, 0, canvas.width, canvas.height).data;
    let x0 = Infinity, y0 = Infinity, x1 = -1, y1 = -1;
    for (let y = 0, at = 3; y < canvas.height; y++)
      for (let x = 0; x < canvas.width; x++, at += 4)
        if (data[at] > 24) {
          if (x < x0) x0 = x;
          if (x > x1) x1 = x;
          if (y < y0) y0 = y;
          if (y > y1) y1 = y;
        }
    const mm = 25.4 / 96 / k;
    results.push({ index, pixel: mm, ink: x1 < 0 ? [] : [x0 * mm, y0 * mm, (x1 + 1) * mm, (y1 + 1) * mm] });
  }
  return results;
};

for (const file of files) {
  try {
    await page.goto(pathToFileURL(resolve(file)).href, { timeout: 20000 });
    const elements = await page.evaluate(boxes);
    if (ink) {
      await page.goto("about:blank");
      const found = await page.evaluate(inks, { text: readFileSync(file, "utf8"), indexes: elements.map((e) => e.index) });
      found.forEach((f, i) => Object.assign(elements[i], f));
    }
    appendFileSync(out, JSON.stringify({ file, elements }) + "\n");
  } catch (error) {
    console.error(`${file}: ${String(error).split("\n")[0]}`);
  }
}
await context.close();
