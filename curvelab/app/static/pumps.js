// A pump more: which one, and a button that takes it out again.

const otherRow = (row, edit, column) => {
  const made = pickRow(row, edit);
  made.node.classList.add("other");
  const drop = h("button", { type: "button", class: "quiet", "aria-label": `Take out ${row.spoken}` }, "×");
  drop.addEventListener("click", () => {
    column.wish(row.about, "button");
    edit({ ...row.drop, path: row.about });
  });
  made.node.lastChild.before(drop);
  return made;
};

Object.assign(ROWS, { other: otherRow });
