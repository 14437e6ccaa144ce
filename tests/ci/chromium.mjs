// A headless browser, spoken to in its debugging protocol over its pipe: no package is needed.
import { spawn } from "node:child_process";

/**
 * Starts the browser, with its profile in a folder. `call(method, params, session)` asks it for something,
 * `on(listener)` hears of every event, `gone` rejects when it ends too early, `close()` ends it.
 */
export function launch(program, profile) {
  const child = spawn(
    program,
    [
      "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--disable-quic",
      "--no-first-run", "--disable-background-networking", "--disable-component-update",
      "--disable-sync", "--hide-scrollbars", "--window-size=1920,1080", "--remote-debugging-pipe",
      `--user-data-dir=${profile}`, "about:blank",
    ],
    { stdio: ["ignore", "ignore", "ignore", "pipe", "pipe"] },
  );
  const gone = new Promise((_, reject) => {
    child.on("error", reject);
    child.on("exit", (code) => reject(new Error(`the browser ended with ${code}`)));
  });
  gone.catch(() => {});
  const waiting = new Map();
  const listeners = [];
  let rest = "";
  let last = 0;
  child.stdio[4].setEncoding("utf8");
  child.stdio[4].on("data", (data) => {
    // Messages end with a NUL.
    const parts = (rest + data).split("\0");
    rest = parts.pop();
    for (const message of parts.map((part) => JSON.parse(part))) {
      if (!message.id) {
        for (const listener of listeners) listener(message);
        continue;
      }
      const { method, resolve, reject } = waiting.get(message.id);
      waiting.delete(message.id);
      if (message.error) reject(new Error(`${method}: ${message.error.message}`));
      else resolve(message.result);
    }
  });
  function call(method, params = {}, sessionId = undefined) {
    last += 1;
    const id = last;
    child.stdio[3].write(`${JSON.stringify({ id, method, params, sessionId })}\0`);
    return Promise.race([new Promise((resolve, reject) => waiting.set(id, { method, resolve, reject })), gone]);
  }
  async function close() {
    child.removeAllListeners("exit");
    const ended = new Promise((done) => child.once("exit", done));
    call("Browser.close").catch(() => {});
    await Promise.race([ended, new Promise((done) => setTimeout(done, 2000))]);
    child.kill("SIGKILL");
  }
  return { call, on: (listener) => listeners.push(listener), gone, close };
}

/** An empty page: its session. */
export async function page(browser) {
  const { targetId } = await browser.call("Target.createTarget", { url: "about:blank" });
  const { sessionId } = await browser.call("Target.attachToTarget", { targetId, flatten: true });
  for (const domain of ["Page", "Runtime", "Network", "Log"]) await browser.call(`${domain}.enable`, {}, sessionId);
  return sessionId;
}
