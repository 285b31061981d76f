// The Reading page: results while one types, and the next field at Enter.

const reading = document.getElementById("reading");
const PAUSE_MS = 250;
let pause;
let underWay;

async function results() {
  underWay?.abort();
  underWay = new AbortController();
  try {
    const answer = await fetch(reading.dataset.check, {
      method: "POST",
      body: new URLSearchParams(new FormData(reading)),
      signal: underWay.signal,
    });
    if (!answer.ok || answer.redirected) return;
    const parsed = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const part of parsed.querySelectorAll("[data-for]")) {
      const place = document.getElementById(part.dataset.for);
      if (place && place.innerHTML !== part.innerHTML) place.replaceChildren(...part.childNodes);
    }
  } catch {
    // No signal, or something newer was typed: the results come with the plan.
  }
}

if (reading) {
  reading.addEventListener("input", () => {
    clearTimeout(pause);
    pause = setTimeout(results, PAUSE_MS);
  });
  reading.addEventListener("change", (event) => {
    const chosen = event.target.closest("[data-method]");
    if (chosen) reading.requestSubmit(chosen.parentElement.querySelector("button"));
  });
  reading.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !event.target.matches("input[type=text]")) return;
    event.preventDefault();
    const fields = [...reading.querySelectorAll("input[type=text]")];
    const next = fields[fields.indexOf(event.target) + 1];
    if (next) next.focus();
    else reading.requestSubmit(reading.querySelector("button.first"));
  });
}
