// The list of curves in the picture: what each shows, its name, what came of it.

const make = (tag, attributes = {}, ...children) => {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) if (value !== null) node.setAttribute(name, value);
  node.append(...children);
  return node;
};

export const makeCurves = (root, { change, choose, remove, again, own }) => {
  const kinds = JSON.parse(root.dataset.kinds);
  let shape = "";
  let rows = [];

  const build = (curves) => {
    rows = curves.map((curve, place) => {
      const number = place + 1;
      const pick = make("input", { type: "radio", name: "trace-active", "aria-label": `Work on curve ${number}` });
      pick.addEventListener("change", () => choose(curve.id));
      const kind = make("select", { "aria-label": `What curve ${number} shows` },
        ...kinds.map(([value, text]) => make("option", { value }, text)));
      kind.addEventListener("change", () => change(curve.id, { quantity: kind.value }));
      const name = make("input", {
        "aria-label": `Name of curve ${number}`, maxlength: "60", autocomplete: "off",
        placeholder: "as the sheet names it, such as 3600 rpm",
      });
      name.addEventListener("input", () => change(curve.id, { name: name.value }, `name${curve.id}`));
      const mine = make("input", { type: "radio", name: "trace-own" });
      mine.addEventListener("change", () => own(curve.id));
      const ownLabel = make("label", { class: "own" }, mine, " this pump’s");
      const out = make("button", { type: "button", class: "quiet", "aria-label": `Take curve ${number} out` }, "×");
      out.addEventListener("click", () => remove(curve.id));
      const said = make("div", { class: "said", role: "status" });
      const redo = make("button", { type: "button", class: "quiet", hidden: "" }, "Trace it again, without the points placed by hand");
      redo.addEventListener("click", () => again(curve.id));
      const node = make("div", { class: "curve", role: "group", "aria-label": `Curve ${number}` },
        make("div", { class: "line" }, make("label", {}, pick, ` ${number}`), kind, out),
        make("div", { class: "line" }, name, ownLabel), said, redo);
      return { pick, kind, name, mine, ownLabel, out, said, redo, node };
    });
    root.replaceChildren(...rows.map((row) => row.node));
  };

  const tell = (row, curve, state) => {
    const { result, busy, faults } = state;
    const lines = [];
    if (busy) lines.push(["note", "Following the line…"]);
    else if (faults) lines.push(...faults.map(({ got }) => ["fault", got]));
    else if (result) {
      lines.push(["reach", result.said.reach], ["fit", result.said.fit]);
      lines.push(...result.said.doubts.map((doubt) => ["doubt", doubt]));
    } else lines.push(["note", "Choose “Click a curve”, then click on it where it runs clear."]);
    row.said.replaceChildren(...lines.map(([name, text]) => make("p", { class: name }, text)));
  };

  return {
    focus: (id) => rows[JSON.parse(shape).indexOf(id)]?.kind.focus(),
    // `outcome` gives { result, busy, faults } of a curve by its id.
    show: ({ curves, active, own: mine }, outcome) => {
      const now = JSON.stringify(curves.map(({ id }) => id));
      if (now !== shape) {
        build(curves);
        shape = now;
      }
      const heads = curves.filter(({ quantity }) => quantity === "head").length;
      curves.forEach((curve, place) => {
        const row = rows[place];
        row.pick.checked = curve.id === active;
        row.node.classList.toggle("active", curve.id === active);
        row.kind.value = curve.quantity;
        if (row.name.value !== curve.name) row.name.value = curve.name;
        row.ownLabel.hidden = curve.quantity !== "head" || heads < 2;
        row.mine.checked = curve.id === mine;
        row.out.hidden = curves.length === 1 && !curve.seed && !curve.points;
        row.redo.hidden = !(curve.seed && curve.points);
        tell(row, curve, outcome(curve.id));
      });
    },
  };
};
