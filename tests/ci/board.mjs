// See board.sh.
//
//   node board.mjs PROGRAM CHROMIUM FIXTURE WORK [FOLDER-FOR-SCREENSHOTS]
import { createHash } from "node:crypto";
import { spawn } from "node:child_process";
import { copyFileSync, mkdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import http from "node:http";
import net from "node:net";
import { join } from "node:path";
import { dropped } from "./board_dropped.mjs";
import { measure } from "./board_measures.mjs";
import { launch, page } from "./chromium.mjs";

const [program, chromium, fixture, work, screenshots] = process.argv.slice(2);
const sleep = (ms) => new Promise((done) => setTimeout(done, ms));
let failures = 0;

function check(what, right, seen) {
  console.log(`${right ? "ok" : "NOT OK"}: ${what}${seen === undefined ? "" : ` (${seen})`}`);
  if (!right) failures += 1;
}

// The workshop.
for (const name of ["fixture.toml", "fixture.svg", "fixture.lock.json"]) {
  copyFileSync(join(fixture, name), join(work, name));
}
mkdirSync(join(work, "runs"));
mkdirSync(join(work, "desk"));
const clear = readFileSync(join(fixture, "clear/live-lettering.svg"), "utf8");
const hold = readFileSync(join(fixture, "hold/past-zone--long-name.svg"), "utf8");
let saves = 0;
function save(name, text) {
  saves += 1;
  const beside = join(work, "runs", `${name}.tmp`);
  writeFileSync(beside, `${text}<!-- ${saves} -->\n`);
  renameSync(beside, join(work, "runs", name));
  return createHash("sha256").update(readFileSync(join(work, "runs", name))).digest("hex");
}
save("monday.svg", clear);
save("tuesday.svg", clear);

async function freePort() {
  return new Promise((done) => {
    const server = net.createServer().listen(0, "127.0.0.1", () => {
      const { port } = server.address();
      server.close(() => done(port));
    });
  });
}

function watch(port) {
  const child = spawn(program, ["watch", "runs", "--board", String(port)], {
    cwd: work,
    stdio: ["ignore", "pipe", "inherit"],
  });
  child.stdout.resume();
  return child;
}

async function ended(child, signal) {
  const gone = new Promise((done) => child.once("exit", done));
  child.kill(signal);
  await gone;
}

function request(port, path, headers = {}) {
  return new Promise((done, fail) => {
    http
      .request({ host: "127.0.0.1", port, path, headers }, (answer) => {
        let body = "";
        answer.on("data", (part) => (body += part));
        answer.on("end", () => done({ status: answer.statusCode, body }));
      })
      .on("error", fail)
      .end();
  });
}

const browser = launch(chromium, join(work, "browser"));
const { call } = browser;
const refused = [];
browser.on((message) => {
  if (message.method === "Log.entryAdded") refused.push(message.params.entry);
  if (message.method === "Runtime.exceptionThrown") {
    refused.push({ source: "exception", text: JSON.stringify(message.params) });
  }
});

let watcher;
try {
  const port = await freePort();
  watcher = watch(port);
  for (let tries = 0; tries < 100; tries += 1) {
    if (await request(port, "/").catch(() => null)) break;
    await sleep(50);
  }
  const sessionId = await page(browser);
  await call("Page.navigate", { url: `http://127.0.0.1:${port}/` }, sessionId);
  const evaluate = async (expression) =>
    (await call("Runtime.evaluate", { expression, awaitPromise: true, returnByValue: true }, sessionId)).result.value;
  // The time in milliseconds until the page says so; null if it does not.
  async function becomes(expression, limit) {
    const begun = performance.now();
    while (performance.now() - begun < limit) {
      if (await evaluate(`Boolean(${expression})`)) return Math.round(performance.now() - begun);
      await sleep(10);
    }
    return null;
  }
  const word = 'document.querySelector("#word").textContent';
  const name = 'document.querySelector("#name").textContent';
  const lost = 'document.body.classList.contains("lost")';

  check("the page shows the runs", (await becomes(`${word} === "CLEAR" && document.querySelectorAll("#runs li").length === 2 && !${lost}`, 10000)) !== null);

  save("monday.svg", hold);
  const took = await becomes(`${word} === "HOLD" && ${name} === "monday.svg"`, 5000);
  check("a run that turns from clear to hold shows within a second", took !== null && took < 1000, `${took} ms`);
  check("its finding is told", await evaluate('document.querySelector("#findings li").textContent.includes("past")'));
  check("its picture is shown", (await becomes('document.querySelector("#picture").naturalWidth > 0', 5000)) !== null);
  check("and leads to its proof", (await evaluate('document.querySelector("#whole").getAttribute("href")')).startsWith("/proof/"));
  const tall = await evaluate('parseFloat(getComputedStyle(document.querySelector("#verdict")).fontSize)');
  check("the verdict is lettered for two metres", tall >= 58, `${tall} px`);

  save("tuesday.svg", hold);
  save("tuesday.svg", clear);
  check("and back to clear", (await becomes(`${word} === "CLEAR" && ${name} === "tuesday.svg"`, 5000)) !== null);

  await ended(watcher, "SIGKILL");
  const noticed = await becomes(lost, 10000);
  check("a watcher that died is told", noticed !== null, `${noticed} ms`);
  watcher = watch(port);
  const back = await becomes(`!${lost} && ${word} === "CLEAR"`, 15000);
  check("a watcher that is back is found again", back !== null, `${back} ms`);
  save("monday.svg", clear);
  check("and heard", (await becomes(`${name} === "monday.svg" && ${word} === "CLEAR"`, 5000)) !== null);
  save("monday.svg", hold);
  check("and heard again", (await becomes(`${name} === "monday.svg" && ${word} === "HOLD"`, 5000)) !== null);

  // What is seen: four windows, a run with no, one and thirteen findings, one and several runs.
  const many = hold.replaceAll("#1b1b1b", "#1b1b1f");
  const long = "gift-tags-for-the-harvest-fair-second-load-of-three-2026.svg";
  const scenes = [
    ["held-1", "friday.svg", hold, "HOLD"],
    ["held-13", "friday.svg", many, "HOLD"],
    ["clear", "friday.svg", clear, "CLEAR"],
    ["unread", "friday.svg", "<svg", "UNREAD"],
    ["several", long, hold, "HOLD"],
  ];
  // Measures what is seen in a window, and keeps a picture of it.
  async function shoot(scene, width, height) {
    await call("Emulation.setDeviceMetricsOverride", { width, height, deviceScaleFactor: 1, mobile: width < 700 }, sessionId);
    await becomes('document.querySelector("#whole").hidden || (document.querySelector("#picture").complete && document.querySelector("#picture").src.includes(document.querySelector("#newest").dataset.sha256))', 5000);
    await sleep(150);
    const seen = JSON.parse(await evaluate(`(${measure})()`));
    const at = `${scene} at ${width} by ${height}`;
    check(`${at}: no text leaves its box`, seen.outside.length === 0, seen.outside.join("; ") || undefined);
    check(`${at}: contrast of at least 4.5 to 1`, seen.faint.length === 0, seen.faint.join("; ") || `least ${seen.least}`);
    check(`${at}: file names break at sensible places only`, seen.broken.length === 0, seen.broken.join("; ") || undefined);
    check(`${at}: names are 12 px at least`, seen.smallest >= 12, `${seen.smallest} px`);
    check(`${at}: no scrolling to the side`, seen.wide <= width, `${seen.wide} px`);
    if (width > 700) check(`${at}: what matters is on the first screen`, seen.below.length === 0, seen.below.join("; ") || undefined);
    if (width === 1280 && seen.shown > 0) {
      // The names of these runs are lettered 5 mm high.
      const drawn = (await request(port, seen.picture)).body;
      const number = (what) => parseFloat(drawn.match(what)[1]);
      const scale = (seen.shown * number(/ width="([^"]*)" height/)) / number(/viewBox="\S+ \S+ (\S+) /);
      const least = Math.min(5 * scale, ...[...drawn.matchAll(/<text[^>]* font-size="([^"]*)"/g)].map((m) => scale * parseFloat(m[1])));
      check(`${at}: names in the picture are 12 px high at least`, least >= 12, `${least.toFixed(1)} px`);
    }
    if (!screenshots) return;
    const { data } = await call("Page.captureScreenshot", { format: "png", captureBeyondViewport: width < 700 && scene === "dropped" }, sessionId);
    mkdirSync(screenshots, { recursive: true });
    writeFileSync(join(screenshots, `${scene}-${width}.png`), Buffer.from(data, "base64"));
  }
  const windows = [[1920, 1080], [1366, 768], [1280, 800], [390, 844]];
  for (const [scene, file, text, wanted] of scenes) {
    if (scene === "several") {
      for (let i = 1; i <= 7; i += 1) save(`load-${i}_of_9.svg`, i % 3 ? clear : hold);
      await becomes(`document.querySelectorAll("#runs li").length >= 9`, 10000);
    }
    const digest = save(file, text);
    const there = await becomes(`${word} === "${wanted}" && document.querySelector("#name").title === "${file}" && document.querySelector("#newest").dataset.sha256 === "${digest}"`, 15000);
    check(`${scene} is shown`, there !== null);
    for (const [width, height] of windows) await shoot(scene, width, height);
  }
  await dropped({ call, evaluate, becomes, check, sessionId, port, work, shoot }, clear, hold);
  const violations = refused.filter((e) => e.source === "security" || e.source === "exception");
  check("nothing in the page breaks its own policy", violations.length === 0, JSON.stringify(violations).slice(0, 400));

  const hostile = await request(port, "/", { host: "evil.example" });
  check("another Host header is refused", hostile.status === 421 && !hostile.body.includes("monday"), hostile.status);
  for (const path of ["/../fixture.toml", "/proof/../../fixture.toml", "/proof/%2e%2e/fixture.toml"]) {
    const answer = await request(port, path);
    check(`${path} is refused`, [400, 404].includes(answer.status) && !answer.body.includes("[fixture]"), answer.status);
  }
} finally {
  watcher?.kill("SIGKILL");
  await browser.close();
}
await sleep(200);
process.exit(failures === 0 ? 0 : 1);
