// Where the chalked setups stand on a control: dashed ticks on a slider, dashed frames round choices, and the same in
// words for those who hear them. What is as now has no mark.

const ghosted = (row, made) => {
  const marks = { slider: ghostTicks, choice: ghostFrames, pick: ghostFrames, hose: ghostFrames }[row.kind];
  if (!marks) return made;
  const id = unique();
  const words = h("span", { class: "unseen", id });
  const target = made.node.querySelector("[role=radiogroup], select, input[type=range]");
  target.setAttribute("aria-describedby", [target.getAttribute("aria-describedby"), id].filter(Boolean).join(" "));
  made.node.append(words);
  const draw = marks(row, made.node);
  let now = null;
  let chalked = [];
  const show = () => {
    words.textContent = now === null ? "" : draw(now, chalked).join(", ");
  };
  const set = (value) => {
    made.set(value);
    now = value;
    show();
  };
  const ghosts = (list) => {
    chalked = list;
    show();
  };
  return { ...made, set, ghosts };
};

const ghostTicks = (row, node) => {
  const ticks = h("span", { class: "ticks", "aria-hidden": "true" });
  node.querySelector("input[type=range]").after(ticks);
  return ([now], chalked) => {
    const others = chalked.filter(([, [number]]) => Math.abs(number - now) > 1e-6);
    ticks.replaceChildren(...others.map(([letter, [number]]) => {
      const stops = stopsOf(row, number);
      const at = stops.findIndex((stop) => Math.abs(stop - number) < 1e-6) / Math.max(1, stops.length - 1);
      return h("i", { class: `chalk-${letter}`, style: `--f:${at}` });
    }));
    return others.map(([letter, [, text]]) => `${letter}: ${text} ${row.symbol || ""}`.trim());
  };
};

const ghostFrames = (row, node) => {
  const spoken = new Map(row.options.map(([value, text, said]) => [value, said || text]));
  const cells = new Map([...node.querySelectorAll("input[type=radio]")].map((input) => [input.value, input.parentNode]));
  const select = node.querySelector("select");
  return (now, chalked) => {
    const others = chalked.filter(([, value]) => value !== now);
    for (const [value, cell] of cells) cell.classList.toggle("ghost", others.some(([, other]) => other === value));
    if (select) select.classList.toggle("ghost", others.length > 0);
    return others.map(([letter, value]) => `${letter}: ${spoken.get(value) || value || "none"}`);
  };
};
