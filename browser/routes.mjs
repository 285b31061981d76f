// The pages that are looked at: a name for the picture, and the path. A page that is added to the app is added here.

export async function routes(page, address, tub) {
  const first = async (on, like) => {
    await page.goto(new URL(on, address).href);
    const links = await page.locator("main a").evaluateAll((all) => all.map((a) => a.getAttribute("href")));
    const found = links.find((href) => like.test(href || ""));
    if (!found) throw new Error(`${on} leads to no page like ${like}`);
    return found;
  };
  const id = "[0-9a-f-]{36}";
  return [
    ["today", "/"],
    ["today-search", "/?q=no+tub+has+this+name"],
    ["tub", tub],
    ["tub-year", `${tub}?days=365`],
    ["tub-history", `${tub}?days=365&q=ph&q=free_chlorine&q=salt`],
    ["tub-new", "/tubs/new"],
    ["tub-edit", `${tub}/edit`],
    ["tub-bands", `${tub}/bands`],
    ["reading", `${tub}/reading`],
    ["outlook", `${tub}/outlook`],
    ["plan", `${tub}/plan`],
    ["what-if", `${tub}/what-if`],
    ["why-ph", `${tub}/why/ph`],
    ["why-free-chlorine", `${tub}/why/free_chlorine`],
    ["photos", `${tub}/photos`],
    ["entry", await first(tub, new RegExp(`/entries/${id}$`))],
    ["sheet", `${tub}/sheet`],
    ["shelves", "/shelves"],
    ["shelves-found", "/shelves?q=row&of=owner"],
    ["shelf", await first("/shelves", new RegExp(`^/shelves/${id}$`))],
    ["shelf-new", "/shelves/new"],
    ["methods", "/methods"],
    ["method-new", "/methods/new"],
    ["bands", "/bands"],
    ["band-set-new", "/bands/sets/new"],
    ["waters", "/waters"],
    ["water", await first("/waters", new RegExp(`^/waters/${id}$`))],
    ["water-new", "/waters/new"],
    ["people", "/people"],
    ["person-new", "/people/new"],
    ["book", "/book"],
    ["book-filtered", "/book?kind=reading"],
    ["setup", "/setup"],
    ["practice", "/practice"],
    ["practice-game", "/practice?seed=7&difficulty=usual&weeks=2&moves=read+ph%3Bdose+acid+0.25"],
    ["practice-ended", "/practice?seed=7&difficulty=usual&weeks=1&moves=read+ph%3Bdose+acid+0.25&do=end"],
    ["me", "/me"],
    ["access", "/me/access"],
    ["interface", "/api/v1/"],
    ["waiting", "/waiting"],
    ["offline", "/offline"],
  ];
}
