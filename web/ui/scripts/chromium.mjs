// A headless Chromium driven over its debugging pipe (Chrome DevTools
// Protocol, messages ended by a zero byte on file descriptors 3 and 4), and a
// server of static files on the loopback. No library: tests and scripts here
// need a dozen commands.
import { spawn } from "node:child_process";
import { mkdtemp, readFile, rm } from "node:fs/promises";
import { createServer } from "node:http";
import { tmpdir } from "node:os";
import { extname, join, normalize } from "node:path";

const types = { ".html": "text/html", ".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml" };

/** Serves a folder on 127.0.0.1; gives its address and the way to stop it. */
export async function serveFolder(root) {
  const server = createServer(async (req, res) => {
    const path = normalize(new URL(req.url ?? "/", "http://localhost").pathname);
    try {
      const body = await readFile(join(root, path === "/" ? "index.html" : path));
      res.writeHead(200, { "content-type": types[extname(path === "/" ? ".html" : path)] ?? "text/html" }).end(body);
    } catch {
      res.writeHead(404).end("no such file");
    }
  });
  await new Promise((ok) => server.listen(0, "127.0.0.1", ok));
  return {
    address: `http://127.0.0.1:${server.address().port}/`,
    close: () => new Promise((ok) => { server.closeAllConnections(); server.close(ok); }),
  };
}

/** Starts Chromium; CHROMIUM names another program than `chromium`. */
export async function startChromium(flags = []) {
  const profile = await mkdtemp(join(tmpdir(), "wetside-pages-"));
  const child = spawn(
    process.env.CHROMIUM ?? "chromium",
    ["--headless=new", "--no-sandbox", "--disable-gpu", "--hide-scrollbars", "--no-first-run", "--disable-dev-shm-usage", "--mute-audio",
      "--remote-debugging-pipe", `--user-data-dir=${profile}`, ...flags],
    { stdio: ["ignore", "ignore", "ignore", "pipe", "pipe"] },
  );
  const gone = new Promise((ok) => child.once("exit", ok));
  const pipe = new Pipe(child.stdio[3], child.stdio[4], gone);
  const failed = new Promise((_, no) => child.once("error", (e) => no(new Error(`Chromium did not start: ${e.message}`))));
  await Promise.race([pipe.send("Browser.getVersion"), failed]);
  return {
    pid: child.pid,
    page: (size) => openPage(pipe, size),
    async close() {
      await Promise.race([pipe.send("Browser.close").catch(() => undefined), gone]);
      await gone;
      await rm(profile, { recursive: true, force: true, maxRetries: 5, retryDelay: 100 });
    },
  };
}

class Pipe {
  #next = 1;
  #waiting = new Map();
  #listeners = new Set();
  #rest = [];

  constructor(input, output, gone) {
    this.input = input;
    output.on("data", (part) => this.#take(part));
    input.on("error", () => undefined);
    void gone.then(() => {
      for (const { no } of this.#waiting.values()) no(new Error("Chromium is gone"));
      this.#waiting.clear();
    });
  }

  send(method, params = {}, sessionId = undefined) {
    const id = this.#next++;
    this.input.write(`${JSON.stringify({ id, method, params, sessionId })}\0`);
    return new Promise((ok, no) => this.#waiting.set(id, { ok, no, method }));
  }

  listen(f) {
    this.#listeners.add(f);
    return () => this.#listeners.delete(f);
  }

  #take(part) {
    let from = 0;
    for (let at = part.indexOf(0); at >= 0; at = part.indexOf(0, from)) {
      this.#rest.push(part.subarray(from, at));
      from = at + 1;
      this.#message(JSON.parse(Buffer.concat(this.#rest).toString()));
      this.#rest = [];
    }
    if (from < part.length) this.#rest.push(part.subarray(from));
  }

  #message(m) {
    if (m.id === undefined) {
      for (const f of this.#listeners) f(m);
      return;
    }
    const w = this.#waiting.get(m.id);
    this.#waiting.delete(m.id);
    if (m.error) w?.no(new Error(`${w.method}: ${m.error.message}`));
    else w?.ok(m.result);
  }
}

async function openPage(pipe, { width = 1920, height = 1080, scale = 1, touch = false } = {}) {
  const { targetId } = await pipe.send("Target.createTarget", { url: "about:blank" });
  const { sessionId } = await pipe.send("Target.attachToTarget", { targetId, flatten: true });
  const send = (method, params) => pipe.send(method, params, sessionId);
  const troubles = [];
  pipe.listen((m) => {
    if (m.sessionId !== sessionId) return;
    if (m.method === "Runtime.exceptionThrown") troubles.push(m.params.exceptionDetails.exception?.description ?? m.params.exceptionDetails.text);
  });
  await send("Page.enable");
  await send("Runtime.enable");
  const page = {
    send,
    troubles,
    listen: (f) => pipe.listen((m) => m.sessionId === sessionId && f(m)),
    size: (w, h, s = 1) =>
      send("Emulation.setDeviceMetricsOverride", { width: w, height: h, deviceScaleFactor: s, mobile: false }),
    async open(url) {
      const loaded = new Promise((ok) => {
        const stop = pipe.listen((m) => {
          if (m.sessionId === sessionId && m.method === "Page.loadEventFired") { stop(); ok(); }
        });
      });
      await send("Page.navigate", { url });
      await loaded;
    },
    /** The value of an expression in the page; promises are waited for. */
    async value(expression) {
      const r = await send("Runtime.evaluate", { expression, awaitPromise: true, returnByValue: true });
      if (r.exceptionDetails) throw new Error(r.exceptionDetails.exception?.description ?? r.exceptionDetails.text);
      return r.result.value;
    },
    /** Waits in the page until an expression is true, looked at on each frame. */
    until: (expression, ms = 20_000) =>
      page.value(`new Promise((ok, no) => {
        const end = performance.now() + ${ms};
        const look = () => { try { if (${expression}) return ok(true); } catch {} performance.now() > end ? no(new Error(${JSON.stringify(`never true: ${expression}`)})) : requestAnimationFrame(look); };
        look();
      })`),
    async picture(clip = undefined) {
      const { data } = await send("Page.captureScreenshot", { format: "png", ...(clip ? { clip } : {}) });
      return Buffer.from(data, "base64");
    },
    /** The page on paper, as a PDF, of the size that its own style asks for. */
    async paper() {
      const { data } = await send("Page.printToPDF", { preferCSSPageSize: true, printBackground: true });
      return Buffer.from(data, "base64");
    },
    close: () => pipe.send("Target.closeTarget", { targetId }),
  };
  await page.size(width, height, scale);
  if (touch) await send("Emulation.setTouchEmulationEnabled", { enabled: true });
  return page;
}
