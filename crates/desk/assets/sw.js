// The service worker: pages that were opened on this device can be read without a signal, and what waits is sent when
// there is one. Pages come from the network first; the copy says that it is one.

const SHELL = "shell-__VERSION__";
const PAGES = "pages";
const ASSETS = ["__STYLE__", "__SCRIPT__", "/offline", "/waiting"];
const PATIENCE_MS = 6000;
const PAGES_MOST = 150;
// Not needed at a tub's side, or nobody else's business on a lost phone.
const NEVER_KEPT = /^\/(api|book|login|logout|me|o|people|setup)(\/|$)|\.(pdf|csv|ndjson)$/;

self.addEventListener("install", (event) => {
  event.waitUntil(caches.open(SHELL).then((cache) => cache.addAll(ASSETS)).then(() => self.skipWaiting()));
});

self.addEventListener("activate", (event) => {
  const old = (name) => name.startsWith("shell-") && name !== SHELL;
  const clear = caches.keys().then((names) => Promise.all(names.filter(old).map((name) => caches.delete(name))));
  event.waitUntil(clear.then(() => self.clients.claim()));
});

self.addEventListener("sync", (event) => {
  if (event.tag === "queue") event.waitUntil(sendAll().then(tellPages));
});

async function tellPages() {
  for (const page of await self.clients.matchAll()) page.postMessage("queue");
}

self.addEventListener("fetch", (event) => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== self.location.origin) return;
  // Who signs out leaves no copies behind; what waits stays.
  if (request.method === "POST" && url.pathname === "/logout") event.waitUntil(caches.delete(PAGES));
  if (request.method !== "GET") return;
  if (url.pathname.startsWith("/assets/")) event.respondWith(asset(event));
  else if (request.mode === "navigate" && !NEVER_KEPT.test(url.pathname)) event.respondWith(page(event, url));
});

async function asset(event) {
  const cache = await caches.open(SHELL);
  const had = await cache.match(event.request);
  if (had) return had;
  const answer = await fetch(event.request);
  if (answer.ok) event.waitUntil(cache.put(event.request, answer.clone()));
  return answer;
}

async function page(event, url) {
  const had = await (await caches.open(PAGES)).match(event.request);
  const fetched = fetch(event.request);
  try {
    const late = had && new Promise((_, reject) => setTimeout(() => reject(new Error("late")), PATIENCE_MS));
    const answer = await (late ? Promise.race([fetched, late]) : fetched);
    if (answer.ok && !answer.redirected && !url.search) {
      event.waitUntil(keepPage(url.pathname, answer.clone()).then(() => keepBeside(url.pathname)).catch(() => {}));
    }
    return answer;
  } catch {
    fetched.catch(() => {});
    if (had) return asCopy(had);
    const shell = await caches.open(SHELL);
    return (await shell.match(url.pathname)) || (await shell.match("/offline")) || Response.error();
  }
}

async function keepPage(path, answer) {
  if (!(answer.headers.get("content-type") || "").startsWith("text/html")) return;
  const cache = await caches.open(path === "/waiting" || path === "/offline" ? SHELL : PAGES);
  // Put takes the old copy's place in one step: there is no moment without one.
  await cache.put(path, answer);
  const keys = await cache.keys();
  if (keys.length > PAGES_MOST) await cache.delete(keys[0]);
}

// With a tub come the pages that are needed at its side.
async function keepBeside(path) {
  const tub = /^\/tubs\/[0-9a-f-]{36}(?=$|\/(?:reading|plan)$)/.exec(path);
  if (!tub) return;
  for (const place of ["", "/reading", "/plan"]) {
    const other = tub[0] + place;
    if (other === path) continue;
    const answer = await fetch(other, { redirect: "manual" });
    if (answer.ok) await keepPage(other, answer);
  }
}

// The copy with its line that it is one.
async function asCopy(had) {
  const text = (await had.text()).replace('id="stale" hidden', 'id="stale"');
  const headers = new Headers(had.headers);
  headers.delete("content-encoding");
  headers.delete("content-length");
  return new Response(text, { status: had.status, headers });
}
