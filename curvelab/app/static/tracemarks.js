// The table of marks: numbers of the axes beside each. Rows stay while somebody types in them.

const make = (tag, attributes = {}, ...children) => {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  node.append(...children);
  return node;
};

const WORDS = { flow: "Flow", head: "Head", efficiency: "Efficiency", power: "Power" };

export const makeMarks = (root, { type, remove, focus }) => {
  let shape = "";
  let rows = [];

  const build = (marks, axes) => {
    const head = make("tr", {}, make("th", { scope: "col" }, "Mark"),
      ...axes.map((axis) => make("th", { scope: "col" }, WORDS[axis])), make("td"));
    rows = marks.map((mark, place) => {
      const inputs = axes.map((axis) => {
        const input = make("input", {
          "aria-label": `${WORDS[axis]} at mark ${place + 1}`, inputmode: "decimal", autocomplete: "off",
          maxlength: "20", "aria-describedby": `trace-mark-${place}`,
        });
        input.addEventListener("input", () => type(mark.id, axis, input.value));
        input.addEventListener("focus", () => focus(mark.id));
        return [axis, input];
      });
      const out = make("button", { type: "button", class: "quiet", "aria-label": `Take mark ${place + 1} out` }, "×");
      out.addEventListener("click", () => remove(mark.id));
      const fault = make("td", { class: "fault", id: `trace-mark-${place}`, colspan: String(axes.length + 2) });
      const row = make("tr", {}, make("th", { scope: "row" }, String(place + 1)),
        ...inputs.map(([, input]) => make("td", {}, input)), make("td", {}, out));
      return { inputs, fault, nodes: [row, make("tr", { class: "said" }, fault)] };
    });
    root.replaceChildren(marks.length
      ? make("table", {}, make("caption", { class: "unseen" }, "Marks and their numbers"),
        make("thead", {}, head), make("tbody", {}, ...rows.flatMap((row) => row.nodes)))
      : "");
  };

  return {
    show: (marks, axes) => {
      const now = JSON.stringify([marks.map((mark) => mark.id), axes]);
      if (now !== shape) {
        const held = document.activeElement?.getAttribute("aria-label");
        const inside = root.contains(document.activeElement);
        build(marks, axes);
        shape = now;
        if (inside) [...root.querySelectorAll("input")].find((input) => input.getAttribute("aria-label") === held)?.focus();
      }
      marks.forEach((mark, place) => {
        for (const [axis, input] of rows[place].inputs) {
          if (input.value !== (mark[axis] ?? "")) input.value = mark[axis] ?? "";
        }
      });
    },
    faults: (told) => rows.forEach(({ inputs, fault }, place) => {
      const own = told.filter(({ field }) => field === `mark.${place}` || field.startsWith(`mark.${place}.`));
      fault.textContent = own.map(({ got }) => got).join(" ");
      for (const [axis, input] of inputs) {
        const wrong = own.some(({ field }) => field === `mark.${place}.${axis}`);
        if (wrong && input.value) input.setAttribute("aria-invalid", "true");
        else input.removeAttribute("aria-invalid");
      }
    }),
    empty: (place) => rows[place]?.inputs.map(([, input]) => input).find((input) => !input.value.trim()),
  };
};
