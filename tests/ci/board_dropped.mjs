// Runs dropped on the board's page, as a person does and as a page elsewhere would like to.
import { readdirSync, writeFileSync } from "node:fs";
import http from "node:http";
import { join } from "node:path";

// `page` has what board.mjs made: call, evaluate, becomes, check, sessionId, port, work, shoot.
export async function dropped(page, clear, hold) {
  const { call, evaluate, becomes, check, sessionId, port, work, shoot } = page;
  const at = (name) => join(work, "desk", name);
  writeFileSync(at("mine.svg"), hold);
  writeFileSync(at("fine.svg"), clear);
  writeFileSync(at("torn.svg"), "<svg");
  writeFileSync(at("orders.csv"), "Name,Number\nBramble,1\nNobody,2\n");
  writeFileSync(at("large.svg"), Buffer.alloc(64 * 1024 * 1024 + 1, 32));
  const before = readdirSync(join(work, "runs")).join();
  const shows = (word, name, more = "true") =>
    becomes(`document.querySelector("#word").textContent === "${word}" && document.querySelector("#name").title === "${name}" && ${more}`, 15000);

  await call("DOM.enable", {}, sessionId);
  const { root } = await call("DOM.getDocument", {}, sessionId);
  async function choose(id, name) {
    const { nodeId } = await call("DOM.querySelector", { nodeId: root.nodeId, selector: id }, sessionId);
    await call("DOM.setFileInputFiles", { nodeId, files: name ? [at(name)] : [] }, sessionId);
  }
  async function drop(...names) {
    const data = { items: [], files: names.map(at), dragOperationsMask: 1 };
    for (const type of ["dragEnter", "dragOver", "drop"]) {
      await call("Input.dispatchDragEvent", { type, x: 200, y: 200, data }, sessionId);
    }
  }

  check("the form shows on this computer", (await becomes('!document.querySelector("#own").hidden', 5000)) !== null);
  await drop("mine.svg");
  check("a dropped run is shown", (await shows("HOLD", "mine.svg")) !== null);
  check("with its pocket", (await evaluate('document.querySelector(".lead b").textContent')) === "A3");
  check("with its picture", (await becomes('document.querySelector("#picture").naturalWidth > 0', 5000)) !== null);
  check("and is told apart from what is watched", await evaluate('document.querySelector("#fixture").textContent.includes("not in the watched folder")'));
  const proof = await evaluate('fetch(document.querySelector("#whole").href).then((a) => a.text())');
  check("its whole proof can be opened", proof.includes("Meadowsweet"));
  await shoot("dropped", 1280, 800);
  await shoot("dropped", 390, 844);

  await choose("#run", "fine.svg");
  check("a chosen run is shown", (await shows("CLEAR", "fine.svg")) !== null);
  await drop("orders.csv");
  check("a dropped list is taken for the list", (await shows("HOLD", "fine.svg", 'document.querySelector("#what").textContent.includes("Nobody")')) !== null);
  await choose("#list", null);
  await evaluate('(document.querySelector("#loaded").value = "A1-A5", document.querySelector("#own button").click())');
  check("the chosen load counts", (await shows("HOLD", "fine.svg", 'document.querySelector("#what").textContent.includes("no blank")')) !== null);
  await evaluate('document.querySelector("#loaded").value = ""');
  await drop("torn.svg");
  check("a broken run is unread", (await shows("UNREAD", "torn.svg")) !== null);
  await drop("large.svg");
  check("one that is too large is refused in words", (await becomes('document.querySelector("#says").textContent.includes("64 MB")', 10000)) !== null);
  check("nothing is written among the runs", readdirSync(join(work, "runs")).join() === before);
  check("the watched runs are still there", await evaluate('[...document.querySelectorAll("#runs a")].some((a) => a.textContent.includes("monday.svg"))'));

  // A page of another site: it may ask, and gets nothing.
  const elsewhere = http.createServer((_, answer) => {
    answer.setHeader("content-type", "text/html");
    answer.end("<title>elsewhere</title>");
  });
  await new Promise((done) => elsewhere.listen(0, "127.0.0.1", done));
  const { targetId } = await call("Target.createTarget", { url: `http://127.0.0.1:${elsewhere.address().port}/` });
  const other = (await call("Target.attachToTarget", { targetId, flatten: true })).sessionId;
  await call("Runtime.enable", {}, other);
  const tried = async (expression) =>
    (await call("Runtime.evaluate", { expression, awaitPromise: true, returnByValue: true }, other)).result.value;
  const board = `http://127.0.0.1:${port}`;
  const failed = '.then(async (a) => a.type + (await a.text()), () => "failed")';
  check("another page reads no token", (await tried(`fetch("${board}/token")${failed}`)) === "failed");
  check("another page sends no run", (await tried(`fetch("${board}/inspect", {method: "POST", headers: {"X-Board-Token": "x"}, body: "{}"})${failed}`)) === "failed");
  const blind = await tried(`fetch("${board}/inspect", {method: "POST", mode: "no-cors", body: "{}"})${failed}`);
  check("not blindly either", ["opaque", "failed"].includes(blind), blind);
  await call("Target.closeTarget", { targetId });
  elsewhere.close();
}
