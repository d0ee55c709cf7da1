// Rows of the hose: what lies behind the button of a leg, its fittings, and what can be done with the leg as a whole.
// `column` makes the rows within, keeps which folds are open, and takes the wish where the focus goes after a rebuild.

const foldRow = (row, edit, column) => {
  const id = unique();
  const words = h("span", {});
  const about = row.label ? [h("span", { class: "then" }, `${row.label} `)] : [];
  const hidden = row.label ? [] : [h("span", { class: "unseen" }, `: ${row.spoken}`)];
  const button = h("button", { type: "button", class: "opens", "aria-controls": id }, ...about, words, ...hidden);
  const inner = row.rows.map((each) => column.make(each).node);
  const panel = h("div", { id, class: "leg", role: "group", "aria-label": row.spoken }, ...inner);
  const put = (open) => {
    button.setAttribute("aria-expanded", String(open));
    panel.hidden = !open;
    if (open) column.opened.add(row.path);
    else column.opened.delete(row.path);
  };
  button.addEventListener("click", () => put(panel.hidden));
  put(column.opened.has(row.path));
  const wrong = fault();
  const line = h("div", { class: "row further" }, button, wrong.node);
  const part = (which) => {
    if (which === "open") put(true);
    return button;
  };
  const set = (text) => { words.textContent = text; };
  return { node: h("div", {}, line, panel), set, fault: wrong.put, part, button, panel, wrong };
};

// The first leg's make, and beside it the button of its fold.
const hoseRow = (row, edit, column) => {
  const made = pickRow(row, edit);
  const fold = column.make(row.more);
  made.node.classList.add("hose");
  made.node.lastChild.before(fold.button);
  const node = h("div", {}, made.node, fold.wrong.node, fold.panel);
  fold.node = node;
  return { ...made, node };
};

const sayRow = () => {
  const node = h("p", { class: "note" });
  return { node, set: (text) => { node.textContent = text; }, fault: () => {} };
};

const fittingRow = (row, edit) => {
  const made = countRow(row, edit);
  made.node.classList.add("fitting");
  const drop = h("button", { type: "button", class: "quiet", "aria-label": `Take out ${row.spoken}` }, "×");
  drop.addEventListener("click", () => edit({ do: "pick", path: row.path, value: 0 }));
  made.node.lastChild.before(drop);
  return made;
};

const adderRow = (row, edit) => {
  const id = unique();
  const wrong = fault();
  const options = row.options.map(([value, text]) => h("option", { value }, text));
  const select = h("select", { id, "aria-label": row.spoken }, ...options);
  const add = h("button", { type: "button", class: "quiet", "aria-label": row.spoken }, "Add");
  add.addEventListener("click", () => edit({ do: "pick", path: `${row.path}.${select.value}`, value: 1 }));
  const node = h("div", { class: "row adder" }, select, add, wrong.node);
  return { node, set: () => {}, fault: wrong.put };
};

const buttonsRow = (row, edit, column) => {
  const buttons = row.buttons.map(({ label, then, ...what }) => {
    const name = `${label}: ${row.spoken}`;
    const button = h("button", { type: "button", class: "quiet", "aria-label": name }, label);
    button.addEventListener("click", () => {
      column.wish(then, what.do.startsWith("drop") ? "button" : "open");
      edit({ ...what, path: row.about });
    });
    return button;
  });
  return { node: h("div", { class: "row buttons" }, ...buttons), set: () => {}, fault: () => {} };
};

Object.assign(ROWS, {
  fold: foldRow,
  hose: hoseRow,
  say: sayRow,
  fitting: fittingRow,
  adder: adderRow,
  buttons: buttonsRow,
});
