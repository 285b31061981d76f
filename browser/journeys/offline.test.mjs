// Offline and back: what is entered without a signal is in the book once, with its true time, whatever happens between.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PHONE, browser, enter, entries, open, row, serve, someTub } from "../harness.mjs";

// Which quantity stands first depends on what the tub's plan wants tested.
const typed = (page) => row(page, "ph").locator("input[type=text]").first();

let server, chrome;
before(async () => {
  server = await serve();
  chrome = await browser();
});
after(async () => {
  await chrome?.close();
  await server?.clear();
});

const phone = () => chrome.newContext({ viewport: PHONE, hasTouch: true, isMobile: true });
const seconds = (n) => new Promise((resolve) => setTimeout(resolve, 1000 * n));

async function readyForOffline(page, address, tub) {
  await page.goto(address);
  await page.evaluate(() => navigator.serviceWorker.ready);
  await page.waitForFunction(() => navigator.serviceWorker.controller);
  await page.goto(new URL(tub, address).href);
  const kept = (path) => caches.open("pages").then((cache) => cache.match(path)).then(Boolean);
  await page.waitForFunction(kept, `${tub}/reading`);
  await page.waitForFunction(kept, tub);
  // What comes with a tub is still being fetched: the plan is the last of it.
  await page.waitForFunction(kept, `${tub}/plan`);
}

const readingsOf = async (tub) => {
  const all = await entries(server.book);
  return all.filter((entry) => entry.kind === "reading" && tub.endsWith(entry.subject));
};

test("readings entered without a signal are in the book once each, with their true times", async () => {
  const context = await phone();
  let page = await open(context);
  const tub = await someTub(page, server.address);
  const before = await readingsOf(tub);
  await readyForOffline(page, server.address, tub);

  await context.setOffline(true);
  await page.goto(new URL(`${tub}/reading`, server.address).href);
  assert.match(await page.locator("#stale").innerText(), /No signal\. This page is shown as of/);
  const times = [];
  for (const [ph, chlorine] of [["7.4", "3"], ["7.5", "2"]]) {
    await enter(page, "ph", ph);
    await enter(page, "free_chlorine", chlorine);
    times.push(Date.now());
    await page.getByRole("button", { name: "Record" }).click();
    await page.getByText("Kept on this device").waitFor();
    await seconds(1.5);
  }
  assert.match(await page.locator("#waiting").innerText(), /2 entries wait for a signal/);
  assert.deepEqual(page.faults, []);

  // The page is killed; another one is opened while there is still no signal.
  await page.close();
  page = await open(context);
  await page.goto(new URL("/waiting", server.address).href);
  await page.locator("ul.queued > li").nth(1).waitFor(); // listed from the device's store, after the page itself
  assert.equal(await page.locator("ul.queued > li").count(), 2);
  assert.equal((await readingsOf(tub)).length, before.length);

  await context.setOffline(false);
  await page.getByText("Nothing waits on this device").waitFor();
  const added = (await readingsOf(tub)).slice(before.length);
  assert.deepEqual(
    added.map((entry) => [entry.body.quantity, entry.body.value]),
    [["ph", 7.4], ["free_chlorine", 3], ["ph", 7.5], ["free_chlorine", 2]],
  );
  for (const [n, entry] of added.entries()) {
    const late = Math.abs(entry.at_us / 1000 - times[Math.floor(n / 2)]);
    assert.ok(late < 1500, `entry ${n} is ${late} ms from the moment it was recorded`);
  }

  // Sent once more, by a page that comes back with the same queue: nothing is doubled.
  await page.reload();
  await seconds(1);
  assert.equal((await readingsOf(tub)).length, before.length + 4);
  assert.deepEqual(page.faults, []);
  await context.close();
});

test("an answer that never arrives leaves the entry waiting, and sending it again does not double it", async () => {
  const context = await phone();
  const page = await open(context);
  const tub = await someTub(page, server.address);
  const before = await readingsOf(tub);
  await page.goto(new URL(`${tub}/reading`, server.address).href);
  await enter(page, "ph", "7.6");
  // The request reaches the book; its answer is lost on the way back.
  let lost = 0;
  await page.route(`**${tub}/reading`, async (route) => {
    if (route.request().method() !== "POST" || lost) return route.fallback();
    lost += 1;
    await fetch(route.request().url(), {
      method: "POST",
      body: route.request().postData(),
      headers: { "content-type": "application/x-www-form-urlencoded", origin: new URL(server.address).origin },
      redirect: "manual",
    });
    return route.abort("connectionreset");
  });
  await page.getByRole("button", { name: "Record" }).click();
  await page.waitForFunction(() => document.getElementById("figure-0").value === "");
  while (!lost) await seconds(0.1);
  assert.equal((await readingsOf(tub)).length, before.length + 1);
  await page.goto(new URL("/waiting", server.address).href);
  await page.getByText("Nothing waits on this device").waitFor();
  assert.equal((await readingsOf(tub)).length, before.length + 1);
  await context.close();
});

test("a refused entry stays on the device with its reason, can be edited, and is sent then", async () => {
  const context = await phone();
  const page = await open(context);
  const tub = await someTub(page, server.address);
  const before = await readingsOf(tub);
  await readyForOffline(page, server.address, tub);
  await context.setOffline(true);
  await page.goto(new URL(`${tub}/reading`, server.address).href);
  // Now and then, and only in a long run, the copy is not found the first time; why is not known yet.
  if (!(await typed(page).count())) {
    console.log("the copy was not there:", await page.locator("h1").innerText());
    await context.setOffline(false);
    await readyForOffline(page, server.address, tub);
    await context.setOffline(true);
    await page.goto(new URL(`${tub}/reading`, server.address).href);
  }
  await typed(page).fill("76");
  const moment = Date.now();
  await page.getByRole("button", { name: "Record" }).click();
  await page.getByText("Kept on this device").waitFor();
  await context.setOffline(false);
  await page.goto(new URL("/waiting", server.address).href);
  await page.locator("ul.queued").getByText("was refused:").waitFor();
  assert.match(await page.locator("ul.queued").innerText(), /4 to 11/);
  assert.equal((await readingsOf(tub)).length, before.length);
  await seconds(2);
  await page.getByRole("button", { name: "Open and edit" }).click();
  await typed(page).fill("7.6");
  await page.getByRole("button", { name: "Record" }).click();
  await page.waitForURL(`**${tub}/plan`);
  const added = (await readingsOf(tub)).slice(before.length);
  assert.deepEqual(added.map((entry) => entry.body.value), [7.6]);
  assert.ok(Math.abs(added[0].at_us / 1000 - moment) < 1500, "the time is that of the reading, not of the edit");
  await page.goto(new URL("/waiting", server.address).href);
  await page.getByText("Nothing waits on this device").waitFor();
  await context.close();
});

test("with the program gone and back, a page says that it is a copy, and what waits is sent", async () => {
  const context = await phone();
  const page = await open(context);
  const tub = await someTub(page, server.address);
  const before = await readingsOf(tub);
  await readyForOffline(page, server.address, tub);
  await server.stop();
  await page.goto(new URL(`${tub}/reading`, server.address).href);
  assert.ok(await page.locator("#stale").isVisible());
  await enter(page, "ph", "7.3");
  await page.getByRole("button", { name: "Record" }).click();
  await page.getByText("Kept on this device").waitFor();
  const again = await serve({ port: server.port, book: server.book });
  server.stop = again.stop;
  await page.goto(server.address);
  assert.ok(await page.locator("#stale").isHidden());
  await page.goto(new URL("/waiting", server.address).href);
  await page.getByText("Nothing waits on this device").waitFor();
  assert.equal((await readingsOf(tub)).length, before.length + 1);
  await context.close();
});

test("a page that was never opened says so without a signal", async () => {
  const context = await phone();
  const page = await open(context);
  await page.goto(server.address);
  await page.evaluate(() => navigator.serviceWorker.ready);
  await page.waitForFunction(() => navigator.serviceWorker.controller);
  await context.setOffline(true);
  await page.goto(new URL("/tubs/0190a0b0-0000-7000-8000-000000000001", server.address).href);
  assert.match(await page.locator("h1").innerText(), /No signal/);
  await context.close();
});
