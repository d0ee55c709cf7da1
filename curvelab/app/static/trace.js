// The trace editor: a picture comes in, its axes are marked, its curves clicked and mended, the points go to the form.

import { makeCurves } from "./tracecurves.js";
import { axesUsed, axisOf, makeFollow } from "./tracefollow.js";
import { fresh, makeKeep, store, stored } from "./tracekeep.js";
import { makeMarks } from "./tracemarks.js";
import { makeOver } from "./traceover.js";
import { makePicture } from "./tracepicture.js";
import { makeStage } from "./tracestage.js";

const QUIET = 350; // ms without a change until the server is asked
const NEAR = 0.06; // of the picture's side: marks as near to one line share its number
const HELP = {
  move: "Drag to move it; wheel, pinch, + and − change its size, 0 shows all of it.",
  mark: "Click where a number of both axes is known. With keys: arrows move a cross (with Shift finely), Enter marks.",
  seed: "Click on the curve, where it runs clear of other lines. With keys: arrows, then Enter.",
  mend: "Drag a point, or click beside them to add one. With keys: arrows move a point, Delete takes it out, Enter adds one at the cross.",
};

const root = document.getElementById("tracer");
const part = (name) => root.querySelector(`[data-${name}]`);
const each = (query) => [...root.querySelectorAll(query)];
const stageNode = root.querySelector(".stage");
const overNode = stageNode.querySelector(".over");
const bench = root.querySelector(".tracing");
const tone = (name) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
const tell = (text) => { part("told").textContent = text; };

let tool = "mark";
let quiet = 0;
let dragging = null;

// --- what stands, and what is shown of it

const units = () => Object.fromEntries(each("[data-unit-of]").map(({ dataset, value }) => [dataset.unitOf, value]));
const pressures = JSON.parse(part("pressures").dataset.pressures);
const keep = makeKeep(fresh(units()), () => changed());
const now = () => keep.now;
const active = () => now().curves.find(({ id }) => id === now().active);
const result = (curve) => (curve ? follow.outcome(curve.id).result : undefined);
const points = () => active()?.points || result(active())?.points || [];
const putMarks = (marks, how) => keep.put({ ...now(), marks }, how);
const putCurve = (id, change, how) => keep.put({
  ...now(), curves: now().curves.map((curve) => (curve.id === id ? { ...curve, ...change } : curve)),
}, how);

const overlay = () => {
  const { marks, curves } = now();
  const lines = follow.axes.lines.map((line) => ["axes", line]);
  for (const curve of curves) {
    const found = result(curve);
    const other = curve.id === now().active ? "" : " other";
    if (!found) continue;
    for (const [kind, piece] of found.seen) lines.push([`${kind}${other}`, piece]);
    if (curve.points || !found.seen.length) lines.push([`placed${other}`, found.line]);
  }
  over.drawLines(lines);
  const handles = marks.map((mark, place) => {
    const said = axesUsed(now()).filter((axis) => mark[axis]).map((axis) => `${axis} ${mark[axis]}`).join(", ");
    return {
      id: `mark ${mark.id}`, x: mark.at[0], y: mark.at[1], kind: "mark", live: tool === "mark", text: String(place + 1),
      label: `Mark ${place + 1}: ${said || "no numbers yet"}`,
    };
  });
  const curve = active();
  if (curve?.seed && !result(curve)) {
    handles.push({ id: "seed", x: curve.seed[0], y: curve.seed[1], kind: "seed", live: false, label: "Where the curve was clicked" });
  }
  points().forEach(([x, y, hand], place) => handles.push({
    id: `point ${place}`, x, y, kind: hand ? "point hand" : "point", live: tool === "mend",
    label: `Point ${place + 1}: ${result(curve)?.texts[place] || "just placed"}`,
  }));
  over.drawHandles(handles);
};

const faults = () => {
  const { faults: wrong } = follow.axes;
  marksTable.faults(wrong);
  const typed = now().marks.some((mark) => axesUsed(now()).some((axis) => mark[axis]));
  const other = wrong.filter(({ field }) => !/^mark\.\d/.test(field || ""));
  part("axes-fault").textContent = typed ? other.map(({ got }) => got).join(" ") : "";
};

const show = () => {
  const state = now();
  const used = axesUsed(state);
  for (const axis of ["efficiency", "power"]) root.querySelector(`[data-axis="${axis}"]`).hidden = !used.includes(axis);
  for (const select of each("[data-unit-of]")) select.value = state.units[select.dataset.unitOf];
  for (const select of each("[data-scale-of]")) select.value = state.scales[select.dataset.scaleOf];
  part("pressures").textContent = pressures[state.units.head] || "";
  part("pressures").hidden = !pressures[state.units.head];
  marksTable.show(state.marks, used);
  faults();
  curvesList.show(state, follow.outcome);
  const can = keep.can();
  part("undo").disabled = !can.undo;
  part("redo").disabled = !can.redo;
  const found = result(active());
  part("strip").innerHTML = found?.strip || ""; // the server's own drawing
  part("strip-said").textContent = found?.strip_said || "";
  for (const input of part("tools").querySelectorAll("input")) input.checked = input.value === tool;
  part("help").textContent = HELP[tool];
  stage.use(tool);
  overlay();
};
const save = () => { if (picture.now) store({ picture: picture.now, state: now(), tool }); };
const changed = () => {
  show();
  save();
  clearTimeout(quiet);
  quiet = setTimeout(follow.run, QUIET);
};
const use = (name) => {
  tool = name;
  show();
  save();
};

// --- what the server says

const handed = (detail) => {
  const count = Object.keys(detail.tables).length;
  part("handed").textContent = count
    ? `The form below has ${count > 1 ? "these curves" : "this curve"} now. Name the pump and fill in what else you know.`
    : "As soon as a head curve is traced, its points go into the form below.";
  part("to-form").disabled = !count;
  part("marks-file").disabled = !count;
  part("marks-file").dataset.text = detail.marks || "";
  root.dispatchEvent(new CustomEvent("traced", { bubbles: true, detail }));
};
let known = false; // the axes were
const told = (what, of) => {
  if (what === "handed") {
    handed(of);
    save();
    return;
  }
  const fine = follow.axes.ready;
  if (what === "axes" && fine && !known && tool === "mark" && now().marks.length >= 4 && !now().curves.some(({ seed, points: own }) => seed || own)) {
    tool = "seed";
    tell("The axes are known: the dashed lines should lie on the chart’s own. Now click on the curve.");
  }
  if (what === "axes") known = fine;
  const mine = of && of.id === now().active;
  if (what === "busy" && mine && !of.points) tell("Following the line…");
  if (what === "traced" && mine && !of.points) tell(`Traced. ${result(of).said.reach} ${result(of).said.fit}`);
  if (what === "refused" && mine) tell(follow.outcome(of.id).faults.map(({ got }) => got).join(" "));
  show();
};

// --- marks and points by hand

const round = (at) => at.map((value) => Math.round(value * 100) / 100);
const guess = ([x, y]) => {
  const said = {};
  const [wide, high] = [NEAR * picture.now.width, NEAR * picture.now.height];
  for (const mark of now().marks) {
    if (mark.flow && Math.abs(mark.at[0] - x) < wide) said.flow ??= mark.flow;
    for (const axis of ["head", "efficiency", "power"]) {
      if (mark[axis] && Math.abs(mark.at[1] - y) < high) said[axis] ??= mark[axis];
    }
  }
  return said;
};

const pick = (at, by) => {
  const { marks } = now();
  if (tool === "mark") {
    const id = Math.max(0, ...marks.map((mark) => mark.id)) + 1;
    putMarks([...marks, { id, at: round(at), ...guess(at) }]);
    tell(`Mark ${marks.length + 1} placed: type the numbers that are printed there.`);
    if (by === "mouse") marksTable.empty(marks.length)?.focus();
  } else if (tool === "seed" && active()) {
    follow.forget(active().id);
    tell(follow.axes.ready ? "Following the line…" : "The axes come first: mark them, and type their numbers.");
    putCurve(active().id, { seed: round(at), points: null });
  } else if (tool === "mend" && active()) {
    putCurve(active().id, { points: [...points(), [...round(at), 1]] });
    tell("A point added.");
  }
};

const target = (id) => ({ kind: id.split(" ")[0], number: Number(id.split(" ")[1]) });
const moved = (id, at, how) => {
  const { kind, number } = target(id);
  const to = round(at.map((value, axis) => Math.min([picture.now.width, picture.now.height][axis], Math.max(0, value))));
  if (kind === "mark") putMarks(now().marks.map((mark) => (mark.id === number ? { ...mark, at: to } : mark)), how);
  else if (active()) putCurve(active().id, { points: points().map((point, place) => (place === number ? [...to, 1] : point)) }, how);
};
const takeOut = (id) => {
  const { kind, number } = target(id);
  const next = over.neighbour(id, 1);
  if (kind === "mark") putMarks(now().marks.filter((mark) => mark.id !== number));
  else if (active()) putCurve(active().id, { points: points().filter((_, place) => place !== number) });
  (next?.isConnected ? next : stageNode).focus();
};

// --- the parts

const over = makeOver(overNode);
const stage = makeStage(stageNode, {
  pick,
  drag: (id, at) => {
    dragging = at;
    over.move(id, at);
  },
  dropped: (id) => {
    if (id && dragging) moved(id, dragging);
    else if (dragging) overlay();
    dragging = null;
  },
  look: over.look,
  colours: { paper: tone("paper"), sheet: tone("sheet"), ink: tone("ink") },
});
const picture = makePicture(root, {
  shown: async (address, { name, width, height }) => {
    part("drop").hidden = true;
    bench.hidden = false;
    stageNode.querySelector("img").alt = `The picture ${name}`;
    try {
      await stage.open(address, width, height);
    } catch (error) {
      part("drop").hidden = false;
      bench.hidden = true;
      throw error;
    }
  },
  opened: (same) => {
    follow.clear();
    if (same) {
      changed();
      return;
    }
    tool = "mark";
    keep.reset(fresh(units()));
    tell("Mark a place whose two numbers you can read, such as the corner of the grid.");
  },
});
const follow = makeFollow({ keep, picture, told, width: () => part("strip").clientWidth });
const marksTable = makeMarks(part("marks"), {
  type: (id, axis, value) => putMarks(
    now().marks.map((mark) => (mark.id === id ? { ...mark, [axis]: value } : mark)), { group: `${axis}${id}` },
  ),
  remove: (id) => putMarks(now().marks.filter((mark) => mark.id !== id)),
  focus: (id) => stage.show(now().marks.find((mark) => mark.id === id).at),
});
const curvesList = makeCurves(part("curves"), {
  change: (id, change, group = "") => putCurve(id, change, { group }),
  choose: (id) => keep.put({ ...now(), active: id }),
  own: (id) => keep.put({ ...now(), own: id }),
  again: (id) => putCurve(id, { points: null }),
  remove: (id) => {
    follow.forget(id);
    const left = now().curves.filter((curve) => curve.id !== id);
    const curves = left.length ? left : fresh(units()).curves;
    keep.put({ ...now(), curves, active: curves[curves.length - 1].id });
    part("add").focus();
  },
});

// --- keys and buttons

const MOVES = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
overNode.addEventListener("keydown", (event) => {
  const node = event.target.closest("[data-handle]");
  if (!node) return;
  const { key } = event;
  const id = node.dataset.handle;
  if (MOVES[key]) {
    const by = (event.shiftKey ? 8 : 1) / stage.scale();
    const at = [Number(node.dataset.x) + by * MOVES[key][0], Number(node.dataset.y) + by * MOVES[key][1]];
    moved(id, at, { group: `keys ${id}` });
    stage.show(at);
    stage.magnify(at);
  } else if (key === "Delete" || key === "Backspace") takeOut(id);
  else if (key === "PageDown" || key === "PageUp") over.neighbour(id, key === "PageDown" ? 1 : -1)?.focus();
  else return;
  event.preventDefault();
  event.stopPropagation();
});
overNode.addEventListener("focusin", (event) => {
  const node = event.target.closest("[data-handle]");
  if (!node) return;
  for (const other of overNode.querySelectorAll("[data-handle]")) other.setAttribute("tabindex", other === node ? "0" : "-1");
  if (node.matches(":focus-visible")) stage.show([Number(node.dataset.x), Number(node.dataset.y)]);
});
overNode.addEventListener("focusout", stage.hideLens);
root.addEventListener("keydown", (event) => {
  const key = event.key.toLowerCase();
  if (!(event.ctrlKey || event.metaKey) || !["z", "y"].includes(key) || event.target.matches("input:not([type=radio])")) return;
  event.preventDefault();
  (key === "y" || event.shiftKey ? keep.redo : keep.undo)();
});
part("undo").addEventListener("click", keep.undo);
part("redo").addEventListener("click", keep.redo);
for (const button of each("[data-zoom]")) {
  button.addEventListener("click", () => (button.dataset.zoom === "fit" ? stage.fit() : stage.zoom(button.dataset.zoom === "in" ? 1.5 : 1 / 1.5)));
}
for (const input of part("tools").querySelectorAll("input")) input.addEventListener("change", () => use(input.value));
for (const [name, query, key] of [["units", "[data-unit-of]", "unitOf"], ["scales", "[data-scale-of]", "scaleOf"]]) {
  for (const select of each(query)) {
    select.addEventListener("change", () => keep.put({ ...now(), [name]: { ...now()[name], [select.dataset[key]]: select.value } }));
  }
}
part("add").addEventListener("click", () => {
  const { curves } = now();
  const id = Math.max(...curves.map((curve) => curve.id)) + 1;
  const quantity = curves.some((curve) => curve.quantity === "npshr") ? "efficiency" : "npshr";
  keep.put({ ...now(), curves: [...curves, { id, quantity, name: "", seed: null, points: null }], active: id });
  use("seed");
  tell("Say what it shows, then click on it.");
  curvesList.focus(id);
});
part("to-form").addEventListener("click", () => document.getElementById("f-name").focus());
part("other").addEventListener("click", () => {
  bench.hidden = true;
  part("drop").hidden = false;
  picture.close();
  follow.clear();
  keep.reset(fresh(units()));
  store(null);
  handed(follow.NOTHING);
});
part("marks-file").addEventListener("click", () => {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([part("marks-file").dataset.text], { type: "application/toml" }));
  link.download = `${picture.now.name.replace(/\.[^.]*$/, "")}.frame.toml`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
});

// --- after a reload: marks and curves are in the tab's store, the picture as long as the server holds it

const kept = stored();
if (kept) {
  tool = kept.tool || "mark";
  keep.reset(kept.state);
  picture.again(kept.picture).then((held) => { if (held) changed(); });
} else {
  show();
}
