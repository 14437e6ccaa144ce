// Compares the ink of live lettering in a browser with the outlines of the same lines.
//   node fill.mjs FONT.ttf LIVE.svg OUTLINES.svg FOLDER        CHROMIUM names the program
import { execFileSync } from "node:child_process";
import { readFileSync, writeFileSync } from "node:fs";
import { basename, dirname, join } from "node:path";
import { pathToFileURL } from "node:url";

const [font, liveFile, outlinesFile, folder] = process.argv.slice(2);
/** Allowed, in millimetres. */
const AGREE = 0.05;
/** Pixels to a millimetre in the pictures that are compared. */
const FINE = 50;

const work = async (live, outlines, face, FINE) => {
  const parse = (text) => new DOMParser().parseFromString(text, "image/svg+xml");
  const last = (dom) => [...dom.documentElement.children].filter((e) => e.localName === "g").pop();
  const lines = (dom) => {
    const spans = [...last(dom).querySelectorAll("text,tspan,path")];
    return spans.filter((e) => !e.querySelector("tspan"));
  };
  // The box of a line's outlines says where to look.
  const shown = document.importNode(parse(outlines).documentElement, true);
  document.body.append(shown);
  const group = [...shown.children].filter((e) => e.localName === "g").pop();
  const boxes = [...group.children].map((e) => e.getBBox());
  const ink = async (text, index, box, style) => {
    const dom = parse(text);
    const root = dom.documentElement;
    for (const g of [...root.children]) if (g !== last(dom)) g.remove();
    lines(dom).forEach((e, i) => e.setAttribute("visibility", i === index ? "visible" : "hidden"));
    if (style) {
      const s = dom.createElementNS("http://www.w3.org/2000/svg", "style");
      s.textContent = style;
      root.prepend(s);
    }
    const [x, y, w, h] = [box.x - 1, box.y - 1, box.width + 2, box.height + 2];
    root.setAttribute("viewBox", `${x} ${y} ${w} ${h}`);
    const [pw, ph] = [Math.round(w * FINE), Math.round(h * FINE)];
    root.setAttribute("width", pw);
    root.setAttribute("height", ph);
    root.setAttribute("preserveAspectRatio", "none");
    const url = URL.createObjectURL(new Blob([new XMLSerializer().serializeToString(dom)], { type: "image/svg+xml" }));
    const image = new Image();
    await new Promise((done, fail) => { image.onload = done; image.onerror = fail; image.src = url; });
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [pw, ph];
    const pen = canvas.getContext("2d", { willReadFrequently: true });
    pen.drawImage(image, 0, 0, pw, ph);
    URL.revokeObjectURL(url);
    const data = pen.getImageData(0, 0, pw, ph).data;
    let r = [Infinity, Infinity, -1, -1];
    for (let v = 0, at = 3; v < ph; v++)
      for (let u = 0; u < pw; u++, at += 4)
        if (data[at] > 100) r = [Math.min(r[0], u), Math.min(r[1], v), Math.max(r[2], u), Math.max(r[3], v)];
    return r.map((p) => p / FINE);
  };
  const style = `@font-face{font-family:Ubuntu;font-weight:300;src:url(data:font/ttf;base64,${face})}`;
  const out = [];
  for (const [index, box] of boxes.entries()) {
    // The first drawing of a face may come before the face does.
    await ink(live, index, box, style);
    const [a, b] = [await ink(live, index, box, style), await ink(outlines, index, box, null)];
    out.push({ text: lines(parse(live))[index].textContent, off: Math.max(...a.map((v, i) => Math.abs(v - b[i]))) });
  }
  return out;
};

const data = [readFileSync(liveFile, "utf8"), readFileSync(outlinesFile, "utf8"), readFileSync(font).toString("base64"), FINE];
const page = join(folder, "compare.html");
writeFileSync(page, `<!DOCTYPE html><meta charset="utf-8"><body><script>
(${work})(...${JSON.stringify(data).replaceAll("</", "<\\/")}).then(
  (out) => { document.title = "done"; document.body.replaceChildren(JSON.stringify(out)); },
  (e) => { document.body.replaceChildren("failed: " + e); });
</script>`);
const dom = execFileSync(process.env.CHROMIUM || "chromium", ["--headless", "--no-sandbox", "--disable-gpu",
  "--virtual-time-budget=60000", `--user-data-dir=${join(folder, "profile")}`, "--dump-dom", pathToFileURL(page).href],
  { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"], maxBuffer: 1 << 28 });
const found = dom.match(/<body>(\[.*\])<\/body>/s);
const name = basename(dirname(liveFile));
if (!found) {
  console.error(`${name}: the browser gave no answer: ${dom.slice(-300)}`);
  process.exit(1);
}
const lines = JSON.parse(found[1].replaceAll("&amp;", "&"));
const worst = lines.reduce((a, b) => (b.off > a.off ? b : a));
console.log(`${name}: ${lines.length} lines, at most ${worst.off.toFixed(3)} mm apart ("${worst.text}")`);
process.exit(lines.length > 0 && lines.every((l) => l.off <= AGREE) ? 0 : 1);
