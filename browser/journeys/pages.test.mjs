// Every page: no violation that axe-core finds, light and dark; nothing runs off a narrow screen; a picture of each.

import assert from "node:assert/strict";
import { mkdir, readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { fileURLToPath } from "node:url";
import { after, before, test } from "node:test";
import { DESK, PHONE, browser, open, serve, someTub } from "../harness.mjs";
import { routes } from "../routes.mjs";

const AXE = await readFile(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
const RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
// WCAG 2.2, 1.4.10: at 320 px nothing scrolls sideways; that is also 1280 px at 400 %. 200 % zoom of the phone is 195 px.
const NARROW = { width: 320, height: 700 };
const pictures = fileURLToPath(new URL("../pictures/", import.meta.url));

let server, chrome, places;
before(async () => {
  server = await serve();
  chrome = await browser();
  await mkdir(pictures, { recursive: true });
  const context = await chrome.newContext();
  const page = await open(context);
  places = await routes(page, server.address, await someTub(page, server.address));
  await context.close();
});
after(async () => {
  await chrome?.close();
  await server?.clear();
});

for (const colorScheme of ["light", "dark"]) {
  test(`no page has an axe violation (${colorScheme})`, async (t) => {
    const found = [];
    for (const viewport of [PHONE, DESK]) {
      const context = await chrome.newContext({ viewport, colorScheme, bypassCSP: true });
      const page = await open(context);
      for (const [name, path] of places) {
        const answer = await page.goto(new URL(path, server.address).href, { waitUntil: "load" });
        assert.ok(answer.status() < 400, `${path} answers ${answer.status()}`);
        // At the foot nothing lies under the bar that stays at hand.
        await page.evaluate(() => window.scrollTo(0, document.body.scrollHeight));
        await page.evaluate(AXE);
        const { violations } = await page.evaluate((values) => axe.run({ runOnly: { type: "tag", values } }), RULES);
        for (const v of violations) found.push(`${name} (${viewport.width}): ${v.id}: ${v.nodes[0].html.slice(0, 160)}`);
        const file = `${pictures}${name}-${viewport.width}x${viewport.height}-${colorScheme}.png`;
        await page.screenshot({ path: file, fullPage: true });
        assert.deepEqual(page.faults, [], path);
      }
      await context.close();
    }
    t.diagnostic(`${places.length} pages, two sizes`);
    assert.deepEqual(found, []);
  });
}

test("no page scrolls sideways at 320 px, nor at 200 % zoom", async () => {
  const wide = [];
  const context = await chrome.newContext({ viewport: NARROW });
  const page = await open(context);
  for (const [name, path] of places) {
    await page.setViewportSize(NARROW);
    await page.goto(new URL(path, server.address).href, { waitUntil: "load" });
    const width = () => page.evaluate(() => document.documentElement.scrollWidth);
    if ((await width()) > NARROW.width) wide.push(`${name}: ${await width()} px at ${NARROW.width}`);
    // Zoom of 200 % halves the pixels of the layout: 1280 becomes 640.
    await page.setViewportSize({ width: 640, height: 450 });
    if ((await width()) > 640) wide.push(`${name}: ${await width()} px at 640`);
  }
  assert.deepEqual(wide, []);
  await context.close();
});

test("what is tapped is at least 24 px large (WCAG 2.2, 2.5.8), the Reading page's buttons 44", async () => {
  const context = await chrome.newContext({ viewport: PHONE });
  const page = await open(context);
  const reading = places.find(([name]) => name === "reading")[1];
  await page.goto(new URL(reading, server.address).href);
  const small = await page.evaluate(() =>
    [...document.querySelectorAll("main button, main input:not([type=hidden]), main select, main summary")]
      .filter((e) => e.checkVisibility({ visibilityProperty: true }))
      .map((e) => [e.id || e.textContent.trim(), e.getBoundingClientRect()])
      .filter(([, box]) => box.height < 44 || box.width < 44)
      .map(([name, box]) => `${name}: ${box.width}x${box.height}`),
  );
  assert.deepEqual(small, []);
  await context.close();
});
