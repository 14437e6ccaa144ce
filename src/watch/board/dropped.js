// A run of one's own: dropped on the page or chosen, sent to this program, shown like the others.
"use strict";

// As in dropped.rs: the program refuses more, this only says so sooner.
const LARGEST = 64 * 1024 * 1024;
const LISTS = /\.(csv|tsv|txt|xlsx|ods)$/i;

// What stands in the way of inspecting, beside the button.
function tell(words) {
  $("says").textContent = words;
}

// What was chosen, in the form that the program takes.
function asked(run, list) {
  const wanted = {
    name: run.name,
    size: run.size,
    loaded: $("loaded").value,
    list: list
      ? { name: list.name, size: list.size, columns: [$("column").value], quantity: $("quantity").value }
      : null,
  };
  return new Blob([JSON.stringify(wanted), "\n", run, ...(list ? [list] : [])]);
}

// How many runs were asked for: an answer to one before the last shows no more.
let asks = 0;

async function inspectOwn() {
  const [run] = $("run").files;
  const [list] = $("list").files;
  if (!run) return tell("Choose a run first.");
  if (run.size + (list ? list.size : 0) > LARGEST) {
    return fail(run, "it is over 64 MB with its list: inspect it with jigwarden inspect");
  }
  asks += 1;
  const ask = asks;
  show({ id: "own", name: run.name, working: true, sha256: "", findings: [], more: 0 });
  try {
    const token = await fetch("/token");
    if (!token.ok) throw new Error(await token.text());
    const answer = await fetch("/inspect", {
      method: "POST",
      headers: { "Content-Type": "application/octet-stream", "X-Board-Token": await token.text() },
      body: asked(run, list),
    });
    if (!answer.ok) throw new Error(await answer.text());
    const came = await answer.json();
    if (ask === asks) show(came);
  } catch (trouble) {
    if (ask === asks) fail(run, trouble.message.trim());
  }
}

function show(run) {
  own = run;
  chosen = run.id;
  tell("");
  if (last) draw();
  scrollTo(0, 0);
}

// No verdict is shown for what was not inspected, not even that of the file before.
function fail(run, why) {
  own = null;
  if (last) draw();
  tell(`${run.name} is not inspected: ${why}`);
  $("own").scrollIntoView();
}

function holding(file) {
  const transfer = new DataTransfer();
  transfer.items.add(file);
  return transfer.files;
}

addEventListener("dragover", (event) => {
  event.preventDefault();
  document.body.classList.add("over");
});
addEventListener("dragleave", () => document.body.classList.remove("over"));
addEventListener("drop", (event) => {
  event.preventDefault();
  document.body.classList.remove("over");
  if ($("own").hidden) return;
  const files = [...event.dataTransfer.files];
  const list = files.find((file) => LISTS.test(file.name));
  const runs = files.filter((file) => file !== list);
  if (list) $("list").files = holding(list);
  if (runs.length > 1) return fail(runs[0], "drop one run at a time");
  if (runs.length === 1) $("run").files = holding(runs[0]);
  if (runs.length === 1 || $("run").files.length) inspectOwn();
  else if (list) {
    tell("The order list is chosen. Now drop the run.");
    $("own").scrollIntoView();
  }
});
$("own").addEventListener("submit", (event) => {
  event.preventDefault();
  inspectOwn();
});
$("run").addEventListener("change", inspectOwn);

// Files are taken on the computer itself only: elsewhere the form does not show.
fetch("/token").then((answer) => ($("own").hidden = $("hint").hidden = !answer.ok), () => {});
