// An owner with a private link, no account and no script: sees the sheet, sends a reading, and nothing else is open.

import assert from "node:assert/strict";
import { after, before, test } from "node:test";
import { PHONE, browser, entries, open, serve, someTub } from "../harness.mjs";

let server, chrome;
before(async () => {
  server = await serve();
  chrome = await browser();
});
after(async () => {
  await chrome?.close();
  await server?.clear();
});

const readingsOf = async (tub) =>
  (await entries(server.book)).filter((entry) => entry.kind === "reading" && tub.endsWith(entry.subject));

for (const [how, options] of [["with script", {}], ["without script", { javaScriptEnabled: false }]]) {
  test(`an owner sends a reading by the private link; revoked, it opens nothing (${how})`, async () => {
    const technician = await chrome.newContext({ viewport: PHONE });
    const desk = await open(technician);
    const tub = await someTub(desk, server.address);
    await desk.goto(new URL(`${tub}/sheet`, server.address).href);
    await desk.getByRole("button", { name: "Make a link" }).click();
    const link = await desk.locator('.once a[href*="/o/"]').first().getAttribute("href");
    assert.ok(new URL(link).pathname.length > 40, "the link cannot be guessed");

    const owner = await chrome.newContext({ viewport: PHONE, ...options });
    const page = await open(owner);
    const before = (await readingsOf(tub)).length;
    await page.goto(link);
    const main = page.locator("main");
    assert.match(await main.innerText(), /label/i);
    const ph = main.getByLabel(/^pH/).first();
    await ph.fill("7.4");
    await main.getByRole("button", { name: "Send" }).click();
    await page.getByText("your reading is in the book").waitFor();
    const added = (await readingsOf(tub)).slice(before);
    assert.deepEqual(added.map((entry) => [entry.body.quantity, entry.body.value]), [["ph", 7.4]]);
    assert.equal(added[0].by, undefined, "nobody of the firm recorded it");
    // No way from the sheet to the rest of the book.
    assert.equal(await page.locator('a[href^="/tubs"]').count(), 0);

    await desk.goto(new URL(`${tub}/sheet`, server.address).href);
    await desk.getByRole("button", { name: "Revoke" }).first().click();
    await desk.waitForURL(`**${tub}/sheet**`);
    const gone = await page.goto(link);
    assert.ok(gone.status() >= 400, `${gone.status()}`);
    assert.match(await page.locator("main").innerText(), /opens nothing/);
    await owner.close();
    await technician.close();
  });
}
