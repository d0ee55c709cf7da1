// The setup column: five stations on a line, in the order the water meets them. On a phone the stations lie down and
// one of them is open.

const setupColumn = (place, edit) => {
  let rows = new Map();
  let heads = new Map();
  let open = "discharge";

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
    const body = h("div", { class: "rows", id });
    for (const row of wanted) {
      const made = ghosted(row, ROWS[row.kind](row, edit));
      rows.set(row.path, made);
      body.append(made.node);
    }
    const section = h("section", { class: `station ${key}`, "aria-label": name }, head, body);
    heads.set(key, { section, button, words, strong, brief });
    return section;
  };

  const build = (stations) => {
    const at = document.activeElement && document.activeElement.closest && document.activeElement.closest(".row");
    const kept = at && [...rows].find(([, row]) => row.node === at);
    const opened = place.querySelector("details[open]") !== null;
    rows = new Map();
    heads = new Map();
    place.replaceChildren(...stations.map(station));
    openUp(open);
    if (opened) for (const details of place.querySelectorAll("details")) details.open = true;
    const again = kept && rows.get(kept[0]);
    const target = again && again.node.querySelector("input:checked, input, select, summary");
    if (target) target.focus();
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
      head.brief.textContent = briefs[key];
    }
  };

  const ghosts = (chalked) => {
    for (const [path, row] of rows) if (row.ghosts) row.ghosts(chalked[path] || []);
  };

  return { build, show, ghosts };
};
