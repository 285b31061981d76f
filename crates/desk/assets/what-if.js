// Joins each slider to its number and asks for the water after it, the last question only.
const form = document.querySelector("form.what-if");
const answer = document.getElementById("what-if-water");
let timer;
let asking;

async function ask() {
  asking?.abort();
  asking = new AbortController();
  const query = new URLSearchParams(new FormData(form));
  answer.setAttribute("aria-busy", "true");
  try {
    const response = await fetch(`${form.dataset.part}?${query}`, { signal: asking.signal, headers: { accept: "text/html" } });
    // A page that is no answer (signed out, no signal) is not put into this one.
    if (response.ok) answer.innerHTML = await response.text();
    answer.setAttribute("aria-busy", "false");
  } catch (why) {
    if (why.name !== "AbortError") answer.setAttribute("aria-busy", "false");
  }
}

function soon() {
  clearTimeout(timer);
  timer = setTimeout(ask, 60);
}

if (form && answer) {
  for (const range of form.querySelectorAll("input[type=range]")) {
    const number = document.getElementById(range.dataset.for);
    range.hidden = false;
    range.addEventListener("input", () => { number.value = range.value; soon(); });
    number.addEventListener("input", () => { range.value = number.value.replace(",", "."); soon(); });
  }
}
