// What lies over the picture: lines of the axes, traces, marks and points. Marks and points are buttons that arrow keys
// move; their places come in pixels of the picture, their size stays the same on the screen.

const NS = "http://www.w3.org/2000/svg";
const svg = (tag, attributes, ...children) => {
  const node = document.createElementNS(NS, tag);
  for (const [name, value] of Object.entries(attributes)) if (value !== null) node.setAttribute(name, value);
  node.append(...children);
  return node;
};

export const makeOver = (root) => {
  const lines = svg("g", { class: "lines" });
  const handles = svg("g", { class: "handles" });
  const cross = svg("path", { class: "cross", d: "M-14 0H-4M4 0H14M0 -14V-4M0 4V14" });
  root.append(lines, handles, cross);
  const known = new Map();
  let view = null;

  const path = (points) => `M${points.map(([x, y]) => `${x} ${y}`).join("L")}`;
  const placed = (node) => {
    const [x, y] = view.toStage([Number(node.dataset.x), Number(node.dataset.y)]);
    node.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
    const edge = x > root.clientWidth - 28; // the number keeps within the stage
    node.lastChild.setAttribute("x", edge ? -10 : 10);
    node.lastChild.setAttribute("text-anchor", edge ? "end" : "start");
    node.lastChild.setAttribute("y", y < 24 ? 20 : -9);
  };

  // Lines are [class, points]; a halo under each keeps it visible on any ground.
  const drawLines = (wanted) => {
    lines.replaceChildren(...wanted.flatMap(([name, points]) => (name === "axes" ? [] : [
      svg("path", { class: "halo", d: path(points) }),
    ]).concat(svg("path", { class: name, d: path(points) }))));
  };

  // Handles are { id, x, y, kind, label, text, live }; those that stay keep their node, and with it the focus.
  const drawHandles = (wanted) => {
    const left = new Set(known.keys());
    let first = true;
    for (const { id, x, y, kind, label, text, live } of wanted) {
      left.delete(id);
      let node = known.get(id);
      if (!node) {
        node = svg("g", { "data-handle": id, role: "button" },
          svg("circle", { class: "reach", r: 15 }), svg("circle", { class: "dot", r: kind === "mark" ? 7 : 5 }),
          svg("path", { class: "pin", d: "M-4 0H4M0 -4V4" }), svg("text", { x: 10, y: -9 }));
        known.set(id, node);
        handles.append(node);
      }
      Object.assign(node.dataset, { x, y });
      node.setAttribute("class", `${kind}${live ? "" : " quiet"}`);
      node.setAttribute("aria-label", label);
      node.setAttribute("aria-description", "Arrow keys move it, Delete takes it out, Page Down is the next.");
      // one stop of the tab key for all of them
      node.setAttribute("tabindex", live && (node === document.activeElement || (first && !handles.contains(document.activeElement))) ? "0" : "-1");
      if (live) first = false;
      node.lastChild.textContent = text || "";
      if (view) placed(node);
    }
    for (const id of left) {
      known.get(id).remove();
      known.delete(id);
    }
    if (handles.children.length && ![...handles.children].some((node) => node.tabIndex === 0)) {
      const live = [...handles.children].find((node) => !node.classList.contains("quiet"));
      if (live) live.setAttribute("tabindex", "0");
    }
  };

  return {
    drawLines,
    drawHandles,
    node: (id) => known.get(id),
    look: (now) => {
      view = now;
      lines.setAttribute("transform", `translate(${now.x} ${now.y}) scale(${now.scale})`);
      for (const node of known.values()) placed(node);
      cross.setAttribute("visibility", now.cross ? "visible" : "hidden");
      if (now.cross) {
        const [x, y] = now.toStage(now.cross);
        cross.setAttribute("transform", `translate(${x.toFixed(1)} ${y.toFixed(1)})`);
      }
    },
    move: (id, [x, y]) => {
      const node = known.get(id);
      if (!node) return;
      Object.assign(node.dataset, { x, y });
      placed(node);
    },
    neighbour: (id, step) => {
      const live = [...known.entries()].filter(([, node]) => !node.classList.contains("quiet"));
      const at = live.findIndex(([each]) => each === id);
      return live.length ? live[(at + step + live.length) % live.length][1] : null;
    },
  };
};
