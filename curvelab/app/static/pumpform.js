// A new pump's form: what is typed goes to the server, what is wrong or missing comes back beside its field, and the
// curve is drawn as it comes. What was typed outlives a visit to the setup page.

import { ask, later, page, said } from "./asking.js";

const QUIET = 180; // ms without a change until the server is asked
const STORE = "curvelab-new-pump";

const root = document.getElementById("new");
const form = document.getElementById("pumpform");
const draft = document.getElementById("draft");
const ways = [...root.querySelectorAll("#ways input")];
const part = (name) => draft.querySelector(`[data-${name}]`);

let traced = null; // what the tracer handed over
let base = null; // the pump that is being changed, with its file's mark
let tablesUnits = page.system; // units that stood beside the tables when they were pasted
let last = null; // the server's last answer
let asked = 0;

const inputs = () => [...form.querySelectorAll("input[name], select[name], textarea[name]")];
const box = (name) => form.querySelector(`[name="${CSS.escape(name)}"]`);

export const way = () => ways.find((each) => each.checked).value;

// Tables keep the units that stood beside them when their first number came.
const measure = () => {
  const empty = [...form.querySelectorAll("textarea")].every((area) => area.value.trim() === "");
  if (empty) tablesUnits = page.system;
};

const read = () => {
  const fields = {};
  const figures = {};
  const tables = {};
  const measured = [];
  for (const input of inputs()) {
    const { name, value } = input;
    const [top, place, of] = name.split(".");
    if (top === "measured") (measured[place] ??= {})[of] = value;
    else if (top === "tables") tables[place] = value;
    else if (name.startsWith("greatest_")) figures[name] = value;
    else if (name !== "estimate") fields[name] = value;
  }
  const liquids = {};
  for (const select of form.querySelectorAll("[data-liquid]")) {
    if (select.value) liquids[select.dataset.liquid] = select.value;
  }
  return {
    units: page.system,
    way: way(),
    fields,
    estimate: box("estimate").checked,
    liquids,
    box: figures,
    measured,
    tables,
    tables_units: tablesUnits,
    traced: traced || {},
  };
};

const fill = ({ fields = {}, box: figures = {}, measured = [], tables = {}, liquids, estimate }) => {
  const put = (name, value) => {
    const input = box(name);
    if (input && value !== undefined) input.value = value;
  };
  for (const [name, value] of Object.entries({ ...fields, ...figures })) put(name, value);
  measured.forEach((row, place) => Object.entries(row).forEach(([of, value]) => put(`measured.${place}.${of}`, value)));
  for (const [name, value] of Object.entries(tables)) put(`tables.${name}`, value);
  if (estimate !== undefined) box("estimate").checked = estimate;
  if (liquids) {
    for (const select of form.querySelectorAll("[data-liquid]")) select.value = liquids[select.dataset.liquid] || "";
  }
};

const store = () => {
  try {
    sessionStorage.setItem(STORE, JSON.stringify({ form: read(), traced, base, tablesUnits }));
  } catch {
    // a full or forbidden store: the form itself still has it all
  }
};

const choose = () => {
  const chosen = way();
  for (const each of root.querySelectorAll(".way")) each.hidden = each.dataset.way !== chosen;
  for (const each of root.querySelectorAll("[data-ways]")) each.hidden = !each.dataset.ways.split(" ").includes(chosen);
};

const show = (answer) => {
  last = answer;
  for (const place of form.querySelectorAll(".beside")) {
    const name = place.id.slice(2);
    const [tone, text] = answer.said[name] || ["", ""];
    place.textContent = text;
    place.className = `beside ${tone}`;
    const input = box(name);
    if (!input) continue;
    if (tone === "wrong") input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  }
  const other = answer.said[""] || answer.said.traced;
  part("other").hidden = !other || !other[1];
  part("other").textContent = other ? other[1] : "";
  part("other").className = other && other[0] === "needed" ? "note" : "fault";
  if (answer.picture) draft.querySelector(".picture").innerHTML = answer.picture; // the server's own drawing
  draft.querySelector(".picture").classList.toggle("old", !answer.picture);
  part("sentence").textContent = answer.sentence || "";
  draft.querySelector(".notes").replaceChildren(...(answer.notes || []).map((note) => {
    const item = document.createElement("li");
    item.textContent = note;
    return item;
  }));
  const link = answer.no_link ? `No link for it: ${answer.no_link}.` : "";
  part("stands").textContent = [answer.stands, link].filter(Boolean).join(" ");
  const use = part("use");
  if (answer.use) use.href = `./${answer.use}`;
  else use.removeAttribute("href");
  use.setAttribute("aria-disabled", String(!answer.use));
  part("download").disabled = !answer.ready;
  if (part("save")) part("save").disabled = !answer.ready;
  document.querySelector("[data-table-units]").textContent = answer.table_units;
};

const send = async () => {
  measure();
  const mine = (asked += 1);
  const width = Math.floor(draft.clientWidth - 24);
  try {
    const answer = await ask("draft", { form: read(), base: base?.base, query: page.query, width });
    if (mine === asked) show(answer);
  } catch (refused) {
    if (mine === asked) show({ said: { "": ["wrong", refused.message] }, table_units: "" });
  }
};

const soon = later(send, QUIET);
export const changed = () => {
  part("done").textContent = "";
  store();
  soon();
};

const editing = () => {
  const title = root.querySelector(".changed");
  title.hidden = !base;
  title.textContent = base ? `Changing ${base.label}` : "";
  ways.find((each) => each.value === "kept").closest("label").hidden = !base;
};

export const empty = () => {
  for (const input of inputs()) input.value = "";
  box("estimate").checked = false;
  for (const select of form.querySelectorAll("[data-liquid]")) select.value = "";
  base = null;
  tablesUnits = page.system;
  if (way() === "kept") ways.find((each) => each.value === "trace").checked = true;
  editing();
  choose();
  changed();
};

// A pump of the list as a form; its curve stays as it is until another way is chosen.
export const edit = async (key) => {
  const found = await ask("edit", { key, units: page.system });
  empty();
  base = { base: found.base, mark: found.mark, label: found.label };
  fill(found);
  editing();
  ways.find((each) => each.value === "kept").checked = true;
  choose();
  changed();
};

export const current = () => ({ form: read(), base: base?.base, mark: base?.mark ?? null, answer: last });
export const kept = (saved) => {
  base = { base: saved.id, mark: saved.mark, label: saved.label };
  editing();
  part("done").textContent = saved.text;
  store();
};

form.addEventListener("input", changed);
form.addEventListener("beforeinput", (event) => { if (event.target.matches("textarea")) measure(); });
for (const each of ways) {
  each.addEventListener("change", () => {
    choose();
    changed();
  });
}
root.addEventListener("traced", (event) => {
  traced = event.detail;
  if (traced.speed && !box("speed").value) box("speed").value = traced.speed;
  changed();
});
part("download").addEventListener("click", () => {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([last.toml], { type: "application/toml" }));
  link.download = `${base?.base || last.id}.toml`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
});
part("anew").addEventListener("click", () => {
  empty();
  box("name").focus();
});

let units = page.system;
page.watch(async ({ system }) => {
  if (!system || system === units) return;
  const before = units;
  units = system;
  try {
    const answer = await ask("units", { form: { ...read(), units: before }, units: system });
    fill(answer.form);
    for (const place of form.querySelectorAll("[data-unit]")) {
      place.textContent = answer.beside[place.dataset.unit] ?? place.textContent;
    }
    changed();
  } catch (refused) {
    part("done").textContent = refused.faults.map(said).join(" ");
  }
});

try {
  const found = JSON.parse(sessionStorage.getItem(STORE) || "null");
  if (found) {
    ({ traced, base, tablesUnits } = found);
    units = found.form.units;
    editing();
    fill(found.form);
    const chosen = ways.find((each) => each.value === found.form.way);
    if (chosen) chosen.checked = true;
  }
} catch {
  // what another version left there is nothing to this one
}
choose();
if (units !== page.system) page.set({ system: page.system });
let wide = 0;
new ResizeObserver(() => {
  if (draft.clientWidth && Math.abs(draft.clientWidth - wide) > 24) {
    wide = draft.clientWidth;
    send();
  }
}).observe(draft);
