// A session that ends while there is no signal loses nothing: what was entered waits until somebody logs in again.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PHONE, account, browser, enter, entries, open, serve, someTub } from "../harness.mjs";

const PASSWORD = "four invented words here";
let server, chrome, tub;
before(async () => {
  const first = await serve();
  chrome = await browser();
  const context = await chrome.newContext();
  tub = await someTub(await open(context), first.address);
  await context.close();
  await first.stop();
  // With an account in the book nobody comes in without a name.
  await account(first.book, "ann", "technician", PASSWORD);
  await account(first.book, "bea", "technician", PASSWORD);
  server = await serve({ book: first.book });
  server.clear = () => server.stop().then(first.remove);
});
after(async () => {
  await chrome?.close();
  await server?.clear();
});

async function logIn(page, name = "ann") {
  await page.getByLabel("Name").fill(name);
  await page.getByLabel("Password").fill(PASSWORD);
  await page.getByRole("button", { name: "Log in" }).click();
}

test("what was entered without a signal waits for the log-in after the session has ended, then is sent once", async () => {
  const context = await chrome.newContext({ viewport: PHONE, hasTouch: true, isMobile: true });
  const page = await open(context);
  const reading = new URL(`${tub}/reading`, server.address).href;
  await page.goto(reading);
  await logIn(page);
  await page.waitForURL(reading);
  await page.evaluate(() => navigator.serviceWorker.ready);
  await page.waitForFunction(() => navigator.serviceWorker.controller);
  await page.goto(reading);
  const kept = (path) => caches.open("pages").then((cache) => cache.match(path)).then(Boolean);
  await page.waitForFunction(kept, `${tub}/reading`);
  const before = (await entries(server.book)).filter((entry) => entry.kind === "reading").length;

  await context.setOffline(true);
  await page.goto(reading);
  await enter(page, "ph", "7.4");
  const moment = Date.now();
  await page.getByRole("button", { name: "Record" }).click();
  await page.getByText("Kept on this device").waitFor();
  await context.clearCookies();
  await context.setOffline(false);
  await page.goto(new URL("/waiting", server.address).href);
  await page.locator("ul.queued").getByText("sign in, then it is sent").waitFor();

  await page.goto(reading);
  await logIn(page);
  await page.waitForURL(reading);
  // The line of what waits is hidden until the device has counted; this page says when it has, and nothing is left.
  await page.goto(new URL("/waiting", server.address).href);
  await page.getByText("Nothing waits on this device").waitFor();
  const readings = (await entries(server.book)).filter((entry) => entry.kind === "reading").slice(before);
  assert.deepEqual(readings.map((entry) => entry.body.value), [7.4]);
  assert.ok(Math.abs(readings[0].at_us / 1000 - moment) < 1500, "its true time");
  await context.close();
});

test("what one person wrote on a shared device is never sent in another's name", async () => {
  const context = await chrome.newContext({ viewport: PHONE, hasTouch: true, isMobile: true });
  const page = await open(context);
  const reading = new URL(`${tub}/reading`, server.address).href;
  const queue = new URL("/waiting", server.address).href;
  const readings = async () => (await entries(server.book)).filter((entry) => entry.kind === "reading");
  const before = (await readings()).length;
  await page.goto(reading);
  await logIn(page, "ann");
  await page.waitForURL(reading);
  await page.evaluate(() => navigator.serviceWorker.ready);
  await page.waitForFunction(() => navigator.serviceWorker.controller);
  await page.goto(reading);
  const kept = (path) => caches.open("pages").then((cache) => cache.match(path)).then(Boolean);
  await page.waitForFunction(kept, `${tub}/reading`);
  await context.setOffline(true);
  await page.goto(reading);
  await enter(page, "ph", "7.3");
  await page.getByRole("button", { name: "Record" }).click();
  await page.getByText("Kept on this device").waitFor();
  await context.clearCookies();
  await context.setOffline(false);

  // Another person logs in on the same device: it stays, and says whose it is.
  await page.goto(reading);
  await logIn(page, "bea");
  await page.waitForURL(reading);
  await page.goto(queue);
  await page.locator("ul.queued").getByText("ann wrote this on this device, and bea is logged in").waitFor();
  assert.equal((await readings()).length, before);
  // What she writes herself is hers, and goes past what waits.
  await page.goto(reading);
  await enter(page, "ph", "7.5");
  await page.getByRole("button", { name: "Record" }).click();
  await page.waitForURL(`**${tub}/plan`);
  assert.deepEqual((await readings()).slice(before).map((entry) => entry.body.value), [7.5]);

  // Its writer is back.
  await page.getByRole("button", { name: "Log out" }).click();
  await page.waitForURL("**/login**");
  await page.goto(reading);
  await logIn(page, "ann");
  await page.waitForURL(reading);
  await page.goto(queue);
  await page.getByText("Nothing waits on this device").waitFor();
  const added = (await readings()).slice(before);
  assert.deepEqual(added.map((entry) => entry.body.value), [7.5, 7.3]);
  const [beas, anns] = added.map((entry) => entry.by);
  assert.ok(beas && anns && beas !== anns, "each in the name of who wrote it");
  await context.close();
});

test("who signs out leaves no copies of pages on the device", async () => {
  const context = await chrome.newContext({ viewport: PHONE });
  const page = await open(context);
  const reading = new URL(`${tub}/reading`, server.address).href;
  await page.goto(reading);
  await logIn(page);
  await page.waitForURL(reading);
  await page.evaluate(() => navigator.serviceWorker.ready);
  await page.waitForFunction(() => navigator.serviceWorker.controller);
  await page.goto(reading);
  const pages = () => caches.open("pages").then((cache) => cache.keys()).then((keys) => keys.length);
  await page.waitForFunction(() => caches.open("pages").then((cache) => cache.keys()).then((keys) => keys.length > 0));
  await page.getByRole("button", { name: "Log out" }).click();
  await page.waitForURL("**/login**");
  await page.waitForFunction(() => caches.open("pages").then((cache) => cache.keys()).then((keys) => keys.length === 0));
  assert.equal(await page.evaluate(pages), 0);
  await context.close();
});
