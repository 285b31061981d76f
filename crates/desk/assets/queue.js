// Forms marked `data-queue`: kept on the device first, then sent. Without a signal they wait, with their true times.

const root = document.documentElement;
root.classList.add("js");

// A UUID of version 7 (RFC 9562): the time in milliseconds, then chance.
function id(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let i = 5, rest = now; i >= 0; i--, rest = Math.floor(rest / 256)) bytes[i] = rest % 256;
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}

const local = (when) => new Date(when - when.getTimezoneOffset() * 60000).toISOString().slice(0, 16);
const forms = () => [...document.querySelectorAll("form[data-queue]")];
const part = (form, what) => form.querySelector(`[data-${what}]`);

// A page may be an old copy: its ids and its time are made anew when it is shown.
function freshen(form) {
  for (const input of form.querySelectorAll("input[data-id], input[name=id]")) input.value = id();
  if ("keepTime" in form.dataset) return;
  const at = part(form, "at");
  const shown = part(form, "shown");
  if (at && shown) at.value = shown.value = local(new Date());
}

// The moment of sending is the moment of the reading, unless the person set another.
function stamp(form) {
  const noted = form.elements.namedItem("at_us");
  if (noted && !("keepTime" in form.dataset)) {
    const when = form.elements.namedItem("when")?.value;
    noted.value = (when ? new Date(when) : new Date()).getTime() * 1000;
  }
  const moment = part(form, "moment");
  if (!moment) return;
  const at = part(form, "at");
  const shown = part(form, "shown");
  if (at && shown && at.value !== shown.value && at.value) {
    moment.value = new Date(at.value).toISOString();
    shown.value = at.value;
    form.dataset.keepTime = "";
  } else if (!("keepTime" in form.dataset)) {
    moment.value = new Date().toISOString();
  }
}

const line = document.getElementById("waiting");
let savedHere = false;

// How much waits, on every page.
async function tell(saved = false) {
  if (!line) return;
  savedHere ||= saved;
  const entries = await waiting().catch(() => []);
  const refused = entries.filter((entry) => entry.state === "refused").length;
  const count = entries.length - refused;
  const words = (n, one, many) => (n === 1 ? one : many.replace("{n}", n));
  const { one, many, refusedOne, refusedMany } = line.dataset;
  const said = [];
  if (count) said.push(words(count, one, many));
  if (refused) said.push(words(refused, refusedOne, refusedMany));
  const before = savedHere && count ? `${line.dataset.saved} ` : "";
  const told = said.join(" · ");
  line.hidden = !told;
  // What stands already is left alone: its link may have the focus.
  if (line.textContent !== before + told) {
    line.replaceChildren();
    if (told) {
      const link = document.createElement("a");
      link.href = "/waiting";
      link.textContent = told;
      line.append(before, link);
    }
  }
  for (const form of forms()) mark(form, entries);
}

// A step that was done and waits is not offered again.
function mark(form, entries) {
  const step = form.elements.namedItem("step")?.value;
  if (!step) return;
  const same = (entry) => new URLSearchParams(entry.body).get("step") === step;
  const waits = entries.some((e) => e.state !== "refused" && e.action === form.action && e.page === location.pathname && same(e));
  for (const button of form.querySelectorAll("button")) button.disabled = waits;
  form.classList.toggle("waits", waits);
}

// As the person knows it: the form's own title, or what the button says on which page.
function titleOf(form, submitter) {
  const heading = document.querySelector("h1")?.innerText || document.title;
  return form.dataset.queueTitle || [heading, submitter?.innerText].filter(Boolean).join(": ");
}

function momentOf(form) {
  const noted = form.elements.namedItem("at_us")?.value;
  if (noted) return new Date(Number(noted) / 1000).toISOString();
  return part(form, "moment")?.value || new Date().toISOString();
}

async function submit(form, submitter) {
  stamp(form);
  const body = new URLSearchParams(new FormData(form, submitter)).toString();
  const entry = {
    key: id(),
    action: form.action,
    page: location.pathname,
    title: titleOf(form, submitter),
    at: momentOf(form),
    state: "waiting",
    reason: "",
    // Whose page it was written on: nobody else's name may come to stand under it.
    writer: line?.dataset.writer || "",
    body,
  };
  try {
    await keep(entry);
  } catch {
    // No store on this device: as without script.
    HTMLFormElement.prototype.submit.call(form);
    return;
  }
  const instead = sessionStorage.getItem("instead");
  if (instead) {
    const old = await find(instead);
    if (old && old.action === form.action) await forget(instead);
    sessionStorage.removeItem("instead");
  }
  const became = navigator.onLine ? await alone(() => send(entry)) : { state: "waiting" };
  if (became.state === "sent") {
    await forget(entry.key);
    location.assign(became.url);
  } else if (became.state === "refused") {
    await forget(entry.key);
    // The server shows the form again with what is wrong.
    HTMLFormElement.prototype.submit.call(form);
  } else if (became.state === "another") {
    await keep({ ...entry, ...became });
    location.assign("/waiting");
  } else if (became.state === "sign-in") {
    await keep({ ...entry, state: "sign-in" });
    location.assign("/login?next=/waiting");
  } else {
    form.reset();
    delete form.dataset.keepTime;
    freshen(form);
    for (const result of form.querySelectorAll(".result")) result.replaceChildren();
    await tell(true);
    line?.scrollIntoView({ block: "center" });
    // The button that was pressed may be out of use now: the keyboard goes on from what is said of it.
    line?.querySelector("a")?.focus({ preventScroll: true });
    askWorker();
  }
}

// Where the browser can, it sends later even if the page is closed.
async function askWorker() {
  const worker = await navigator.serviceWorker?.ready;
  await worker?.sync?.register("queue").catch(() => {});
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.matches("form[data-queue]") || event.submitter?.matches("[data-no-queue]")) return;
  if (form.querySelector("input[type=file]")) return;
  event.preventDefault();
  if (form.dataset.sending) return;
  form.dataset.sending = "yes";
  submit(form, event.submitter).finally(() => delete form.dataset.sending);
});

async function sendNow() {
  await sendAll().catch(() => {});
  await tell();
  await list();
}

// The page of what waits.
async function list() {
  const box = document.getElementById("queue");
  if (!box) return;
  const entries = (await waiting().catch(() => [])).sort((a, b) => (a.at < b.at ? -1 : 1));
  box.querySelector("[data-empty]").hidden = entries.length > 0;
  box.querySelector("[data-some]").hidden = entries.length === 0;
  const when = new Intl.DateTimeFormat(root.lang, { dateStyle: "long", timeStyle: "short" });
  const ul = box.querySelector("ul");
  const shown = new Map([...ul.children].map((item) => [item.dataset.shown, item]));
  const rows = entries.map((entry) => shown.get(shownAs(entry)) ?? row(entry, box.dataset, when));
  for (const item of shown.values()) if (!rows.includes(item)) item.remove();
  // Rows that stay are not moved: one may have the focus, or have asked whether throwing away is meant.
  for (const [n, item] of rows.entries()) if (ul.children[n] !== item) ul.insertBefore(item, ul.children[n] ?? null);
}

// An entry and all that its row says of it that can change.
const shownAs = (entry) => [entry.key, entry.state, entry.reason].join(" ");

function row(entry, words, when) {
  const add = (parent, tag, text) => {
    const made = parent.appendChild(document.createElement(tag));
    made.textContent = text;
    return made;
  };
  const item = document.createElement("li");
  item.dataset.shown = shownAs(entry);
  add(item, "strong", entry.title);
  add(item, "p", when.format(new Date(entry.at)));
  const state = { waiting: words.waiting, "sign-in": words.signIn, refused: `${words.refused} ${entry.reason}`, another: entry.reason };
  add(item, "p", state[entry.state]);
  const actions = add(item, "div", "");
  actions.className = "actions";
  if (entry.state === "refused" || entry.state === "another") {
    add(actions, "button", words.edit).onclick = () => edit(entry);
  }
  const drop = add(actions, "button", words.drop);
  drop.onclick = async () => {
    if (drop.dataset.sure) {
      await forget(entry.key);
      await tell();
      await list();
      refocus();
    } else {
      drop.dataset.sure = "yes";
      drop.textContent = words.dropSure;
    }
  };
  return item;
}

// After an entry was thrown away with its button, the keyboard goes on from the next one, or from the words that none waits.
function refocus() {
  const box = document.getElementById("queue");
  const words = box.querySelector("[data-empty]");
  words.tabIndex = -1;
  (box.querySelector("ul button") || words).focus();
}

// The server shows the form again as it was sent; what is sent from there stands instead.
function edit(entry) {
  sessionStorage.setItem("instead", entry.key);
  const form = document.createElement("form");
  form.method = "post";
  form.action = entry.action;
  for (const [name, value] of [...new URLSearchParams(entry.body)].filter(([name]) => name !== "do").concat([["do", "check"]])) {
    const input = form.appendChild(document.createElement("input"));
    input.type = "hidden";
    input.name = name;
    input.value = value;
  }
  document.body.append(form);
  form.submit();
}

document.querySelector("[data-send]")?.addEventListener("click", sendNow);
window.addEventListener("online", sendNow);
window.addEventListener("pageshow", () => forms().forEach(freshen));
navigator.serviceWorker?.addEventListener("message", () => {
  tell();
  list();
});
navigator.serviceWorker?.register("/sw.js").catch(() => {});
tell();
list();
sendNow();
