// Measures the served program: Today, a tub's page, a reading posted, and an empty answer as the ceiling, 50 clients at once.
//
//   node load.mjs BINARY BOOK [SECONDS]
//
// The book is made by `cargo run --release -p book --example large_book`. The server is this machine's own, reached over
// loopback; the clients share its cores.

import { spawn } from "node:child_process";
import { randomBytes } from "node:crypto";
import { readFileSync } from "node:fs";
import http, { Agent } from "node:http";
import autocannon from "autocannon";

const [binary, book, seconds = "20"] = process.argv.slice(2);
if (!binary || !book) throw new Error("BINARY and BOOK are needed");
const CLIENTS = 50;
const MIB = 1024;
const READ = [["ph", "comparator", "7.4"], ["free_chlorine", "dpd-comparator", "3"]];

const started = performance.now();
const server = spawn(binary, ["serve", "--book", book, "--listen", "127.0.0.1:0"], {
  stdio: ["ignore", "ignore", "pipe"],
});
const address = await new Promise((resolve, reject) => {
  let said = "";
  server.stderr.on("data", (text) => {
    said += text;
    const found = /http:\/\/[\d.]+:\d+/.exec(said);
    if (found) resolve(found[0]);
  });
  server.on("exit", (code) => reject(new Error(`the program ended with ${code}: ${said}`)));
});
await fetch(`${address}/healthz`);
const startUp = performance.now() - started;

const status = (field) => {
  const text = readFileSync(`/proc/${server.pid}/status`, "utf8");
  return Number(new RegExp(`${field}:\\s+(\\d+) kB`).exec(text)[1]) / MIB;
};
const cpuTicks = () => {
  const [user, system] = readFileSync(`/proc/${server.pid}/stat`, "utf8").split(") ")[1].split(" ").slice(11, 13);
  return Number(user) + Number(system);
};
const pause = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

// What lists show of each tub is worked out in the background after the first start: wait until that is done.
const waited = performance.now();
for (let before = -1; before !== cpuTicks(); await pause(3000)) before = cpuTicks();
const settled = (performance.now() - waited) / 1000;

// Some thousands of tubs, as the interface lists them.
const tubs = [];
for (let next = `${address}/api/v1/tubs?limit=200`; next && tubs.length < 3000; ) {
  const page = await (await fetch(next)).json();
  tubs.push(...page.items.map((tub) => tub.id));
  next = page.next ? new URL(page.next, address).href : null;
}

function id() {
  const bytes = randomBytes(16);
  bytes.writeUIntBE(Date.now(), 0, 6);
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  return bytes.toString("hex").replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

// pH and free chlorine as the Reading page sends them.
function reading() {
  const moment = new Date().toISOString();
  const minute = moment.slice(0, 16);
  const form = { units: "metric", at: minute, shown: minute, moment };
  for (const [n, [quantity, method, step]] of READ.entries()) {
    Object.assign(form, {
      [`id.${n}`]: id(),
      [`quantity.${n}`]: quantity,
      [`method.${n}`]: method,
      [`shape.${n}`]: "value",
      [`step.${n}`]: step,
    });
  }
  return new URLSearchParams(form).toString();
}

// A round of a day's tubs, which the program still knows from the last look; and so many that it never does.
let turn = 0;
const oneOf = (n) => tubs[turn++ % Math.min(n, tubs.length)];
const ROUND = 100;
const page = (n, part = "") => [
  { setupRequest: (request) => ({ ...request, method: "GET", path: `/tubs/${oneOf(n)}${part}` }) },
];
// The plan that looks ahead learns the tub first: nobody asks for fifty at once, and a processor is kept free beside it.
const PLAN = "a tub's plan, never seen";
const kinds = {
  "empty page": [{ method: "GET", path: "/offline" }],
  Today: [{ method: "GET", path: "/" }],
  "a tub's page, of a round": page(ROUND),
  "a tub's page, never seen": page(Infinity),
  [PLAN]: page(Infinity, "/plan"),
  "a reading": [
    {
      setupRequest: (request) => ({
        ...request,
        method: "POST",
        path: `/tubs/${oneOf(Infinity)}/reading`,
        headers: { "content-type": "application/x-www-form-urlencoded", "sec-fetch-site": "same-origin" },
        body: reading(),
      }),
    },
  ],
};

// As fast as answers come; as fifty people with a thumb each would, one request a second from each, all in the same instant;
// and the same when each has a moment of their own, as people do.
const rows = [];
const PACES = [["at once", 1], ["at once", CLIENTS], ["one a second each, same instant", CLIENTS], ["one a second each", CLIENTS]];
for (const [what, requests] of Object.entries(kinds)) {
  for (const [pace, clients] of what === PLAN ? PACES.slice(0, 1) : PACES) {
    const figures = pace === "one a second each" ? await spread(requests[0]) : await struck(requests, clients, pace);
    rows.push({ what, clients, pace, ...figures });
    await pause(2000);
  }
}

async function struck(requests, clients, pace) {
  const overallRate = pace === "at once" ? undefined : clients;
  const result = await autocannon({ url: address, connections: clients, duration: Number(seconds), overallRate, requests });
  return {
    "a second": Math.round(result.requests.average),
    "p50 ms": result.latency.p50,
    "p99 ms": result.latency.p99,
    "worst ms": result.latency.max,
    answers: result["2xx"] + result["3xx"],
    wrong: result["4xx"] + result["5xx"] + result.errors + result.timeouts,
  };
}

// Each client asks once a second from a moment of its own on, over a connection that is kept.
async function spread(request) {
  const agent = new Agent({ keepAlive: true, maxSockets: CLIENTS });
  const [took, until] = [[], performance.now() + 1000 * Number(seconds)];
  let wrong = 0;
  const ask = () =>
    new Promise((resolve) => {
      const { method, path, headers, body } = request.setupRequest?.(request) ?? request;
      const began = performance.now();
      const sent = http.request(new URL(path, address), { method, headers, agent }, (answer) => {
        answer.resume();
        answer.on("end", () => {
          took.push(performance.now() - began);
          if (answer.statusCode >= 400) wrong += 1;
          resolve();
        });
      });
      sent.on("error", () => resolve((wrong += 1)));
      sent.end(body);
    });
  const client = async () => {
    await pause(1000 * Math.random());
    for (let next = performance.now(); next < until; next += 1000) {
      await pause(next - performance.now());
      await ask();
    }
  };
  await Promise.all(Array.from({ length: CLIENTS }, client));
  agent.destroy();
  took.sort((a, b) => a - b);
  const at = (share) => Math.round(took[Math.min(took.length - 1, Math.floor(share * took.length))]);
  return {
    "a second": Math.round(took.length / Number(seconds)),
    "p50 ms": at(0.5),
    "p99 ms": at(0.99),
    "worst ms": at(1),
    answers: took.length - wrong,
    wrong,
  };
}
console.table(rows);
console.log(`start to first answer: ${startUp.toFixed(0)} ms; summaries settled after ${settled.toFixed(0)} s`);
console.log(`memory: ${status("VmRSS").toFixed(0)} MiB now, ${status("VmHWM").toFixed(0)} MiB at most`);
server.kill("SIGTERM");
if (rows.some((row) => row.wrong)) throw new Error("some answers were wrong: the figures are worth nothing");
