// A visit by the keyboard alone: Tab, Shift+Tab, Enter, Space, arrows and typing. Nothing is clicked or filled in.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { DESK, PHONE, browser, entries, open, serve, someTub } from "../harness.mjs";
import { routes } from "../routes.mjs";

// More stops than any page has.
const STOPS_MOST = 600;

let server, chrome;
before(async () => {
  server = await serve();
  chrome = await browser();
});
after(async () => {
  await chrome?.close();
  await server?.clear();
});

// What has the focus, and whether that can be seen: an outline, on the screen, not under something that stays in place.
const focused = (page) =>
  page.evaluate(() => {
    const e = document.activeElement;
    const { outlineStyle, outlineWidth } = getComputedStyle(e);
    const box = e.getBoundingClientRect();
    const x = box.left + Math.min(box.width, innerWidth) / 2;
    const uncovered = (y) => {
      const over = document.elementFromPoint(x, y);
      return over && (e === over || e.contains(over) || over.contains(e) || e.labels?.[0]?.contains(over));
    };
    // Of what is taller than the screen a part is enough (WCAG 2.2, 2.4.11).
    const seen = [box.top + 3, box.top + box.height / 2, box.bottom - 3].some(uncovered);
    return {
      body: e === document.body,
      id: e.id,
      name: e.getAttribute("name"),
      tag: e.tagName,
      type: e.getAttribute("type"),
      text: e.innerText?.trim() ?? "",
      path: e.href ? new URL(e.href).pathname : null,
      step: e.form?.elements.namedItem("product") ? e.form.elements.namedItem("step")?.value : null,
      main: Boolean(e.closest("main")),
      outlined: outlineStyle !== "none" && parseFloat(outlineWidth) >= 2,
      seen,
      html: e.outerHTML.slice(0, 120),
    };
  });

const visible = (at, where) => {
  assert.ok(at.outlined, `${where}: no outline on ${at.html}`);
  assert.ok(at.seen, `${where}: the focus is hidden on ${at.html}`);
};

// Tab, or Shift+Tab, until something wanted has the focus; every stop on the way can be seen.
async function tabTo(page, wanted, key = "Tab") {
  for (let n = 0; n < STOPS_MOST; n++) {
    await page.keyboard.press(key);
    const at = await focused(page);
    if (at.body) continue;
    visible(at, page.url());
    if (wanted(at)) return at;
  }
  return assert.fail(`${page.url()}: ${STOPS_MOST} times ${key} did not reach ${wanted}`);
}

const link = (path) => (at) => at.tag === "A" && at.main && at.path === path;
const field = (name) => (at) => at.name === name && at.type !== "hidden";
const press = (page, key) => page.keyboard.press(key);

// Enter on what has the focus, and the page that it leads to.
async function follow(page, url) {
  await Promise.all([page.waitForURL(url), press(page, "Enter")]);
  await page.waitForLoadState("load");
}

async function typeOver(page, text) {
  await press(page, "Control+A");
  await page.keyboard.type(text);
}

// The first tub of Today whose plan adds something.
async function tubToDose(page) {
  await someTub(page, server.address);
  await page.goto(server.address);
  for (const a of await page.locator("ol.tubs a").all()) {
    const path = await a.getAttribute("href");
    const plan = await (await fetch(new URL(`${path}/plan`, server.address))).text();
    if (plan.includes('name="product"')) return [path, await a.locator(".tub").innerText()];
  }
  throw new Error("no plan of the demonstration adds anything");
}

async function recorded(kind, subject, before) {
  for (let tries = 0; tries < 50; tries++) {
    const all = (await entries(server.book)).filter((e) => e.kind === kind && subject.endsWith(e.subject));
    if (all.length > before) return all.slice(before);
    await new Promise((wake) => setTimeout(wake, 200));
  }
  return [];
}

test("from Today to a tub, its plan, a ticked step, a what-if, a reason and the sheet", async () => {
  const context = await chrome.newContext({ viewport: PHONE });
  const page = await open(context);
  const [tub, name] = await tubToDose(page);
  await page.goto(server.address);

  // The first stop skips the navigation.
  await press(page, "Tab");
  assert.equal((await focused(page)).text, "Skip to the content");
  await press(page, "Enter");
  await tabTo(page, (at) => at.id === "q");
  await page.keyboard.type(name);
  await follow(page, (url) => url.searchParams.get("q") === name);
  await tabTo(page, link(tub));
  await follow(page, `**${tub}`);
  await tabTo(page, link(`${tub}/plan`));
  await follow(page, `**${tub}/plan`);

  const before = (await entries(server.book)).filter((e) => e.kind === "step-done" && tub.endsWith(e.subject)).length;
  const { step } = await tabTo(page, (at) => at.name === "amount" && at.step);
  await typeOver(page, "11");
  await tabTo(page, (at) => at.name === "unit" && at.step === step);
  // The unit's words begin with its letter: a list takes what is typed.
  await page.keyboard.type("gram");
  assert.equal(await page.evaluate(() => document.activeElement.value), "g");
  // Back and forth: nothing holds the focus.
  await tabTo(page, (at) => at.name === "amount" && at.step === step, "Shift+Tab");
  await tabTo(page, (at) => at.tag === "BUTTON" && at.step === step);
  await press(page, "Space");
  const done = await recorded("step-done", tub, before);
  assert.deepEqual(done.map((e) => e.body.mass_g), [11]);
  await page.locator("section.done").waitFor();

  await page.waitForLoadState("load");
  await tabTo(page, link(`${tub}/what-if`));
  await follow(page, (url) => url.pathname === `${tub}/what-if`);
  const slider = await tabTo(page, (at) => at.type === "range" && at.tag === "INPUT");
  const told = () => page.locator("#what-if-water").innerText();
  const was = await told();
  const number = () => page.evaluate(() => document.getElementById(document.activeElement.dataset.for).value);
  const least = Number(await number());
  for (let n = 0; n < 40; n++) await press(page, "ArrowRight");
  assert.ok(Number(await number()) > least, "the number follows the slider");
  await page.waitForFunction((text) => document.querySelector("#what-if-water").innerText !== text, was);
  assert.equal((await focused(page)).html, slider.html, "the focus stays on the slider while the answer is put in");
  visible(await focused(page), "the slider after the answer");

  await tabTo(page, link(`${tub}`), "Shift+Tab");
  await follow(page, `**${tub}`);
  const why = await tabTo(page, (at) => at.path?.startsWith(`${tub}/why/`));
  await follow(page, `**${why.path}`);
  await tabTo(page, link(tub));
  await follow(page, `**${tub}`);
  await tabTo(page, link(`${tub}/sheet`));
  await follow(page, `**${tub}/sheet`);
  assert.deepEqual(page.faults, []);
  await context.close();
});

test("a product is put on a shelf, and a fill is commissioned", async () => {
  const context = await chrome.newContext({ viewport: DESK });
  const page = await open(context);
  await page.goto(new URL("/shelves?of=van", server.address).href);
  const { path: shelf } = await tabTo(page, (at) => /^\/shelves\/[0-9a-f-]{36}$/.test(at.path));
  const before = (await entries(server.book)).filter((e) => e.kind === "shelf" && shelf.endsWith(e.subject)).length;
  await follow(page, `**${shelf}`);
  await tabTo(page, link(`${shelf}/products/new`));
  await follow(page, `**${shelf}/products/new`);
  await tabTo(page, field("chemical"));
  await page.keyboard.type("boric");
  await tabTo(page, field("name"));
  await page.keyboard.type("white powder (invented)");
  await tabTo(page, field("measure.kind"));
  await page.keyboard.type("kitchen");
  await press(page, "Tab");
  await tabTo(page, (at) => at.tag === "BUTTON" && at.type === "submit" && at.main);
  await follow(page, `**${shelf}`);
  const [now] = (await recorded("shelf", shelf, before)).slice(-1);
  assert.ok(now.body.products.some((p) => p.name === "white powder (invented)"), "the product stands on the shelf");

  await page.goto(new URL("/", server.address).href);
  await tabTo(page, link("/tubs/new"));
  await follow(page, "**/tubs/new");
  for (const [name, typed] of [["name", "Keys Only (invented)"], ["volume", "1100"], ["source_ph", "7.6"], ["source_alkalinity", "120"], ["source_hardness", "150"]]) {
    await tabTo(page, field(name));
    await page.keyboard.type(typed);
    if (name === "volume") {
      await tabTo(page, field("regime"));
      await page.keyboard.type("chlorine");
    }
  }
  await tabTo(page, field("has.dichlor"));
  await press(page, "Space");
  assert.ok(await page.evaluate(() => document.activeElement.checked));
  await tabTo(page, (at) => at.tag === "BUTTON" && at.main);
  await follow(page, /\/tubs\/[0-9a-f-]{36}$/);
  const tub = new URL(page.url()).pathname;
  const fills = (await recorded("event", tub, 0)).filter((e) => e.body.kind === "fill");
  assert.equal(fills.length, 1);

  // The water is changed: a new fill is one more event.
  await tabTo(page, (at) => at.tag === "SUMMARY" && at.text === "Something else happened");
  await press(page, "Enter");
  await tabTo(page, field("kind"));
  await page.keyboard.type("filled");
  assert.equal(await page.evaluate(() => document.activeElement.value), "fill");
  await tabTo(page, (at) => at.tag === "BUTTON" && at.main);
  await press(page, "Enter");
  const again = await recorded("event", tub, fills.length);
  assert.deepEqual(again.map((e) => e.body.kind), ["fill"]);
  assert.deepEqual(page.faults, []);
  await context.close();
});

test("without a signal a ticked step leaves the focus on what is said of it, and so does throwing it away", async () => {
  const context = await chrome.newContext({ viewport: PHONE });
  const page = await open(context);
  const [tub] = await tubToDose(page);
  const plan = new URL(`${tub}/plan`, server.address).href;
  for (const page_of of [plan, new URL("/waiting", server.address).href]) {
    await page.goto(page_of);
    await page.evaluate(() => navigator.serviceWorker.ready);
    await page.waitForFunction(() => navigator.serviceWorker.controller);
  }
  await page.goto(plan);
  await context.setOffline(true);
  await tabTo(page, (at) => at.tag === "BUTTON" && at.step);
  await press(page, "Enter");
  await page.getByText("Kept on this device").waitFor();
  await page.waitForFunction(() => document.activeElement.matches("#waiting a"));
  // The worker tells of what it could not send, and the line is told anew.
  const again = () => page.evaluate(async () => {
    navigator.serviceWorker.dispatchEvent(new MessageEvent("message"));
    await new Promise((wake) => setTimeout(wake, 300));
  });
  await again();
  visible(await focused(page), "after a step was kept");
  await follow(page, "**/waiting");
  const drop = await tabTo(page, (at) => at.tag === "BUTTON" && at.main && at.type !== "submit");
  await press(page, "Enter");
  const asked = (await focused(page)).text;
  assert.notEqual(asked, drop.text, "it asks whether that is meant");
  await again();
  assert.equal((await focused(page)).text, asked, "the question stands, whatever is told in the meantime");
  await press(page, "Enter");
  await page.waitForFunction(() => document.activeElement.matches("#queue [data-empty]"));
  await context.close();
});

// What can be tabbed to in main, in the document's order; of radio buttons of one name one is a stop.
const focusable = (page) =>
  page.evaluate(() => {
    const at = "a[href], button, input:not([type=hidden]), select, textarea, summary, [tabindex]";
    const shown = [...document.querySelectorAll("main :is(" + at + ")")].filter(
      (e) => !e.disabled && e.tabIndex >= 0 && e.checkVisibility({ visibilityProperty: true }),
    );
    const group = (e) => shown.filter((o) => o.type === "radio" && o.name === e.name && o.form === e.form);
    const stop = (e) => (group(e).find((o) => o.checked) ?? group(e)[0]) === e;
    window.stops = shown.filter((e) => e.type !== "radio" || stop(e));
    return window.stops.length;
  });

test("on every page each interactive element is reached by Tab, in order, and seen", async (t) => {
  const context = await chrome.newContext({ viewport: PHONE });
  const page = await open(context);
  const places = await routes(page, server.address, await someTub(page, server.address));
  const wrong = [];
  let all = 0;
  for (const [name, path] of places) {
    await page.goto(new URL(path, server.address).href, { waitUntil: "load" });
    const count = await focusable(page);
    const reached = [];
    let entered = false;
    for (let n = 0; n < STOPS_MOST; n++) {
      await page.keyboard.press("Tab");
      const at = await focused(page);
      if (at.main) {
        entered = true;
        if (!at.outlined || !at.seen) wrong.push(`${name}: ${at.outlined ? "hidden" : "no outline"}: ${at.html}`);
        const index = await page.evaluate(() => window.stops.indexOf(document.activeElement));
        if (index < 0) wrong.push(`${name}: a stop that is none: ${at.html}`);
        // A date has a stop for each of its parts.
        if (reached.at(-1) !== index) reached.push(index);
      } else if (entered || at.body) break;
    }
    all += count;
    const expected = [...Array(count).keys()];
    if (reached.join() !== expected.join()) wrong.push(`${name}: ${count} elements, reached ${reached.join()}`);
  }
  t.diagnostic(`${places.length} pages, ${all} stops`);
  assert.deepEqual(wrong, []);
  await context.close();
});
