// The controls of the setup column: native inputs, so that names, keys and touch come with them.
// Every row is { node, set(value) }; `edit` sends what the user did.

// Whether a box holds something typed that is not yet the setup's; its node says so too, for keys that others listen to.
const typedIn = (input) => {
  input.addEventListener("input", () => { input.dataset.typing = "yes"; });
  return {
    get on() { return input.dataset.typing === "yes"; },
    set on(yes) { input.dataset.typing = yes ? "yes" : "no"; },
  };
};

const boxed = (row, { typed, step = null, described = null }) => {
  let good = "";
  const input = h("input", {
    type: "text",
    inputmode: "decimal",
    autocomplete: "off",
    spellcheck: "false",
    "aria-label": row.symbol ? `${row.spoken || row.label}, in ${row.symbol}` : `${row.spoken || row.label}, number`,
    "aria-describedby": described,
    placeholder: row.empty ?? null, // what holds where nothing is stated: an emptied box goes back to that
  });
  const typing = typedIn(input); // holds text that was not yet taken
  const put = (text) => {
    good = text;
    if (!typing.on) input.value = text;
  };
  const restore = () => {
    typing.on = false;
    input.value = good;
    input.removeAttribute("aria-invalid");
  };
  // What was refused stays in the box to be mended; what was taken makes room for its print.
  const judge = (refused) => {
    if (refused && typing.on) input.setAttribute("aria-invalid", "true");
    else if (document.activeElement !== input || input.dataset.sent) restore();
    delete input.dataset.sent;
  };
  const send = () => {
    if (!typing.on) return;
    const refused = input.hasAttribute("aria-invalid");
    const emptied = input.value.trim() === "" && (row.empty === undefined || good === "");
    if (emptied || (input.value === good && !refused)) restore();
    else {
      input.dataset.sent = "yes";
      typed(input.value.trim());
    }
  };
  input.addEventListener("change", send);
  input.addEventListener("keydown", (event) => {
    if (event.key === "Escape") restore();
    if (event.key === "Enter") {
      send();
      input.select();
    }
    const way = { ArrowUp: 1, ArrowDown: -1 }[event.key];
    if (way && step) {
      event.preventDefault();
      restore();
      step(way);
    }
  });
  const unit = h("span", { class: "unit", "aria-hidden": "true" }, row.symbol || "");
  return { node: h("span", { class: "box" }, input, unit), input, put, judge };
};

// One line under a row: what was refused, or what moved along.
const fault = () => {
  const id = unique();
  const node = h("p", { class: "fault", id, role: "alert", hidden: true });
  const put = (refused, remark = "") => {
    const text = refused || remark;
    node.hidden = !text;
    node.classList.toggle("remark", !refused);
    node.setAttribute("role", refused ? "alert" : "status");
    if (node.textContent !== text) node.textContent = text;
  };
  return { id, node, put };
};

const sliderRow = (row, edit) => {
  const id = unique();
  const wrong = fault();
  let stops = [0];
  let number = 0;
  const range = h("input", {
    type: "range",
    id,
    min: 0,
    step: 1,
    "aria-label": row.spoken || null,
    "aria-describedby": wrong.id,
  });
  const moveTo = (index) => {
    const to = Math.max(0, Math.min(stops.length - 1, index));
    if (stops[to] === number) return;
    show(stops[to], printed(stops[to]));
    edit({ do: "set", path: row.path, number });
  };
  const box = boxed(row, {
    typed: (text) => edit({ do: "type", path: row.path, text }),
    step: (way) => moveTo(stops.indexOf(number) + way),
    described: wrong.id,
  });
  const show = (value, text) => {
    number = value;
    stops = stopsOf(row, value);
    const at = stops.findIndex((stop) => Math.abs(stop - value) < 1e-6);
    range.max = stops.length - 1;
    range.value = at;
    range.style.setProperty("--at", `${(100 * at) / Math.max(1, stops.length - 1)}%`);
    range.setAttribute("aria-valuetext", `${text} ${row.symbol}`);
    box.put(text);
  };
  range.addEventListener("input", () => moveTo(Number(range.value)));
  range.addEventListener("pointerdown", () => edit({ do: "hold", path: row.path })); // a key is let go at once
  const node = h(
    "div",
    { class: "row slider" },
    h("label", { for: id }, row.label),
    range,
    box.node,
    wrong.node,
  );
  const judged = (refused, remark) => {
    box.judge(refused);
    wrong.put(refused, remark);
  };
  return { node, set: ([value, text]) => show(value, text), fault: judged };
};

const numberRow = (row, edit) => {
  const wrong = fault();
  const box = boxed(row, {
    typed: (text) => edit({ do: "type", path: row.path, text }),
    described: wrong.id,
  });
  const node = h("div", { class: "row" }, h("span", { class: "name" }, row.label), box.node, wrong.node);
  const judged = (refused, remark) => {
    box.judge(refused);
    wrong.put(refused, remark);
  };
  return { node, set: ([, text]) => box.put(text), fault: judged };
};

const choiceRow = (row, edit) => {
  const name = unique();
  const inputs = new Map();
  const cells = row.options.map(([value, text, spoken]) => {
    const input = h("input", { type: "radio", name, value, "aria-label": spoken || null });
    input.addEventListener("change", () => edit({ do: "pick", path: row.path, value }));
    inputs.set(value, input);
    return h("label", {}, input, h("span", {}, text));
  });
  if (row.symbol) cells.push(h("span", { class: "unit", "aria-hidden": "true" }, row.symbol));
  const group = h("div", { class: "choice", role: "radiogroup", "aria-label": row.spoken || row.label }, ...cells);
  const wrong = fault();
  const label = row.shape === "bare" ? [] : [h("span", { class: "name", "aria-hidden": "true" }, row.label)];
  const node = h("div", { class: `row ${row.shape || ""}` }, ...label, group, wrong.node);
  const set = (value) => {
    for (const [each, input] of inputs) input.checked = each === value;
  };
  return { node, set, fault: wrong.put };
};

const pickRow = (row, edit) => {
  const id = unique();
  const wrong = fault();
  const options = row.options.map(([value, text]) => h("option", { value }, text));
  const select = h("select", { id, "aria-label": row.spoken || null, "aria-describedby": wrong.id }, ...options);
  select.addEventListener("change", () => edit({ do: "pick", path: row.path, value: select.value }));
  const node = h("div", { class: "row" }, h("label", { for: id }, row.label), select, wrong.node);
  return { node, set: (value) => { select.value = value; }, fault: wrong.put };
};

const counter = (id, row, edit) => {
  const input = h("input", { id, type: "number", min: row.least || 0, max: row.most, step: 1, inputmode: "numeric" });
  if (row.spoken) input.setAttribute("aria-label", row.spoken);
  const typing = typedIn(input); // holds a number that was not yet sent: an answer on its way must not take it
  input.addEventListener("change", () => {
    typing.on = false;
    if (input.validity.valid && input.value !== "") {
      input.dataset.shown = input.value;
      edit({ do: "pick", path: row.path, value: Number(input.value) });
    }
  });
  input.addEventListener("blur", () => {
    typing.on = false;
    input.value = input.dataset.shown;
  });
  const put = (value) => {
    input.dataset.shown = value;
    if (!typing.on) input.value = value;
  };
  return { input, put };
};

const countRow = (row, edit) => {
  const id = unique();
  const { input, put } = counter(id, row, edit);
  const wrong = fault();
  const node = h("div", { class: "row count" }, h("label", { for: id }, row.label), input, wrong.node);
  return { node, set: put, fault: wrong.put };
};

// A choice and a count in one row: what stands in the water, and how many bends.
const pairRow = (row, edit) => {
  const made = pickRow(row, edit);
  const id = unique();
  const { input, put } = counter(id, row.second, edit);
  made.node.classList.add("pair");
  made.node.lastChild.before(h("label", { for: id }, row.second.label), input);
  return { ...made, set: ([value, count]) => { made.set(value); put(count); } };
};

// The points of the route as a table: what the drawing shows, for the keyboard too.
const pointsRow = (row, edit, column) => {
  const body = h("tbody");
  const said = h("b", {});
  const summary = h("summary", {}, h("span", { class: "name" }, row.label), said);
  const add = h("button", { type: "button", class: "quiet" }, "Add a point");
  add.addEventListener("click", () => {
    column.wish(row.path, "last");
    edit({ do: "add-point" });
  });
  const head = h("tr", {}, ...["Point", `Along, ${row.symbol}`, `Height, ${row.symbol}`].map((t) => h("th", { scope: "col" }, t)));
  head.append(h("td"));
  const table = h("table", {}, h("thead", {}, head), body);
  const wrong = fault();
  const details = h("details", { open: column.opened.has(row.path) }, summary, table, add);
  details.addEventListener("toggle", () => {
    if (details.open) column.opened.add(row.path);
    else column.opened.delete(row.path);
  });
  const node = h("div", { class: "row points" }, details, wrong.node);
  let boxes = [];
  const line = (place) => {
    const cell = (what, symbol) => {
      const path = `${row.path}.${place}.${what}`;
      const made = boxed({ label: "", symbol }, { typed: (text) => edit({ do: "type", path, text }) });
      made.node.lastChild.remove();
      return made;
    };
    const cells = { name: cell("name", ""), distance: cell("distance", row.symbol), height: cell("height", row.symbol) };
    cells.name.input.setAttribute("inputmode", "text");
    cells.name.node.classList.add("text");
    const drop = h("button", { type: "button", class: "quiet" }, "×");
    drop.addEventListener("click", () => {
      column.wish(row.path, place);
      edit({ do: "drop-point", place });
    });
    const [name, ...numbers] = Object.values(cells).map((each) => each.node);
    body.append(h("tr", {}, h("th", { scope: "row" }, name), ...numbers.map((n) => h("td", {}, n)), h("td", {}, drop)));
    const call = (text) => {
      cells.name.input.setAttribute("aria-label", `${text}, name`);
      cells.distance.input.setAttribute("aria-label", `${text}, along the hose, in ${row.symbol}`);
      cells.height.input.setAttribute("aria-label", `${text}, height, in ${row.symbol}`);
      drop.setAttribute("aria-label", `Take out ${text}`);
    };
    return { ...cells, drop, call };
  };
  const set = ({ points, text }) => {
    said.textContent = text;
    if (points.length !== boxes.length) {
      body.replaceChildren();
      boxes = points.map((_, place) => line(place));
    }
    table.hidden = points.length === 0;
    points.forEach(([name, distance, height], place) => {
      const at = boxes[place];
      at.call(name);
      at.name.put(name);
      at.distance.put(distance);
      at.height.put(height);
    });
  };
  const judged = (refused, remark) => {
    for (const { name, distance, height } of boxes) for (const cell of [name, distance, height]) cell.judge(refused);
    wrong.put(refused, remark);
  };
  // Where the focus goes once a point is put in or taken out.
  const part = (which) => {
    if (which === "last") return boxes[boxes.length - 1].name.input;
    return boxes.length ? boxes[Math.min(which, boxes.length - 1)].drop : add;
  };
  return { node, set, fault: judged, part };
};

const noteRow = (row) => ({ node: h("p", { class: "note" }, row.label), set: () => {}, fault: () => {} });

const ROWS = {
  slider: sliderRow,
  number: numberRow,
  choice: choiceRow,
  pick: pickRow,
  count: countRow,
  pair: pairRow,
  points: pointsRow,
  note: noteRow,
};
