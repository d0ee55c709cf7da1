// The fleet: pictures and table are filtered and sorted together; one pump stands large beside them.

import { ask, page, say } from "./asking.js";

const fleet = document.getElementById("fleet");
const one = document.getElementById("one");
let chosen = page.now;
let asked = 0;

const rows = () => [...fleet.querySelectorAll("tbody tr")];
const wanted = (name) => fleet.querySelector(`.filters [name=${name}]`).value.trim();

const FRACTIONS = { "½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8" };

// A number as it stands on a hose: 28, 1.1, 1,1, 3/4, 1 1/2, 1½.
const numberIn = (text) => {
  const plain = text.replace(",", ".").replace(/[½¼¾⅛⅜⅝⅞]/g, (mark) => ` ${FRACTIONS[mark]}`).trim();
  const found = plain.match(/^(?:(\d+) )?(\d+)\/([1-9]\d*)$/);
  if (found) return Number(found[1] || 0) + Number(found[2]) / Number(found[3]);
  return plain === "" ? NaN : Number(plain);
};

// The number in a box in SI; null where nothing or no number stands there.
const si = (name) => {
  const box = fleet.querySelector(`.filters [name=${name}]`);
  const number = numberIn(box.value.trim());
  const wrong = box.value.trim() !== "" && Number.isNaN(number);
  if (wrong) box.setAttribute("aria-invalid", "true");
  else box.removeAttribute("aria-invalid");
  return Number.isNaN(number) ? null : number * Number(box.dataset.scale);
};

const filter = () => {
  const kind = wanted("kind");
  const port = wanted("port");
  const solids = si("solids");
  const mass = si("mass");
  let unknown = 0;
  let shown = 0;
  for (const row of rows()) {
    const { kind: its, ports, solids: passes, mass: weighs } = row.dataset;
    const silent = (solids !== null && passes === "") || (mass !== null && weighs === "");
    const fits = (!kind || kind === its)
      && (!port || ports.split("|").includes(port))
      && (solids === null || passes === "" || Number(passes) >= solids - 1e-9)
      && (mass === null || weighs === "" || Number(weighs) <= mass + 1e-9);
    row.hidden = !fits || silent;
    unknown += fits && silent ? 1 : 0;
    shown += row.hidden ? 0 : 1;
    fleet.querySelector(`.multiples [data-key="${CSS.escape(row.dataset.key)}"]`).hidden = row.hidden;
  }
  const left = unknown ? `; ${unknown} left out, since their sheets don’t say` : "";
  const wrong = fleet.querySelector(".filters [aria-invalid]") ? "; a box holds no number and isn’t counted" : "";
  fleet.querySelector(".count").textContent = `${shown} of ${rows().length} pumps${left}${wrong}`;
};

const sort = (key, way) => {
  const heads = [...fleet.querySelectorAll("thead th")];
  const at = heads.findIndex((head) => head.querySelector("button").dataset.sort === key);
  heads.forEach((head, place) => {
    if (place === at) head.setAttribute("aria-sort", way > 0 ? "ascending" : "descending");
    else head.removeAttribute("aria-sort");
  });
  const value = (row) => {
    const { number, value: text } = row.children[at].dataset;
    return text !== undefined ? text.toLowerCase() : number === "" ? null : Number(number);
  };
  const sorted = rows().sort((a, b) => {
    const [left, right] = [value(a), value(b)];
    if (left === null || right === null) return (left === null) - (right === null); // not stated: last, either way
    return (left < right ? -1 : left > right ? 1 : 0) * way;
  });
  fleet.querySelector("tbody").append(...sorted);
  const places = fleet.querySelector(".multiples");
  places.append(...sorted.map((row) => places.querySelector(`[data-key="${CSS.escape(row.dataset.key)}"]`)));
};

const mark = () => {
  for (const button of fleet.querySelectorAll("[data-open]")) {
    if (button.dataset.open === chosen) button.setAttribute("aria-current", "true");
    else button.removeAttribute("aria-current");
  }
};

export const open = async (key, { focus = true } = {}) => {
  const mine = (asked += 1);
  chosen = key;
  mark();
  const width = Math.floor(one.clientWidth - 24);
  try {
    const { html } = await ask("pump", { key, query: page.query, width });
    if (mine !== asked) return;
    one.innerHTML = html; // escaped by the server
    one.dispatchEvent(new CustomEvent("opened", { bubbles: true, detail: { key } }));
    if (focus) {
      one.querySelector("h2").focus({ preventScroll: true });
      one.scrollIntoView({ block: "nearest" });
    }
  } catch (refused) {
    if (mine === asked) say(refused.message);
  }
};

// The pump that stood large is no longer in the list: the present setup's stands there.
export const left = () => { chosen = page.now; };

const keep = () => ({
  boxes: [...fleet.querySelectorAll(".filters select, .filters input")].map((box) => [box.name, box.value]),
  sort: fleet.querySelector("th[aria-sort] button")?.dataset.sort ?? "name",
  way: fleet.querySelector("th[aria-sort]")?.getAttribute("aria-sort") === "descending" ? -1 : 1,
});

// The fleet again, as the yard's files or other units make it; filters, order and choice stay.
export const refresh = async (units) => {
  const kept = keep();
  try {
    const { html, query, now, pumps } = await ask("fleet", { query: page.query, units });
    fleet.innerHTML = html;
    for (const [name, value] of kept.boxes) {
      const box = fleet.querySelector(`.filters [name=${name}]`);
      box.value = value;
      if (units && name !== "kind") box.value = "";
    }
    page.set({ query, now, pumps, system: units || page.system });
    sort(kept.sort, kept.way);
    filter();
    await open(chosen, { focus: false });
  } catch (refused) {
    say(refused.message);
  }
};

fleet.addEventListener("input", (event) => { if (event.target.closest(".filters")) filter(); });
fleet.addEventListener("click", (event) => {
  const opened = event.target.closest("[data-open]");
  const sorted = event.target.closest("[data-sort]");
  if (opened) open(opened.dataset.open);
  if (sorted) {
    const head = sorted.closest("th");
    sort(sorted.dataset.sort, head.getAttribute("aria-sort") === "ascending" ? -1 : 1);
  }
  if (event.target.closest("[data-clear]")) {
    for (const box of fleet.querySelectorAll(".filters select, .filters input")) box.value = "";
    filter();
  }
});
for (const input of document.querySelectorAll("#units input")) {
  input.addEventListener("change", () => refresh(input.value));
}
one.addEventListener("click", (event) => {
  if (!event.target.closest("[data-back]")) return;
  const card = fleet.querySelector(`.multiples [data-open="${CSS.escape(chosen)}"]`);
  card.focus();
  card.scrollIntoView({ block: "center" });
});
let width = 0;
new ResizeObserver(() => {
  if (!one.clientWidth || Math.abs(one.clientWidth - width) < 24) return;
  width = one.clientWidth;
  open(chosen, { focus: false });
}).observe(one);
filter();
