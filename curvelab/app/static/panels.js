// Rows of controls in the studies' panels: the setup column's own kinds, in groups under a heading each.

const studyPanels = (edit) => {
  let rows = new Map();

  const group = ({ name, rows: wanted }) => {
    const body = h("div", { class: "rows" });
    for (const row of wanted) {
      const made = ROWS[row.kind](row, edit);
      rows.set(row.path, made);
      body.append(made.node);
    }
    return h("section", { class: "group", "aria-label": name }, h("h3", {}, name), body);
  };

  const build = (panels) => {
    const active = document.activeElement;
    const at = active && active.closest && active.closest(".inputs .row");
    const kept = at && [...rows].find(([, row]) => row.node === at);
    rows = new Map();
    for (const [key, groups] of Object.entries(panels)) {
      const place = document.getElementById(`rows-${key}`);
      place.replaceChildren(...groups.map(group));
      place.hidden = groups.length === 0;
    }
    const again = kept && rows.get(kept[0]);
    const target = again && again.node.querySelector("input:checked, input, select, summary, button");
    if (target) target.focus();
  };

  const show = ({ values, faults, remarks }, waiting) => {
    for (const [path, row] of rows) {
      row.fault(faults[path] || "", remarks[path] || "");
      if (path in values && !waiting(path)) row.set(values[path]);
    }
  };

  return { build, show };
};
