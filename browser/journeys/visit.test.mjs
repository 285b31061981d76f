// From the weekly reading to the ticked plan, and from an empty book's new tub to its first plan.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PHONE, browser, enter, entries, open, serve, someTub } from "../harness.mjs";

let server, chrome;
before(async () => {
  server = await serve();
  chrome = await browser();
});
after(async () => {
  await chrome?.close();
  await server?.clear();
});

// Tubs whose plan adds something, the most urgent first.
async function tubToDose(page, skip = 0) {
  // Today's rows are worked out beside the requests: right after a start they may not all be there.
  await someTub(page, server.address);
  await page.goto(server.address);
  const paths = await page.locator("ol.tubs a").evaluateAll((links) => links.map((link) => link.getAttribute("href")));
  let found = 0;
  for (const path of paths) {
    const plan = await (await fetch(new URL(`${path}/plan`, server.address))).text();
    if (plan.includes('name="product"') && found++ === skip) return path;
  }
  throw new Error("no plan of the demonstration adds anything");
}

const doneSteps = async (tub) =>
  (await entries(server.book)).filter((entry) => entry.kind === "step-done" && tub.endsWith(entry.subject));

// The device sends a ticked step by itself, on the page that it was ticked on: there is no new address to wait for.
async function recorded(tub, before) {
  for (let tries = 0; tries < 50; tries++) {
    const done = await doneSteps(tub);
    if (done.length > before) return done.slice(before);
    await new Promise((wake) => setTimeout(wake, 200));
  }
  return [];
}

async function fillStep(page, grams) {
  const form = page.locator("form.tick-step", { has: page.locator("input[name=product]") }).first();
  const product = await form.locator("input[name=product]").inputValue();
  await form.locator("input[name=amount]").fill(String(grams));
  await form.locator("select[name=unit]").selectOption("g");
  return { form, product };
}

test("a weekly reading leads to the plan, and a ticked step records what was really added", async () => {
  const context = await chrome.newContext({ viewport: PHONE, hasTouch: true, isMobile: true });
  const page = await open(context);
  const tub = await tubToDose(page);
  await page.goto(new URL(tub, server.address).href);
  await page.getByRole("link", { name: "Enter a reading" }).first().click();
  // All that a dose hangs on: whatever the demonstration's readings have aged to, chlorine is wanting now.
  for (const [quantity, figure] of [["ph", "7.6"], ["free_chlorine", "0.5"], ["total_alkalinity", "9"]]) {
    await enter(page, quantity, figure);
  }
  await page.getByRole("button", { name: "Record" }).click();
  await page.waitForURL(`**${tub}/plan`);
  const before = (await doneSteps(tub)).length;
  const { form, product } = await fillStep(page, 12);
  await form.getByRole("button").click();
  const added = await recorded(tub, before);
  assert.deepEqual(added.map((entry) => [entry.body.product, entry.body.mass_g]), [[product, 12]]);
  assert.deepEqual(page.faults, []);
  await context.close();
});

test("a step ticked without a signal is recorded once, with the time at which it was done", async () => {
  const context = await chrome.newContext({ viewport: PHONE, hasTouch: true, isMobile: true });
  const page = await open(context);
  const tub = await tubToDose(page, 1);
  const plan = new URL(`${tub}/plan`, server.address).href;
  await page.goto(plan);
  await page.evaluate(() => navigator.serviceWorker.ready);
  await page.waitForFunction(() => navigator.serviceWorker.controller);
  await page.goto(plan);
  const kept = (path) => caches.open("pages").then((cache) => cache.match(path)).then(Boolean);
  await page.waitForFunction(kept, `${tub}/plan`);
  const before = (await doneSteps(tub)).length;
  await context.setOffline(true);
  await page.goto(plan);
  const { form } = await fillStep(page, 9);
  const moment = Date.now();
  await form.getByRole("button").click();
  await page.getByText("Kept on this device").waitFor();
  // Shown again, still without a signal: the step is not offered a second time.
  await page.goto(plan);
  await page.waitForFunction(() => document.querySelector("form.tick-step.waits"));
  await context.setOffline(false);
  await page.goto(new URL("/waiting", server.address).href);
  await page.getByText("Nothing waits on this device").waitFor();
  const added = (await doneSteps(tub)).slice(before);
  assert.deepEqual(added.map((entry) => entry.body.mass_g), [9]);
  assert.ok(Math.abs(added[0].at_us / 1000 - moment) < 1500, "its true time");
  await context.close();
});

for (const [how, options] of [["with script", {}], ["without script", { javaScriptEnabled: false }]]) {
  test(`a fill is commissioned on a phone, from the new tub to its first plan (${how})`, async () => {
    const context = await chrome.newContext({ viewport: PHONE, ...options });
    const page = await open(context);
    await page.goto(new URL("/tubs/new", server.address).href);
    await page.locator("#f-name").fill("Journey's End (invented)");
    await page.locator("#f-volume").fill("1200");
    await page.locator("#f-regime").selectOption("chlorine");
    await page.locator("#f-source_ph").fill("7.7");
    await page.locator("#f-source_alkalinity").fill("180");
    await page.locator("#f-source_hardness").fill("220");
    for (const product of ["sodium-bisulfate", "dichlor"]) await page.locator(`[id="f-has.${product}"]`).check();
    await page.locator("form.tub button.first").click();
    await page.waitForURL(/\/tubs\/[0-9a-f-]{36}$/);
    const tub = new URL(page.url()).pathname;
    await page.getByRole("link", { name: "Enter a reading" }).first().click();
    for (const [quantity, figure] of [["ph", "7.8"], ["free_chlorine", "0.5"], ["total_alkalinity", "18"], ["calcium_hardness", "22"]]) {
      await enter(page, quantity, figure);
    }
    await page.getByRole("button", { name: "Record" }).click();
    await page.waitForURL(`**${tub}/plan`);
    const steps = page.locator("form.tick-step");
    assert.ok((await steps.count()) > 0, "the plan has steps to do");
    // Whoever is told to handle chemicals is told what to beware of.
    assert.match(await page.locator("main").innerText(), /label/i);
    assert.match(await page.locator("main").innerText(), /goggles/i);
    const { form } = await fillStep(page, 5);
    await form.getByRole("button").click();
    const done = await recorded(tub, 0);
    assert.equal(done.length, 1);
    assert.equal(done[0].body.mass_g, 5);
    await context.close();
  });
}
