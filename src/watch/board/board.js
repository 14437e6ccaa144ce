// The board's page: draws the state that the watcher sends, and says so when it sends none.
"use strict";

const SIGNS = { clear: "\u2713", hold: "\u2715", unread: "?" };
const WORDS = { clear: "CLEAR", hold: "HOLD", unread: "UNREAD" };
// Three beats of the watcher (see BEAT in board.rs).
const SILENCE_MS = 6000;

// A longer file name is set smaller, so that it leaves room for what is wrong.
const LONG = 28;

const $ = (id) => document.getElementById(id);
let epoch = null;
let chosen = null;
// A run that was dropped on the page (see dropped.js).
let own = null;
let last = null;
let heard = 0;
let source = null;

function element(name, text, kind) {
  const made = document.createElement(name);
  made.textContent = text;
  if (kind) made.className = kind;
  return made;
}

// A number stays with its unit, and a path breaks after its slashes.
function sentence(text) {
  return text.replace(/(\d) (mm|in|%|degrees)/g, "$1\u00a0$2").replace(/\//g, "/\u200b");
}

function kindOf(run) {
  if (run.working || !run.verdict) return "working";
  return run.verdict;
}

function finding(point, leads) {
  const item = element("li", "", leads ? `lead ${point.weight}` : point.weight);
  const where = point.pocket || (leads ? "" : point.weight);
  if (where) item.append(element("b", where));
  const text = sentence(point.text);
  const says = leads && point.weight !== "hold" && point.weight !== "unread";
  item.append(element("span", says ? `${point.weight}: ${text}` : text));
  if (point.also) item.append(element("em", ` ${point.also}`));
  if (leads && point.help) item.append(element("small", sentence(point.help)));
  return item;
}

function drawFindings(run) {
  const points = run.findings.map((point, index) => finding(point, index === 0));
  if (run.barred) points.unshift(element("li", run.barred, "lead"));
  $("findings").replaceChildren(...points);
  $("more").textContent = run.more ? `and ${run.more} more` : "";
}

function drawPicture(run) {
  const frame = $("whole");
  if (!run || run.verdict === "unread" || !run.verdict) {
    frame.hidden = true;
    return;
  }
  if (kindOf(run) === "working") return;
  frame.hidden = false;
  // The digest and the time of the watcher make a changed run another address.
  const address = `${run.id}?v=${run.sha256}${last.epoch}${run.verdict}`;
  const picture = $("picture");
  frame.href = `/proof/${address}`;
  if (picture.getAttribute("src") !== `/picture/${address}`) picture.src = `/picture/${address}`;
  picture.alt = run.verdict === "clear" ? "The fixture with what is burnt" : "The place of the first finding, ringed";
}

function drawMain(run) {
  const kind = run ? kindOf(run) : "working";
  const main = $("newest");
  main.className = kind;
  main.dataset.sha256 = run ? run.sha256 : "";
  $("sign").textContent = SIGNS[kind] || "\u2026";
  $("word").textContent = !run ? "NO RUN YET" : WORDS[kind] || "INSPECTING";
  writeName($("name"), run ? run.name : "");
  $("name").classList.toggle("long", Boolean(run) && run.name.length > LONG);
  const excused = run && run.excused ? ` \u00b7 ${run.excused} excused by waivers` : "";
  const apart = run && run === own ? "dropped on this page, not in the watched folder" : "";
  const fixture = run && run.fixture ? run.fixture + excused : "";
  $("fixture").textContent = [fixture, apart].filter(Boolean).join(" \u00b7 ");
  $("not-checked").textContent = kind === "clear" ? last.not_checked : "";
  const rests = kind === "clear" && run.rests_on;
  $("rests-on").replaceChildren(...(rests ? [element("b", "Rests on"), rests] : []));
  drawFindings(run && kind !== "working" ? run : { findings: [] });
  drawPicture(run);
  lay();
}

// A picture of the whole fixture that is wider than this for its height is larger below the words than
// beside them, where the words are few.
const WIDE = 2.2;

function lay() {
  const picture = $("picture");
  const shape = picture.naturalWidth / (picture.naturalHeight || 1) || 1;
  const wide = shape > WIDE;
  const main = $("newest");
  const told = $("findings").children.length > 0;
  main.style.setProperty("--shape", shape);
  main.classList.toggle("wide", wide && main.classList.contains("clear") && !told);
  main.classList.toggle("told", told);
}

function draw() {
  const state = last;
  const runs = own ? [own, ...state.runs] : state.runs;
  const named = runs.find((run) => run.id === chosen);
  const seen = named || state.runs[0];
  drawMain(seen);
  $("counts").textContent =
    `${state.hold} hold \u00b7 ${state.unread} unread \u00b7 ${state.clear} clear` +
    (state.working ? ` \u00b7 ${state.working} being inspected` : "");
  const rows = runs.map((run) => {
    const kind = kindOf(run);
    const row = element("li", "", kind);
    if (run === seen) row.setAttribute("aria-current", "true");
    const link = element("a", "");
    link.href = `#${run.id}`;
    link.append(element("b", `${SIGNS[kind] || "\u2026"} ${WORDS[kind] || "INSPECTING"}`));
    const name = element("span", "");
    writeName(name, run.name);
    link.append(name);
    if (run === own) link.append(element("i", "dropped here"));
    row.append(link);
    return row;
  });
  if (state.more) rows.push(element("li", `and ${state.more} more`));
  $("runs").replaceChildren(...rows);
  $("notices").replaceChildren(...state.notices.map((words) => element("li", words)));
}

function alive() {
  heard = Date.now();
  document.body.classList.remove("lost");
}

function listen() {
  if (source) source.close();
  source = new EventSource("/events");
  source.addEventListener("beat", alive);
  source.addEventListener("state", (event) => {
    const state = JSON.parse(event.data);
    // Another watcher, perhaps of another version: its page may be another too.
    if (epoch !== null && last && last.tool !== state.tool) {
      location.reload();
      return;
    }
    // A save is news: it shows, whatever was chosen before.
    const newest = state.runs[0];
    const before = last && last.runs[0];
    if (newest && before && newest.working && !before.working) chosen = null;
    epoch = state.epoch;
    last = state;
    alive();
    draw();
  });
  source.onerror = () => {
    document.body.classList.add("lost");
  };
}

setInterval(() => {
  if (Date.now() - heard > SILENCE_MS) document.body.classList.add("lost");
  // A browser tries again by itself, but not after an answer that it did not expect.
  if (source.readyState === EventSource.CLOSED) listen();
}, 500);

$("picture").addEventListener("load", lay);

addEventListener("hashchange", () => {
  chosen = location.hash.slice(1) || null;
  if (last) draw();
});

listen();
