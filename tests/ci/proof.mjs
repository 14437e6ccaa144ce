// Opens proofs in headless chromium and measures them: no errors, nothing fetched, numbers beside
// their places, list and drawing in step, lights that work, text that contrasts.
//
//   node tests/ci/proof.mjs JIGWARDEN RUN.svg|DRAWING-FOLDER [...]
//
// Each run is inspected by its nearest fixture.toml; of a folder with a drawing that is to be
// enrolled, a copy is enrolled. tests/ci/proof.sh gives it every example. Needs chromium ($CHROMIUM or on the PATH) and
// nothing from npm: chromium is spoken to over a pipe. With SHOTS=FOLDER, pictures at 1280 and 390
// pixels, in grey, and an A4 PDF of each proof are left there to be looked at.

import { spawnSync } from "node:child_process";
import { cpSync, existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { basename, dirname, join, resolve as absolute } from "node:path";
import { pathToFileURL } from "node:url";
import { launch, page as emptyPage } from "./chromium.mjs";

const [named, ...runs] = process.argv.slice(2);
const program = named && absolute(named);
if (!program || runs.length === 0) {
  console.error("usage: node tests/ci/proof.mjs JIGWARDEN RUN.svg|DRAWING-FOLDER [...]");
  process.exit(2);
}

/** How far a number may stand from its ring without a line that leads there, in thin lines of the drawing. */
const NEAR = 8;
/** WCAG 2.2, 1.4.3 (AA): 4.5 to 1, large text 3 to 1. */
const CONTRAST = { small: 4.5, large: 3 };

const work = mkdtempSync(join(tmpdir(), "proof-"));
const shots = process.env.SHOTS;
if (shots) mkdirSync(shots, { recursive: true });

const browser = launch(process.env.CHROMIUM ?? "chromium", join(work, "profile"));
let listeners = [];
browser.on((message) => listeners.forEach((listener) => listener(message)));

// --- what is asked inside the page ---------------------------------------------------------------

/** Runs in the page. Returns a list of complaints. */
function measure(findings, near, contrast) {
  const bad = [];
  const svg = document.querySelector(".bed svg.drawing");
  // Asked anew each time: the drawing moves with the page.
  const inverse = () => svg.getScreenCTM().inverse();

  // Numbers stand beside their places, and the list has the same ones in the same order.
  const listed = [...document.querySelectorAll(".findings > ol > li")].map((li) => li.dataset.finding);
  const wanted = findings.map((_, i) => String(i + 1));
  if (listed.join() !== wanted.join()) bad.push(`the list has ${listed}, the report ${wanted}`);
  findings.forEach((f, i) => {
    const n = String(i + 1);
    const places = svg.querySelectorAll(`.place[data-finding="${n}"]`);
    const beyond = svg.querySelectorAll(`[data-beyond="${n}"]`);
    const li = document.getElementById(`finding-${n}`);
    if (li && !li.textContent.replace(/\s+/g, " ").includes(f.message.replace(/\s+/g, " "))) {
      bad.push(`${n}: the list does not say "${f.message}"`);
    }
    if (!f.bed) {
      if (places.length + beyond.length) bad.push(`${n}: drawn, and it has no place`);
      return;
    }
    if (beyond.length === 1 && places.length === 0) return;
    if (places.length !== 1) {
      bad.push(`${n}: drawn ${places.length} times`);
      return;
    }
    const number = places[0].querySelector(".number");
    if (number.textContent !== n) bad.push(`${n}: the drawing says ${number.textContent}`);
    // Beside its ring, or a line leads there.
    const ringed = places[0].querySelector(".ring").getBoundingClientRect();
    const plate = places[0].querySelector(".badge rect").getBoundingClientRect();
    const dx = Math.max(ringed.left - plate.right, 0, plate.left - ringed.right);
    const dy = Math.max(ringed.top - plate.bottom, 0, plate.top - ringed.bottom);
    const away = Math.hypot(dx, dy) * inverse().a / parseFloat(getComputedStyle(svg).getPropertyValue("--u"));
    if (!(away <= near) && !places[0].querySelector(".leader")) {
      bad.push(`${n}: its number stands ${away.toFixed(1)} thin lines away, and nothing leads to its ring`);
    }
    if (places[0].getAttribute("href") !== `#finding-${n}`) bad.push(`${n}: leads to the wrong finding`);
    if (!places[0].getAttribute("aria-label")?.includes(f.message.slice(0, 20))) {
      bad.push(`${n}: says nothing to the ear`);
    }
    // Each lights the other.
    const ring = places[0].querySelector(".ring");
    const width = () => parseFloat(getComputedStyle(ring).strokeWidth);
    const plain = width();
    const link = li.querySelector(".links a");
    link.focus();
    if (!(width() > plain * 1.5)) bad.push(`${n}: focus in the list does not light its place`);
    link.blur();
    const back = () => getComputedStyle(li).borderLeftWidth;
    const dark = back();
    places[0].focus();
    if (back() === dark) bad.push(`${n}: focus on the bed does not light the list`);
    places[0].blur();
  });

  // Landmarks, headings, names.
  for (const landmark of ["header", "main", "footer", "main section[aria-labelledby]"]) {
    if (!document.querySelector(landmark)) bad.push(`no ${landmark}`);
  }
  if (document.querySelectorAll("h1").length !== 1) bad.push("not one h1");
  let level = 0;
  for (const h of document.querySelectorAll("h1,h2,h3,h4")) {
    const now = Number(h.tagName[1]);
    if (now > level + 1) bad.push(`heading "${h.textContent}" skips a level`);
    level = now;
  }
  for (const s of document.querySelectorAll("svg")) {
    const named = s.getAttribute("aria-hidden") || s.getAttribute("aria-label")
      || s.getAttribute("aria-labelledby")?.split(" ").every((id) => document.getElementById(id)?.textContent);
    if (!named) bad.push(`a drawing without words: ${s.outerHTML.slice(0, 80)}`);
  }
  const ids = [...document.querySelectorAll("[id]")].map((e) => e.id);
  if (new Set(ids).size !== ids.length) bad.push("an id is there twice");
  for (const a of document.querySelectorAll("a[href^='#'],use[href^='#']")) {
    if (!document.getElementById(a.getAttribute("href").slice(1))) {
      bad.push(`leads nowhere: ${a.getAttribute("href")}`);
    }
  }
  if (document.scripts.length) bad.push("it has a script");
  if (!/manual/.test(document.querySelector("footer").textContent)) {
    bad.push("the footer does not defer to the manual");
  }

  // Contrast.
  const parse = (c) => c.match(/[\d.]+/g)?.map(Number) ?? [0, 0, 0, 0];
  const luminance = ([r, g, b]) => {
    const f = (v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4);
    return 0.2126 * f(r) + 0.7152 * f(g) + 0.0722 * f(b);
  };
  const ratio = (a, b) => {
    const [x, y] = [luminance(a), luminance(b)].sort((p, q) => q - p);
    return (x + 0.05) / (y + 0.05);
  };
  const behind = (element) => {
    for (let e = element; e; e = e.parentElement) {
      const c = parse(getComputedStyle(e).backgroundColor);
      if (c.length < 4 || c[3] > 0.99) return c;
    }
    return [255, 255, 255];
  };
  let checked = 0;
  for (const d of document.querySelectorAll("details")) d.open = true;
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = walker.nextNode(); node; node = walker.nextNode()) {
    const e = node.parentElement;
    if (!node.data.trim() || e.closest("title,desc,style") || e.namespaceURI.endsWith("svg")) continue;
    const style = getComputedStyle(e);
    const px = parseFloat(style.fontSize);
    const large = px >= 24 || (px >= 18.66 && Number(style.fontWeight) >= 700);
    const r = ratio(parse(style.color), behind(e));
    checked += 1;
    if (r < (large ? contrast.large : contrast.small)) {
      bad.push(`contrast ${r.toFixed(2)}: "${node.data.trim().slice(0, 40)}"`);
    }
  }
  // Words in drawings: on their rim where they have one, else on every ground they may lie on.
  const grounds = ["#fbf7ee", "#fffdf8", "#ebdcbe"].map((h) => [1, 3, 5].map((i) => parseInt(h.slice(i, i + 2), 16)));
  for (const t of document.querySelectorAll("svg text")) {
    const style = getComputedStyle(t);
    const plate = t.closest(".badge")?.querySelector("rect");
    const on = plate ? [parse(getComputedStyle(plate).fill)]
      : style.stroke !== "none" ? [parse(style.stroke)]
      : t.closest(".pair,.map") ? grounds : grounds.slice(0, 2);
    checked += 1;
    for (const g of on) {
      const r = ratio(parse(style.fill), g);
      if (r < contrast.small) bad.push(`contrast ${r.toFixed(2)} in a drawing: "${t.textContent}"`);
    }
  }
  if (checked < 20) bad.push(`only ${checked} pieces of text were looked at`);
  return { bad, checked };
}

/**
 * Runs in the page: the findings as the page has them, each with the box of its ring on the bed. Of a
 * drawing that is enrolled there is no report to compare with.
 */
function shown() {
  const svg = document.querySelector(".bed svg.drawing");
  const inverse = svg.getScreenCTM().inverse();
  return [...document.querySelectorAll(".findings > ol > li")].map((li) => {
    const ring = svg.querySelector(`.place[data-finding="${li.dataset.finding}"] .ring`);
    const r = ring?.getBoundingClientRect();
    const at = (x, y) => new DOMPoint(x, y).matrixTransform(inverse);
    const [a, b] = r ? [at(r.left, r.top), at(r.right, r.bottom)] : [];
    return {
      message: li.querySelector("h3 > span").lastChild.textContent.replace(/^Pocket \S+: /, ""),
      bed: r ? { x: a.x, y: a.y, width: b.x - a.x, height: b.y - a.y } : null,
    };
  });
}

/** Runs in the page: nothing is wider than the window. */
function tooWide() {
  return document.documentElement.scrollWidth > window.innerWidth
    ? [`the page is ${document.documentElement.scrollWidth} pixels wide in ${window.innerWidth}`]
    : [];
}

// --- one proof after the other -------------------------------------------------------------------

let failed = 0;
try {
  const sessionId = await emptyPage(browser);
  const page = (method, params) => browser.call(method, params, sessionId);
  const call = async (f, ...values) => {
    const { result, exceptionDetails } = await page("Runtime.evaluate", {
      expression: `(${f})(...${JSON.stringify(values)})`,
      returnByValue: true,
    });
    if (exceptionDetails) throw new Error(exceptionDetails.exception?.description ?? exceptionDetails.text);
    return result.value;
  };

  for (const run of runs) {
    const name = basename(run, ".svg");
    const file = join(work, `${name}.html`);
    const bad = [];
    // An example may come with arguments of its own, one a line or apart by spaces.
    const drawing = statSync(run).isDirectory();
    const beside = run.replace(/\.svg$/, ".args");
    const more = !drawing && existsSync(beside) ? readFileSync(beside, "utf8").split(/\s+/).filter(Boolean) : [];
    const place = drawing ? join(work, name) : dirname(run);
    if (drawing) cpSync(run, place, { recursive: true });
    // Arguments name files beside the run.
    const inspected = spawnSync(
      program,
      drawing ? ["enrol", "--proof", file, "."]
        : ["inspect", "--format", "json", "--proof", file, ...more, basename(run)],
      { cwd: place, encoding: "utf8", maxBuffer: 1 << 28 },
    );
    if (inspected.status === null || inspected.status > 1) {
      console.log(`${run}: could not be inspected\n  ${(inspected.error ?? inspected.stderr).toString().trim()}`);
      failed += 1;
      continue;
    }
    let findings = drawing ? null : JSON.parse(inspected.stdout).runs[0].findings;
    const held = basename(dirname(absolute(run))) === "hold";
    if (held !== (inspected.status === 1)) bad.push(`the program ended with ${inspected.status}`);
    if (held && findings?.length === 0) bad.push("it is to be held, and nothing was found");
    const size = readFileSync(file).length;
    const url = pathToFileURL(file).href;

    listeners = [(m) => {
      if (m.sessionId !== sessionId) return;
      if (m.method === "Runtime.consoleAPICalled" || m.method === "Runtime.exceptionThrown"
        || m.method === "Log.entryAdded") {
        bad.push(`the console says ${JSON.stringify(m.params.entry?.text ?? m.params).slice(0, 200)}`);
      }
      if (m.method === "Network.requestWillBeSent") {
        const asked = m.params.request.url;
        if (asked !== url && !asked.startsWith("data:")) bad.push(`it asks for ${asked}`);
      }
    }];
    const loaded = new Promise((resolve) => {
      listeners.push((m) => m.method === "Page.loadEventFired" && m.sessionId === sessionId && resolve());
    });
    const at = (width, height) => page("Emulation.setDeviceMetricsOverride", {
      width, height, deviceScaleFactor: 1, mobile: false,
    });
    await at(1280, 900);
    await page("Page.navigate", { url });
    await Promise.race([loaded, browser.gone]);
    findings ??= await call(shown);
    if (held && findings.length === 0) bad.push("it is to be held, and nothing is shown");

    const shoot = async (label) => {
      if (!shots) return;
      const { data } = await page("Page.captureScreenshot", { format: "png", captureBeyondViewport: true });
      writeFileSync(join(shots, `${name}-${label}.png`), Buffer.from(data, "base64"));
    };
    let checked = 0;
    for (const width of [1280, 390]) {
      await at(width, 900);
      await shoot(width);
      bad.push(...(await call(tooWide)).map((b) => `${width}: ${b}`));
      const result = await call(measure, findings, NEAR, CONTRAST);
      checked += result.checked;
      bad.push(...result.bad.map((b) => `${width}: ${b}`));
      await call(() => { for (const d of document.querySelectorAll("details")) d.open = false; });
    }
    if (shots) {
      await at(1280, 900);
      await page("Emulation.setEmulatedVisionDeficiency", { type: "achromatopsia" });
      await shoot("grey");
      await page("Emulation.setEmulatedVisionDeficiency", { type: "none" });
    }
    const { data } = await page("Page.printToPDF", { preferCSSPageSize: true, printBackground: true });
    const pdf = Buffer.from(data, "base64");
    if (shots) writeFileSync(join(shots, `${name}.pdf`), pdf);
    if (!/MediaBox\s*\[\s*0 0 59[45][\d.]* 84[12]/.test(pdf.toString("latin1"))) bad.push("it does not print on A4");

    for (const b of bad) console.log(`${run}: ${b}`);
    if (bad.length) failed += 1;
    else console.log(`${run}: ${findings.length} findings, ${checked} pieces of text, ${Math.ceil(size / 1024)} kB, as it should be`);
  }
} finally {
  await browser.close();
  try {
    rmSync(work, { recursive: true, force: true, maxRetries: 5, retryDelay: 200 });
  } catch { /* the profile may still be written to; it lies in the scratch folder */ }
}
process.exitCode = failed ? 1 : 0;
