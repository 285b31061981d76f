// What waits on this device: kept in IndexedDB, sent in order, each once. Used by pages and by the service worker.
// An entry's ids were made with it, so that the server knows what it has already: sending twice is harmless.

const DATABASE = "tubwright";
const KEPT = "queue";
const SEND_MS = 20000;

function database() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(DATABASE, 1);
    asked.onupgradeneeded = () => asked.result.createObjectStore(KEPT, { keyPath: "key" });
    asked.onsuccess = () => resolve(asked.result);
    asked.onerror = () => reject(asked.error);
  });
}

// One act on the store; done when the transaction is on the disk.
async function kept(mode, act) {
  const db = await database();
  try {
    return await new Promise((resolve, reject) => {
      const transaction = db.transaction(KEPT, mode, { durability: "strict" });
      const asked = act(transaction.objectStore(KEPT));
      transaction.oncomplete = () => resolve(asked.result);
      transaction.onerror = transaction.onabort = () => reject(transaction.error);
    });
  } finally {
    db.close();
  }
}

const keep = (entry) => kept("readwrite", (store) => store.put(entry));
const forget = (key) => kept("readwrite", (store) => store.delete(key));
const waiting = () => kept("readonly", (store) => store.getAll());
const find = (key) => kept("readonly", (store) => store.get(key));

// Text out of an answer's alert, or its heading. Without a parser: a worker has none.
function reasonIn(html) {
  const part = /role="alert"[^>]*>([\s\S]*?)<\/div>/.exec(html) || /<h1[^>]*>([\s\S]*?)<\/h1>/.exec(html);
  const plain = (part ? part[1] : "").replace(/<\/(p|li)>/g, " ").replace(/<[^>]*>/g, "");
  const marks = { "&lt;": "<", "&gt;": ">", "&quot;": '"', "&#39;": "'", "&amp;": "&" };
  return plain.replace(/&(lt|gt|quot|#39|amp);/g, (mark) => marks[mark]).replace(/\s+/g, " ").trim();
}

// Sends one. What became of it: "sent", "waiting", "sign-in", "another" (person is logged in) or "refused"; where the answer leads; why it was refused.
async function send(entry) {
  let answer;
  try {
    answer = await fetch(entry.action, {
      method: "POST",
      body: entry.body,
      headers: {
        "content-type": "application/x-www-form-urlencoded;charset=UTF-8",
        ...(entry.writer ? { "x-tubwright-writer": entry.writer } : {}),
      },
      signal: AbortSignal.timeout(SEND_MS),
    });
  } catch {
    return { state: "waiting" };
  }
  const url = answer.url;
  const toLogin = answer.redirected && new URL(url).pathname.startsWith("/login");
  if (toLogin || answer.status === 401) return { state: "sign-in" };
  // It was taken and led on to another page, whatever that page says.
  if (answer.ok || answer.redirected) return { state: "sent", url };
  if (answer.status === 408 || answer.status === 429 || answer.status >= 500) return { state: "waiting" };
  const reason = reasonIn(await answer.text().catch(() => "")) || `HTTP ${answer.status}`;
  return { state: answer.headers.has("x-tubwright-writer") ? "another" : "refused", reason };
}

// One sender at a time, among pages and worker, where the browser can say so.
function alone(act) {
  return navigator.locks ? navigator.locks.request("tubwright-queue", act) : act();
}

// Sends what waits, the oldest first. Stops at the first that finds no signal.
function sendAll() {
  return alone(async () => {
    const entries = (await waiting()).filter((entry) => entry.state !== "refused");
    for (const entry of entries.sort((a, b) => (a.key < b.key ? -1 : 1))) {
      const became = await send(entry);
      if (became.state === "sent") await forget(entry.key);
      else await keep({ ...entry, state: became.state, reason: became.reason || "" });
      if (became.state === "waiting" || became.state === "sign-in") return;
    }
  });
}
