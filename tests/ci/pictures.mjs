// See pictures.sh.
//
//   node pictures.mjs PROGRAM CHROMIUM EXAMPLES WORK [FOLDER-FOR-PICTURES]
import { execFileSync, spawn, spawnSync } from "node:child_process";
import { copyFileSync, mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { measure } from "./board_measures.mjs";
import { launch, page } from "./chromium.mjs";
import { drawn, printed } from "./labels_measures.mjs";

const [named, chromium, examples, work, pictures] = process.argv.slice(2);
const program = resolve(named);
const windows = [[1920, 1080], [1366, 768], [1280, 800], [390, 844]];
let failures = 0;

function check(what, right, seen) {
  if (!right) failures += 1;
  console.log(`${right ? "ok" : "NOT OK"}: ${what}${seen === undefined ? "" : ` (${seen})`}`);
}

function listed(what, complaints) {
  check(what, complaints.length === 0, complaints.length ? complaints.slice(0, 6).join("; ") : undefined);
}

// A held example of each fixture, and the same with its lettering in a paint that no operation claims and
// dots between the pockets: thirteen findings.
const dot = (r) => ([x, y]) => `<circle cx="${x}" cy="${y}" r="${r}" fill="#1b1b1b"/>`;
const runs = [
  ["hive-tags", "past-zone--long-name", ""],
  ["brass-fobs", "pocket-moved--a-sixteenth", [[5.1, 10.5], [5.1, 12], [5.1, 13.7], [5.1, 15.3]].map(dot(0.05)).join("")],
  ["round-coasters", "past-zone--too-large",
    [[110, 90], [110, 190], [110, 290], [214, 90], [214, 190], [214, 290]].map(dot(2)).join("")],
].flatMap(([fixture, name, more]) => {
  const one = readFileSync(join(examples, fixture, "hold", `${name}.svg`), "utf8");
  const many = one.replaceAll('fill="#1b1b1b"', 'fill="#1b1b1f"').replace("</svg>", `${more}</svg>`);
  return [{ fixture, findings: 1, text: one, word: "HOLD" }, { fixture, findings: 13, text: many, word: "HOLD" }];
});
// And one that is clear, with a caution.
const bare = readFileSync(join(examples, "hive-tags", "look", "pocket-bare--one-forgotten.svg"), "utf8");
runs.push({ fixture: "hive-tags", findings: 1, text: bare, word: "CLEAR" });

const browser = launch(chromium, join(work, "browser"));
const session = await page(browser);
const call = (method, params) => browser.call(method, params, session);
async function evaluate(expression) {
  const { result, exceptionDetails } = await call("Runtime.evaluate", { expression, awaitPromise: true, returnByValue: true });
  if (exceptionDetails) throw new Error(exceptionDetails.exception?.description ?? exceptionDetails.text);
  return result.value;
}
const ask = async (question) => JSON.parse(await evaluate(`(${question})()`));
async function until(expression) {
  for (let tries = 0; tries < 400; tries += 1) {
    if (await evaluate(`Boolean(${expression})`)) return;
    await new Promise((done) => setTimeout(done, 25));
  }
  throw new Error(`it never came: ${expression}`);
}
async function open(url) {
  await call("Page.navigate", { url });
  await until(`document.readyState === "complete" && location.href === ${JSON.stringify(url)}`);
}
const size = (width, height) =>
  call("Emulation.setDeviceMetricsOverride", { width, height, deviceScaleFactor: 1, mobile: width < 700 });
async function keep(name, whole = false) {
  if (!pictures) return;
  mkdirSync(pictures, { recursive: true });
  const { data } = await call("Page.captureScreenshot", { format: "png", captureBeyondViewport: whole });
  writeFileSync(join(pictures, `${name}.png`), Buffer.from(data, "base64"));
}

function labels(at, seen) {
  check(`${at}: there are labels`, seen.labels > 1, seen.labels);
  listed(`${at}: no label covers another or a ring`, seen.covered);
  listed(`${at}: no words leave their plate or the drawing`, seen.outside);
}

async function proof(name, file) {
  await open(pathToFileURL(file).href);
  for (const [width, height] of windows) {
    await size(width, height);
    const at = `${name}, proof at ${width} by ${height}`;
    labels(at, await ask(drawn));
    const seen = await ask(measure);
    listed(`${at}: no text leaves its box`, seen.outside);
    listed(`${at}: contrast of at least 4.5 to 1`, seen.faint);
    check(`${at}: no scrolling to the side`, seen.wide <= width, `${seen.wide} px`);
    await keep(`${name}-proof-${width}`, true);
  }
  await size(1280, 800);
  await call("Emulation.setEmulatedMedia", { media: "print" });
  listed(`${name}, printed: all is read in black on white`, await ask(printed));
  await call("Emulation.setEmulatedMedia", { media: "" });
  const { data } = await call("Page.printToPDF", { preferCSSPageSize: true, printBackground: false });
  if (!pictures) return;
  const pdf = join(work, `${name}.pdf`);
  writeFileSync(pdf, Buffer.from(data, "base64"));
  try {
    execFileSync("pdftoppm", ["-png", "-r", "80", pdf, join(pictures, `${name}-print`)]);
  } catch (e) {
    console.log(`the print is not kept as a picture: ${e.message}`);
  }
}

async function board(name, run, folder) {
  const child = spawn(program, ["watch", "runs", "--board", "0"], { cwd: folder, stdio: ["ignore", "pipe", "inherit"] });
  try {
    const address = await new Promise((done, fail) => {
      let said = "";
      child.stdout.on("data", (part) => {
        said += part;
        const found = said.match(/http:\/\/127\.0\.0\.1:\d+\//);
        if (found) done(found[0]);
      });
      child.on("exit", (code) => fail(new Error(`watch ended with ${code}: ${said}`)));
    });
    await open(address);
    await until(`document.querySelector("#word").textContent === "${run.word}" && document.querySelector("#picture").naturalWidth > 0`);
    for (const [width, height] of windows) {
      await size(width, height);
      await new Promise((done) => setTimeout(done, 100));
      const at = `${name}, board at ${width} by ${height}`;
      const seen = await ask(measure);
      listed(`${at}: no text leaves its box`, seen.outside);
      listed(`${at}: contrast of at least 4.5 to 1`, seen.faint);
      check(`${at}: no scrolling to the side`, seen.wide <= width, `${seen.wide} px`);
      if (width > 700) listed(`${at}: what matters is on the first screen`, seen.below);
      await keep(`${name}-board-${width}`);
      if (width !== 1280) continue;
      const picture = new URL(seen.picture, address).href;
      const own = await evaluate('document.querySelector("#picture").naturalWidth');
      await open(picture);
      const labelled = await ask(drawn);
      labels(`${name}, picture on the board`, labelled);
      check(`${name}, picture on the board: what was found is ringed`, await evaluate('document.querySelectorAll(".ring").length > 0'));
      const least = labelled.least * seen.shown * own / (await evaluate("document.documentElement.getBoundingClientRect().width"));
      check(`${at}: names in the picture are 12 px high at least`, least >= 12, `${least.toFixed(1)} px`);
      await open(address);
      await until('document.querySelector("#picture").naturalWidth > 0');
    }
  } finally {
    child.removeAllListeners("exit");
    child.kill("SIGKILL");
  }
}

try {
  for (const run of runs) {
    const name = `${run.fixture}-${run.findings}${run.word === "CLEAR" ? "-clear" : ""}`;
    const folder = join(work, name);
    mkdirSync(join(folder, "runs"), { recursive: true });
    for (const file of ["fixture.toml", "fixture.svg", "fixture.lock.json"]) {
      copyFileSync(join(examples, run.fixture, file), join(folder, file));
    }
    const file = join(folder, "runs", "friday.svg");
    writeFileSync(file, run.text);
    const shown = join(folder, "friday.html");
    const inspected = spawnSync(program, ["inspect", "--format", "json", "--proof", shown, file], { encoding: "utf8", maxBuffer: 1 << 26 });
    const found = JSON.parse(inspected.stdout).runs[0].findings.length;
    check(`${name}: findings`, found === run.findings, found);
    await proof(name, shown);
    await board(name, run, folder);
  }
} finally {
  await browser.close();
}
process.exit(failures === 0 ? 0 : 1);
