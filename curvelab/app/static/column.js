// The setup column: five stations on a line, in the order the water meets them. On a phone the stations lie down and
// one of them is open.

const CONTROLS = "input, select, button, summary";

const setupColumn = (place, send) => {
  const rows = new Map();
  const heads = new Map();
  let open = "discharge";
  let wished = null;
  let making = "";
  let chalked = {};
  const structure = new Map(); // rows by station: an answer brings those that changed
  const opened = new Set();

  const make = (row) => {
    const made = ghosted(row, ROWS[row.kind](row, edit, column));
    made.node.dataset.row = row.path;
    made.station = making;
    rows.set(row.path, made);
    return made;
  };
  const wish = (path, part) => { wished = { path, part, fresh: true }; };
  const edit = (what) => {
    wished = wished && wished.fresh ? { ...wished, fresh: false } : null;
    send(what);
  };
  const column = { make, wish, opened };

  const openUp = (key) => {
    open = key;
    for (const [each, head] of heads) {
      head.section.classList.toggle("open", each === key);
      head.button.setAttribute("aria-expanded", String(each === key));
    }
  };

  const station = ({ key, name, rows: wanted }) => {
    const words = h("span", { class: "words" });
    const strong = h("b", {});
    const brief = h("small", {});
    const id = `station-${key}`;
    const button = h("button", { type: "button", class: "rail", "aria-controls": id }, h("span", {}, name), brief);
    button.addEventListener("click", () => openUp(key));
    const title = h("h2", {}, h("span", { class: "title" }, name), button);
    const head = h("div", { class: "head" }, title, h("p", { class: "cost" }, words, " ", strong));
    const body = h("div", { class: "rows", id }, ...wanted.map((row) => make(row).node));
    const section = h("section", { class: `station ${key}`, "aria-label": name }, head, body);
    heads.set(key, { section, button, words, strong, brief });
    return section;
  };

  // Which control has the focus, by its row and its place there, with what is typed in it.
  const focused = () => {
    const node = document.activeElement;
    const row = node && place.contains(node) && node.closest("[data-row]");
    if (!row) return null;
    const typed = node.dataset.typing === "yes" ? node.value : null;
    return { path: row.dataset.row, at: [...row.querySelectorAll(CONTROLS)].indexOf(node), typed };
  };

  // The same control again; where its row is gone, that of the nearest row above it.
  const refocus = ({ path, at, typed }) => {
    let row = rows.get(path);
    for (let up = path; !row && up.includes("."); ) {
      up = up.slice(0, up.lastIndexOf("."));
      row = rows.get(up);
      at = 0;
    }
    if (!row) return;
    const gone = rows.get(path) !== row;
    const controls = [...row.node.querySelectorAll(CONTROLS)];
    const node = (gone && row.button) || controls[Math.min(Math.max(at, 0), controls.length - 1)];
    if (!node) return;
    node.focus();
    if (typed === null || gone) return;
    node.value = typed;
    node.dataset.typing = "yes";
  };

  // A station anew in the place of the old one.
  const build = (wanted) => {
    const old = heads.get(wanted.key)?.section;
    const kept = old && old.contains(document.activeElement) ? focused() : null;
    for (const [path, row] of rows) if (row.station === wanted.key) rows.delete(path);
    making = wanted.key;
    const made = station(wanted);
    if (old) old.replaceWith(made);
    else place.append(made);
    openUp(open);
    if (kept) refocus(kept);
  };

  // After what a button asked for is shown, the focus goes where the button said.
  const fulfil = (refused) => {
    const row = wished && rows.get(wished.path);
    if (row && !refused) row.part(wished.part).focus();
    if (row || refused) wished = null; // rows may still be on their way
  };

  const show = ({ values, costs, briefs, faults, remarks }, waiting) => {
    for (const [path, row] of rows) row.fault(faults[path] || "", remarks[path] || "");
    for (const [path, value] of Object.entries(values)) {
      const row = rows.get(path);
      if (row && !waiting(path)) row.set(value);
    }
    for (const [key, [words, strong]] of Object.entries(costs)) {
      const head = heads.get(key);
      head.words.textContent = words;
      head.strong.textContent = strong;
      head.brief.textContent = briefs[key] || ""; // only a phone has room for them, and gets them
    }
  };

  // Stations with another row are made anew; then what the chalked setups have in the rows.
  const change = ({ stations, ghosts, whole }) => {
    for (const { key, name, count, rows: others } of stations) {
      const had = structure.get(key) || [];
      const wanted = Array.from({ length: count }, (_, at) => others[at] || had[at]);
      if (JSON.stringify(wanted) === JSON.stringify(had)) continue; // a slider in somebody's hand stays
      structure.set(key, wanted);
      build({ key, name, rows: wanted });
    }
    chalked = whole ? ghosts : { ...chalked, ...ghosts };
    if (!stations.length && !Object.keys(ghosts).length && !whole) return;
    for (const [path, row] of rows) if (row.ghosts) row.ghosts(chalked[path] || []);
  };

  return { change, show, fulfil };
};
