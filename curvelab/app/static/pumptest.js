// A pump's test: readings go to the server as they are typed, the verdict and the picture come back. Each pump keeps
// its own readings, also over a visit to the setup page.

import { ask, later, page, say } from "./asking.js";
import { refresh } from "./fleet.js";

const QUIET = 180; // ms without a change until the server is asked
const STORE = "curvelab-tests";

const form = document.getElementById("testform");
const tested = document.getElementById("tested");
const pump = document.getElementById("t-pump");
const part = (name) => tested.querySelector(`[data-${name}]`);
const inputs = () => [...form.querySelectorAll("input")];
const plain = (name) => name.replace(/^t-/, "");
const today = () => new Date(Date.now() - new Date().getTimezoneOffset() * 60_000).toISOString().slice(0, 10);

let all = {}; // readings by pump
let asked = 0;
let units = page.system;

const read = () => Object.fromEntries(inputs().map((input) => [plain(input.name), input.value]));
const fill = (typed) => {
  for (const input of inputs()) input.value = typed[plain(input.name)] ?? (input.name === "date" ? today() : "");
};
const store = () => {
  all[pump.value] = read();
  try {
    sessionStorage.setItem(STORE, JSON.stringify({ all, units, pump: pump.value }));
  } catch {
    // a full or forbidden store: the form itself still has it
  }
};

const show = (answer) => {
  for (const input of inputs()) {
    const place = document.getElementById(input.getAttribute("aria-describedby"));
    const [tone, text] = answer.said[plain(input.name)] || ["", ""];
    place.textContent = text;
    place.className = `beside ${tone}`;
    if (tone === "wrong") input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  }
  tested.querySelector(".picture").innerHTML = answer.picture; // the server's own drawing
  const verdict = tested.querySelector(".verdict");
  const html = answer.html || "<p class=\"note\">Nothing is read yet. The pressure with the end shut says most.</p>";
  if (verdict.innerHTML !== html) verdict.innerHTML = html; // escaped by the server
  const use = part("use");
  if (answer.use) use.href = `./${answer.use}`;
  else use.removeAttribute("href");
  use.setAttribute("aria-disabled", String(!answer.use));
  if (part("keep")) part("keep").disabled = !answer.keep;
};

const question = () => ({ key: pump.value, typed: read(), units, query: page.query });

const send = async () => {
  const mine = (asked += 1);
  try {
    const answer = await ask("test", { ...question(), width: Math.floor(tested.clientWidth - 24) });
    if (mine === asked) show(answer);
  } catch (refused) {
    if (mine === asked) say(refused.message);
  }
};
const soon = later(send, QUIET);
const changed = () => {
  part("done").textContent = "";
  store();
  soon();
};

export const testOf = (key) => {
  pump.value = key;
  fill(all[key] || {});
  changed();
};

form.addEventListener("input", (event) => {
  if (event.target === pump) testOf(pump.value);
  else changed();
});
if (part("keep")) {
  part("keep").addEventListener("click", async () => {
    part("keep").disabled = true;
    try {
      const { text } = await ask("keep", question());
      fill({ date: read().date, by: read().by });
      store();
      await send();
      part("done").textContent = text;
      await refresh();
    } catch (refused) {
      part("keep").disabled = false;
      part("done").textContent = refused.message;
    }
  });
}

// Every pump's readings in other units: bare numbers become the same amounts.
const convert = async (system) => {
  const before = units;
  units = system;
  for (const key of Object.keys(all)) {
    const answer = await ask("test-units", { typed: all[key], before, units: system });
    all[key] = answer.typed;
  }
  const { units: beside } = await ask("test-units", { typed: {}, before, units: system });
  for (const place of form.querySelectorAll("[data-unit]")) {
    place.textContent = beside[plain(place.dataset.unit)] ?? place.textContent;
  }
  fill(all[pump.value] || {});
  changed();
};
page.watch(({ system, pumps }) => {
  if (pumps) {
    const chosen = pump.value;
    pump.replaceChildren(...pumps.map(([key, label]) => new Option(label, key)));
    if (pumps.some(([key]) => key === chosen)) pump.value = chosen;
    else testOf(pump.value);
  }
  if (!system || system === units) return;
  store();
  convert(system).catch((refused) => say(refused.message));
});

try {
  const found = JSON.parse(sessionStorage.getItem(STORE) || "null");
  if (found) {
    ({ all, units } = found);
    if ([...pump.options].some((option) => option.value === found.pump)) pump.value = found.pump;
  }
} catch {
  // what another version left there is nothing to this one
}
fill(all[pump.value] || {});
if (units !== page.system) convert(page.system).catch((refused) => say(refused.message));
let wide = 0;
new ResizeObserver(() => {
  if (tested.clientWidth && Math.abs(tested.clientWidth - wide) > 24) {
    wide = tested.clientWidth;
    send();
  }
}).observe(tested);
