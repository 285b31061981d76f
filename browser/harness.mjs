// What the journeys share: the real program on a book of its own, Debian's Chromium, and the record as it stands after.
//
// TUBWRIGHT_BINARY: the program (the debug build by default). CHROMIUM: the browser (/usr/bin/chromium by default).

import { execFile, spawn } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdtemp, rm } from "node:fs/promises";
import { connect, createServer } from "node:net";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { promisify } from "node:util";
import { chromium } from "playwright-core";

const here = fileURLToPath(new URL(".", import.meta.url));
const target = process.env.CARGO_TARGET_DIR || join(here, "../target");
export const BINARY = process.env.TUBWRIGHT_BINARY || join(target, "debug/tubwright");
export const CHROMIUM = process.env.CHROMIUM || "/usr/bin/chromium";
export const PHONE = { width: 390, height: 844 };
export const DESK = { width: 1440, height: 900 };
const START_MS = 60000;

for (const [what, path] of [["the program", BINARY], ["Chromium", CHROMIUM]]) {
  if (!existsSync(path)) throw new Error(`${what} is not at ${path}; name another place with TUBWRIGHT_BINARY or CHROMIUM`);
}

// Serves the invented firm on a new book; `port` to come back at the same address.
export async function serve({ port = 0, book } = {}) {
  const folder = book ? null : await mkdtemp(join(tmpdir(), "tubwright-browser-"));
  const path = book || join(folder, "journey.book");
  const child = spawn(BINARY, ["serve", "--demo", "--book", path, "--listen", `127.0.0.1:${port}`], {
    stdio: ["ignore", "ignore", "pipe"],
  });
  let said = "";
  const address = await new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(`the program did not answer: ${said}`)), START_MS);
    child.stderr.on("data", (text) => {
      said += text;
      const found = /http:\/\/[\d.]+:(\d+)\//.exec(said);
      if (found) {
        clearTimeout(late);
        resolve(found[0]);
      }
    });
    child.on("exit", (code) => reject(new Error(`the program ended with ${code}: ${said}`)));
  });
  const ended = new Promise((resolve) => child.on("exit", resolve));
  return {
    address,
    book: path,
    port: Number(new URL(address).port),
    async stop() {
      child.kill("SIGTERM");
      await ended;
    },
    async remove() {
      if (folder) await rm(folder, { recursive: true, force: true });
    },
    async clear() {
      await this.stop();
      await this.remove();
    },
  };
}

// Makes somebody who can log in, as the command line does.
export function account(book, login, role, password) {
  const child = spawn(BINARY, ["account", "add", login, "--role", role, "--book", book, "--password-stdin"], {
    stdio: ["pipe", "ignore", "inherit"],
  });
  child.stdin.end(`${password}\n`);
  return new Promise((resolve, reject) => {
    child.on("exit", (code) => (code === 0 ? resolve() : reject(new Error(`account add ended with ${code}`))));
  });
}

// Counts every byte that the server sends to whoever comes through here: headers, worker, all.
export async function counted(address) {
  const { hostname, port } = new URL(address);
  const count = { sent: 0 };
  const open = new Set();
  const proxy = createServer((client) => {
    const upstream = connect(Number(port), hostname);
    for (const socket of [client, upstream]) {
      open.add(socket);
      socket.on("error", () => socket.destroy());
      socket.on("close", () => open.delete(socket));
    }
    upstream.on("data", (bytes) => (count.sent += bytes.length));
    client.pipe(upstream);
    upstream.pipe(client);
  });
  await new Promise((resolve) => proxy.listen(0, "127.0.0.1", resolve));
  count.address = `http://127.0.0.1:${proxy.address().port}/`;
  count.close = () => {
    for (const socket of open) socket.destroy();
    proxy.close();
  };
  return count;
}

export function browser() {
  return chromium.launch({
    executablePath: CHROMIUM,
    args: [
      "--no-sandbox",
      "--disable-gpu",
      "--disable-quic",
      "--no-first-run",
      "--disable-background-networking",
      "--disable-component-update",
      "--disable-sync",
    ],
  });
}

// Every entry of a book, in order of receipt: the program's own export.
export async function entries(book) {
  const options = { maxBuffer: 256 << 20 };
  const { stdout } = await promisify(execFile)(BINARY, ["book", "export", "-", "--book", book], options);
  const lines = stdout.trim().split("\n").map((line) => JSON.parse(line));
  return lines.filter((line) => line.kind);
}

// A page whose script errors fail the test.
export async function open(context) {
  const page = await context.newPage();
  page.faults = [];
  page.on("pageerror", (error) => page.faults.push(error.message));
  // Longer than the device waits for an answer (20 s): a connection that died with the signal is given up only then.
  page.setDefaultTimeout(45000);
  return page;
}

// The least urgent tub of Today whose Reading page asks for pH and free chlorine by colour steps or figures.
// Today's rows are worked out beside the requests: right after a start there may be few of them yet.
export async function someTub(page, address) {
  for (const until = Date.now() + 45_000; Date.now() < until; await page.waitForTimeout(500)) {
    await page.goto(address);
    for (const link of (await page.locator("ol.tubs a").all()).reverse()) {
      const path = await link.getAttribute("href");
      const form = await (await fetch(new URL(`${path}/reading`, address))).text();
      if (form.includes('value="ph"') && form.includes('value="free_chlorine"')) return path;
    }
  }
  throw new Error("no tub of the demonstration asks for pH and free chlorine");
}

// The row of a quantity on the Reading page.
export function row(page, quantity) {
  return page.locator("fieldset.reading", { has: page.locator(`input[type=hidden][value="${quantity}"]`) });
}

// Enters a figure as a thumb would: the colour step if there is one, else typed.
export async function enter(page, quantity, figure) {
  const place = row(page, quantity);
  const step = place.locator(`input[type=radio][value="${figure}"]`);
  if (await step.count()) await step.check();
  else await place.locator("input[type=text]").first().pressSequentially(String(figure), { delay: 60 });
}
