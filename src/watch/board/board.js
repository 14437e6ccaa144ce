// The board's page: draws the state that the watcher sends, and says so when it sends none.
"use strict";

const SIGNS = { clear: "\u2713", hold: "\u2715", unread: "?" };
const WORDS = { clear: "CLEAR", hold: "HOLD", unread: "UNREAD" };
// Three beats of the watcher (see BEAT in board.rs).
const SILENCE_MS = 6000;

const $ = (id) => document.getElementById(id);
let epoch = null;
let chosen = null;
let last = null;
let heard = 0;
let source = null;

function element(name, text, kind) {
  const made = document.createElement(name);
  made.textContent = text;
  if (kind) made.className = kind;
  return made;
}

function kindOf(run) {
  if (run.working || !run.verdict) return "working";
  return run.verdict;
}

function drawMain(run) {
  const kind = run ? kindOf(run) : "working";
  $("newest").className = kind;
  $("newest").dataset.sha256 = run ? run.sha256 : "";
  $("sign").textContent = SIGNS[kind] || "\u2026";
  $("word").textContent = !run ? "NO RUN YET" : WORDS[kind] || "INSPECTING";
  $("name").textContent = run ? run.name : "";
  const excused = run && run.excused ? ` · ${run.excused} excused by waivers` : "";
  $("fixture").textContent = run && run.fixture ? run.fixture + excused : "";
  $("rests-on").textContent = (run && kind === "clear" && run.rests_on) || "";
  const list = $("findings");
  list.replaceChildren();
  const more = $("more");
  more.textContent = "";
  if (run && kind !== "working") {
    if (run.barred) list.append(element("li", run.barred));
    for (const finding of run.findings) {
      const item = element("li", `${finding.weight}: ${finding.text}`, finding.weight);
      if (finding.help) item.append(element("small", finding.help));
      list.append(item);
    }
    if (run.more) more.textContent = `and ${run.more} more`;
  }
  const frame = $("proof");
  if (run && kind !== "working") {
    // The digest and the time of the watcher make a changed run another address.
    const address = `/proof/${run.id}?v=${run.sha256}${last.epoch}${run.verdict}`;
    if (frame.getAttribute("src") !== address) frame.setAttribute("src", address);
  } else if (!run) {
    frame.removeAttribute("src");
  }
}

function draw() {
  const state = last;
  const named = state.runs.find((run) => run.id === chosen);
  drawMain(named || state.runs[0]);
  $("counts").textContent =
    `${state.hold} hold · ${state.unread} unread · ${state.clear} clear` +
    (state.working ? ` · ${state.working} being inspected` : "");
  const rows = $("runs");
  rows.replaceChildren();
  for (const run of state.runs) {
    const kind = kindOf(run);
    const row = element("tr", "", kind);
    row.append(element("td", `${SIGNS[kind] || "\u2026"} ${WORDS[kind] || "INSPECTING"}`));
    const cell = element("td", "");
    const link = element("a", run.name);
    link.href = `#${run.id}`;
    cell.append(link);
    row.append(cell);
    const first = run.barred || (run.findings[0] ? run.findings[0].text : "");
    row.append(element("td", kind === "working" ? "" : first));
    rows.append(row);
  }
  if (state.more) rows.append(element("tr", `and ${state.more} more`));
  const notices = $("notices");
  notices.replaceChildren(...state.notices.map((words) => element("li", words)));
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

addEventListener("hashchange", () => {
  chosen = location.hash.slice(1) || null;
  if (last) draw();
});

listen();
