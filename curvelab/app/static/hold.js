// Handles on a picture: real focusable elements over the canvas, where the server says that they stand. What a place
// under the pointer means is the server's business too; here it is only told which handle is held, and where.
//
// A finger first wakes a handle with a tap. Until then it scrolls the page, wherever it lands.

const FIRST_PX = 3; // a pointer that moves less hasn't dragged
const SECOND_PX = 16; // across its first way a handle moves when it is pulled further than this
const PAGE_STEPS = 10;
const END_STEPS = 99999;
const PARTS = { water: "lift", pump: "gauge", flow: "flow", foot: "asks", level: "lift" }; // what a handle stands on

const holdStage = (stage, edit) => {
  const picture = stage.dataset.stage;
  const layer = h("div", { class: "holds", role: "group", "aria-label": stage.dataset.handles });
  const grips = new Map();
  const bubble = h("div", { class: "bubble", hidden: true });
  const told = h("span", { "aria-hidden": "true" });
  bubble.append(told);
  let active = null; // key of the handle that is focused or awake
  let fault = "";
  let fresh = null; // where a point was asked for, until it is here
  let corners = [];

  const send = (what) => edit({ ...what, path: `${picture}:${what.path}` });
  const place = (node, x, y) => {
    node.style.left = `${x}px`;
    node.style.top = `${y}px`;
  };

  const drop = (key) => {
    const { spec } = grips.get(key);
    if (spec.drop === null) return;
    edit({ do: "drop-point", place: spec.drop });
    const keys = [...grips.keys()];
    const next = grips.get(keys[keys.indexOf(key) + 1]);
    if (next.spec.drop === null) next.node.focus(); // else the point after it takes its key, and so its element
    else grips.get(key).node.focus();
  };
  const out = h("button", { type: "button", onclick: () => drop(active) });

  const tell = () => {
    const grip = grips.get(active);
    bubble.hidden = !grip;
    if (!grip) return;
    told.textContent = fault || grip.text;
    bubble.classList.toggle("refused", fault !== "");
    out.textContent = `Take out ${grip.spec.name}`;
    if (grip.spec.drop === null) out.remove();
    else bubble.append(out);
    const wide = bubble.offsetWidth;
    const left = Math.max(0, Math.min(layer.clientWidth - wide, grip.x - wide / 2));
    const above = grip.y - 18 - bubble.offsetHeight;
    place(bubble, left, above >= -28 ? above : grip.y + 18);
  };
  const wake = (key) => {
    active = key;
    for (const [each, { node }] of grips) node.classList.toggle("awake", each === key);
    tell();
  };

  const drag = (key, event) => {
    const { node, spec } = grips.get(key);
    const { clientX: fromX, clientY: fromY } = event;
    let first = spec.ways === "xy" ? "" : spec.ways;
    let both = false;
    let begun = false;
    node.setPointerCapture(event.pointerId);
    edit({ do: "hold", path: `${picture}:${key}` });
    const move = ({ clientX, clientY, shiftKey }) => {
      const dx = clientX - fromX;
      const dy = clientY - fromY;
      begun = begun || Math.hypot(dx, dy) >= FIRST_PX;
      if (!begun) return;
      if (!first) first = Math.abs(dx) > Math.abs(dy) ? "x" : "y";
      both = both || (spec.ways === "xy" && Math.abs(first === "x" ? dy : dx) > SECOND_PX);
      const off = [both || first === "x" ? dx : null, both || first === "y" ? dy : null];
      send({ do: "drag", path: key, off, fine: shiftKey });
    };
    const end = () => {
      node.removeEventListener("pointermove", move);
      node.classList.remove("held");
    };
    node.classList.add("held");
    node.addEventListener("pointermove", move);
    for (const ending of ["pointerup", "pointercancel"]) node.addEventListener(ending, end, { once: true });
  };

  const press = (key, event) => {
    if (event.button !== 0) return;
    const { node } = grips.get(key);
    if (event.pointerType === "touch" && !node.classList.contains("awake")) return;
    event.preventDefault(); // no text is marked on the way
    node.focus({ preventScroll: true });
    wake(key);
    drag(key, event);
  };

  const keys = (key, event) => {
    const { spec } = grips.get(key);
    if (event.key === "Delete" || event.key === "Backspace") {
      event.preventDefault();
      if (!event.repeat) drop(key);
      return;
    }
    const step = {
      ArrowUp: [0, 1], ArrowDown: [0, -1], ArrowRight: [1, 0], ArrowLeft: [-1, 0],
      PageUp: [0, PAGE_STEPS], PageDown: [0, -PAGE_STEPS], End: [0, END_STEPS], Home: [0, -END_STEPS],
    }[event.key];
    if (!step || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    active = key;
    const sum = step[0] + step[1];
    const by = spec.ways === "y" ? [0, sum] : spec.ways === "x" ? [sum, 0] : step;
    send({ do: "nudge", path: key, by, fine: event.shiftKey });
  };

  const make = (spec) => {
    const { key } = spec;
    const node = h("div", { class: `grip ways-${spec.ways}`, role: "slider", tabindex: 0, "data-key": key });
    node.dataset.part = PARTS[key] || (key.startsWith("booster.") ? "discharge" : key);
    node.addEventListener("pointerdown", (event) => press(key, event));
    node.addEventListener("click", () => {
      node.focus({ preventScroll: true });
      wake(key);
    });
    node.addEventListener("keydown", (event) => keys(key, event));
    node.addEventListener("focus", () => {
      active = key;
      tell();
    });
    return { node, spec, x: 0, y: 0, text: "" };
  };

  const sleep = () => {
    if (active !== null) wake(null);
  };
  layer.addEventListener("focusout", (event) => {
    if (!layer.contains(event.relatedTarget)) sleep();
  });
  layer.addEventListener("keydown", (event) => {
    if (event.key === "Escape") sleep();
  });
  document.addEventListener("pointerdown", (event) => {
    if (!layer.contains(event.target)) sleep();
  });

  // The hose: a broad unseen line that shows where a click would put a point.
  const svg = svgNode("svg", { "aria-hidden": "true" });
  const line = svgNode("polyline", { "data-part": "discharge" });
  const ring = h("i", { class: "fresh", hidden: true });
  svg.append(line);
  const local = (event) => {
    const box = layer.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  line.addEventListener("pointermove", (event) => {
    ring.hidden = event.pointerType === "touch";
    place(ring, ...nearest(corners, ...local(event)));
  });
  line.addEventListener("pointerleave", () => { ring.hidden = true; });
  const add = (x, y) => {
    fresh = { x, y, count: [...grips.values()].filter(({ spec }) => spec.drop !== null).length };
    send({ do: "add-at", path: "hose", at: [x, y] });
  };
  // A mouse sees beforehand where its point will be; a finger is asked.
  let touched = false;
  line.addEventListener("pointerdown", (event) => { touched = event.pointerType === "touch"; });
  line.addEventListener("click", (event) => {
    const [x, y] = local(event);
    if (!touched) {
      add(x, y);
      return;
    }
    const more = h("button", { type: "button", class: "quiet" }, "Put a point here");
    more.addEventListener("click", () => add(x, y));
    stage.dispatchEvent(new CustomEvent("explain", { detail: { key: "discharge", anchor: line, more } }));
  });
  layer.append(svg, ring);
  stage.append(layer);

  // Handles by key: those that stay keep their element, and with it the focus.
  const build = (specs) => {
    const known = new Map(grips);
    grips.clear();
    for (const spec of specs) {
      const grip = known.get(spec.key) || make(spec);
      known.delete(spec.key);
      if (grip.spec.ways !== spec.ways) grip.node.className = `grip ways-${spec.ways}`;
      grip.spec = spec;
      grip.node.setAttribute("aria-label", spec.name);
      grip.node.setAttribute("aria-valuemin", spec.ends[0]);
      grip.node.setAttribute("aria-valuemax", spec.ends[1]);
      grips.set(spec.key, grip);
    }
    for (const { node } of known.values()) node.remove();
    if (!grips.has(active)) active = null;
    const nodes = [...grips.values()].map(({ node }) => node);
    if (nodes.some((node, at) => layer.children[at + 2] !== node)) layer.append(...nodes, bubble);
  };

  const show = (rows, faults) => {
    const all = [...grips.values()];
    if (rows.length !== all.length) return;
    rows.forEach(([x, y, number, text], at) => {
      const grip = Object.assign(all[at], { x, y, text });
      place(grip.node, x, y);
      grip.node.setAttribute("aria-valuenow", number);
      grip.node.setAttribute("aria-valuetext", text);
    });
    corners = all.filter(({ spec }) => spec.hose).flatMap(({ x, y }) => [x, y]);
    line.setAttribute("points", corners.join(" "));
    fault = Object.values(faults)[0] || "";
    const points = all.filter(({ spec }) => spec.drop !== null);
    if (fresh && points.length > fresh.count) {
      const away = ({ x, y }) => Math.hypot(x - fresh.x, y - fresh.y);
      const [next] = points.sort((a, b) => away(a) - away(b));
      fresh = null;
      next.node.focus({ preventScroll: true });
      wake(next.spec.key);
    }
    tell();
  };

  return { picture, build, show };
};

// The place on a line of corners (x and y in turn) that is nearest to a pixel.
const nearest = (corners, x, y) => {
  let best = [x, y];
  let least = Infinity;
  for (let at = 0; at + 3 < corners.length; at += 2) {
    const [ax, ay, bx, by] = corners.slice(at, at + 4);
    const square = (bx - ax) ** 2 + (by - ay) ** 2;
    const share = square ? Math.max(0, Math.min(1, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / square)) : 0;
    const found = [ax + share * (bx - ax), ay + share * (by - ay)];
    const away = Math.hypot(found[0] - x, found[1] - y);
    if (away < least) [best, least] = [found, away];
  }
  return best;
};
