// Pages that the invented firm on one machine never shows: the way in, refusals, the owner's link, a picture, a fault.

import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { after, before, test } from "node:test";
import { DESK, PHONE, account, browser, open, serve, someTub } from "../harness.mjs";

const AXE = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
const PASSWORD = "four invented words here";
// A picture of one pixel.
const PIXEL = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg==";

let server, chrome, tub, link;
before(async () => {
  const first = await serve();
  // Whatever goes wrong from here on, it does not outlive the journey.
  server = { clear: () => first.stop().then(first.remove) };
  chrome = await browser();
  const context = await chrome.newContext();
  const page = await open(context);
  tub = await someTub(page, first.address);
  await page.goto(new URL(`${tub}/sheet`, first.address).href);
  await page.getByRole("button", { name: "Make a link" }).click();
  link = new URL(await page.locator('.once a[href*="/o/"]').first().getAttribute("href")).pathname;
  await context.close();
  await first.stop();
  await account(first.book, "ann", "technician", PASSWORD);
  await account(first.book, "vic", "viewer", PASSWORD);
  server = await serve({ book: first.book });
  server.clear = () => server.stop().then(first.remove);
});
after(async () => {
  await chrome?.close();
  await server?.clear();
});

async function logIn(page, name, password) {
  await page.goto(new URL("/login", server.address).href);
  await page.getByLabel("Name").fill(name);
  await page.getByLabel("Password").fill(password);
  await page.getByRole("button", { name: "Log in" }).click();
}

for (const [how, options] of [
  ["phone, light", { viewport: PHONE, colorScheme: "light" }],
  ["desk, dark", { viewport: DESK, colorScheme: "dark" }],
  ["phone, German", { viewport: PHONE, locale: "de" }],
  ["desk, French", { viewport: DESK, locale: "fr" }],
]) {
  test(`no page at the doors has an axe violation (${how})`, async (t) => {
    const context = await chrome.newContext({ ...options, bypassCSP: true });
    const page = await open(context);
    const found = [];
    let looked = 0;
    const look = async (name, heading) => {
      assert.match(await page.locator("h1").innerText(), heading, name);
      assert.ok((await page.evaluate(() => document.documentElement.scrollWidth)) <= options.viewport.width, name);
      await page.evaluate(AXE);
      const { violations } = await page.evaluate((values) => axe.run({ runOnly: { type: "tag", values } }), RULES);
      for (const v of violations) found.push(`${name}: ${v.id}: ${v.nodes[0].html.slice(0, 160)}`);
      looked += 1;
    };
    const at = (path) => page.goto(new URL(path, server.address).href);
    const english = !options.locale;
    const any = /\S/;

    await at("/login");
    assert.equal(await page.locator("nav").count(), 0, "nobody is shown ways that are closed");
    await look("login", english ? /Log in/ : any);
    await at(link);
    await look("owner", any);
    await page.locator("main input[type=text]").first().fill("99");
    await page.locator("form.thing button[type=submit]").click();
    await page.locator(".fault").first().waitFor();
    await look("owner-fault", any);
    await at(`${link.slice(0, -5)}xxxxx`);
    await look("owner-none", english ? /opens nothing/ : any);
    if (english) {
      await logIn(page, "vic", "not the password");
      await page.getByText("is wrong").waitFor();
      await look("login-wrong", /Log in/);
      await logIn(page, "vic", PASSWORD);
      await page.locator("ol.tubs").first().waitFor();
      await at("/people/new");
      await look("forbidden", /another role/);
      await at("/nothing-here");
      await look("missing", /no such page/);
      await page.getByRole("button", { name: "Log out" }).click();
      await page.getByLabel("Name").waitFor();
      await logIn(page, "ann", PASSWORD);
      await page.locator("ol.tubs").first().waitFor();
      await at(`${tub}/photos`);
      await page.setInputFiles("#f-photo", { name: "a.txt", mimeType: "image/png", buffer: Buffer.from("no picture") });
      await page.getByRole("button", { name: "Add the photo" }).click();
      await page.locator("#fault-photo, .fault").first().waitFor();
      await look("photos-fault", /Photos/);
      await page.setInputFiles("#f-photo", { name: "a.png", mimeType: "image/png", buffer: Buffer.from(PIXEL, "base64") });
      await page.getByLabel("What it shows").fill("The waterline");
      await page.getByRole("button", { name: "Add the photo" }).click();
      await page.locator(".photos figure").first().waitFor();
      await look("photos", /Photos/);
    }
    t.diagnostic(`${looked} pages`);
    assert.equal(looked, english ? 9 : 4);
    assert.deepEqual(found, []);
    await context.close();
  });
}
