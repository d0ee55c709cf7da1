// Pointing at parts of the pictures. Where they lie and what is said of them comes only when it is asked for: the
// shapes when a pointer is over a picture, the words when it rests on a part. One card shows them, beside the part; a
// list of all parts does the same for keys and fingers.

const REST = 400; // ms on a part until it is explained
const REST_ON_HANDLE = 1000; // a handle is more likely to be grasped
const LINGER = 250; // ms off it until the card goes, so that the pointer can reach the card
const GAP = 10; // px between part and card

const pointing = (stages, edit, busy) => {
  const card = h("div", { class: "part-card", hidden: true });
  document.getElementById("page").append(card);
  const phone = window.matchMedia("(max-width: 759px)");
  let revision = null;
  let words = new Map(); // what has been said at this revision, by key
  let shown = null; // { key, stage, pinned, inside }
  let timer = 0;

  const over = (box, other) =>
    box.left < other.right && other.left < box.right && box.top < other.bottom && other.top < box.bottom;

  // Beside the part, on the screen, and if it can be clear of the operating point.
  const put = () => {
    const { key, view } = shown;
    const anchor = view.rect(key, shown.anchor);
    const free = view.free();
    const { offsetWidth: width, offsetHeight: height } = card;
    const screen = { left: 4, top: 4, right: document.documentElement.clientWidth - 4, bottom: window.innerHeight - 26 };
    const held = (value, low, high) => Math.max(low, Math.min(high, value));
    const level = held(anchor.top, screen.top, screen.bottom - height);
    const across = held(anchor.left, screen.left, screen.right - width);
    const places = [
      [anchor.right + GAP, level], [anchor.left - GAP - width, level],
      [across, anchor.bottom + GAP], [across, anchor.top - GAP - height],
    ].map(([left, top]) => ({ left, top, right: left + width, bottom: top + height }));
    const fits = (box) =>
      box.left >= screen.left && box.right <= screen.right && box.top >= screen.top && box.bottom <= screen.bottom;
    const clear = (box) => !free || !over(box, free);
    const best = places.find((box) => fits(box) && clear(box)) || places.find(fits) ||
      { left: across, top: held(anchor.bottom + GAP, screen.top, screen.bottom - height) };
    card.style.left = `${best.left + window.scrollX}px`;
    card.style.top = `${best.top + window.scrollY}px`;
  };

  const mark = (key) => {
    for (const view of views) view.mark(key);
  };
  const fill = () => {
    const html = words.get(shown.key);
    if (html === undefined) return false;
    const place = shown.inside || card;
    place.innerHTML = html;
    if (shown.more) place.append(shown.more);
    place.classList.remove("old");
    if (!shown.inside) {
      card.hidden = html === "";
      put();
    }
    return true;
  };
  const ask = () => {
    if (!fill()) edit({ do: "point", path: shown.key });
  };
  const show = (next) => {
    clearTimeout(timer);
    shown = next;
    mark(next.key);
    if (next.inside) card.hidden = true;
    ask();
  };
  const hide = () => {
    clearTimeout(timer);
    if (shown) mark(null);
    shown = null;
    card.hidden = true;
  };
  const later = (what, wait) => {
    clearTimeout(timer);
    timer = setTimeout(what, wait);
  };
  const leave = () => {
    if (!shown || (!shown.pinned && !shown.inside)) later(hide, LINGER);
  };

  card.addEventListener("pointerenter", () => clearTimeout(timer));
  card.addEventListener("pointerleave", leave);
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    if (shown && !shown.inside) hide();
    for (const view of views) view.close(true);
  });
  document.addEventListener("pointerdown", (event) => {
    if (card.contains(event.target)) return;
    if (shown && !shown.inside) hide();
    for (const view of views) if (!view.holds(event.target)) view.close(false);
  });

  const views = stages.map((stage) => {
    const picture = stage.dataset.stage;
    const svg = svgNode("svg", { class: "parts", "aria-hidden": "true" });
    stage.append(svg);
    const panelId = unique();
    const toggle = h(
      "button",
      { type: "button", class: "explain", "aria-expanded": "false", "aria-controls": panelId },
      h("span", { "aria-hidden": "true" }, "?"),
      h("span", { class: "unseen" }, stage.dataset.explain),
    );
    const items = h("ul", {});
    const detail = h("div", { class: "detail", "aria-live": "polite" });
    const panel = h("div", { class: "explained", id: panelId, role: "group", "aria-label": stage.dataset.explain, hidden: true }, items, detail);
    stage.before(toggle, panel);
    let known = null; // revision of the shapes here
    let free = [];

    const fetch = () => {
      if (known === revision || known === "asked" || busy()) return;
      known = "asked";
      edit({ do: "parts", path: picture });
    };
    // On a phone the words open under their line, elsewhere beside the list.
    const open = (button, key) => {
      if (phone.matches) button.after(detail);
      else panel.append(detail);
      show({ key, view, anchor: button, pinned: true, inside: detail });
    };
    const close = (back) => {
      if (panel.hidden) return;
      const inside = panel.contains(document.activeElement);
      panel.hidden = true;
      toggle.setAttribute("aria-expanded", "false");
      if (shown && shown.inside === detail) hide();
      if (back && inside) toggle.focus();
    };
    toggle.addEventListener("click", () => {
      if (!panel.hidden) {
        close(true);
        return;
      }
      panel.hidden = false;
      toggle.setAttribute("aria-expanded", "true");
      fetch();
      if (items.firstChild) items.querySelector("button").focus();
    });

    stage.addEventListener("pointermove", (event) => { if (event.pointerType !== "touch") fetch(); });
    stage.addEventListener("pointerover", (event) => {
      if (event.pointerType === "touch" || event.buttons || busy()) return;
      const part = event.target.closest("[data-part]");
      if (!part) {
        leave();
        return;
      }
      const key = part.dataset.part;
      if (shown && (shown.inside || shown.key === key)) {
        clearTimeout(timer);
        return;
      }
      const rest = part.closest(".grip") ? REST_ON_HANDLE : REST;
      later(() => show({ key, view, anchor: part, pinned: false }), rest);
    });
    stage.addEventListener("pointerleave", leave);
    // Words for a finger, which cannot rest over a part.
    stage.addEventListener("click", (event) => {
      const part = event.target.closest(".parts [data-part]");
      if (part) show({ key: part.dataset.part, view, anchor: part, pinned: true });
    });
    stage.addEventListener("explain", ({ detail: { key, anchor, more } }) => {
      show({ key, view, anchor, more, pinned: true });
    });
    stage.addEventListener("pointerdown", (event) => { if (event.pointerType === "touch") fetch(); }, true);

    const build = (parts) => {
      known = parts.revision;
      free = parts.free;
      svg.replaceChildren(...parts.shapes.map(([key, kind, corners]) =>
        svgNode(kind === "area" ? "polygon" : "polyline", { points: corners.join(" "), "data-part": key })));
      const old = document.activeElement && items.contains(document.activeElement) && document.activeElement.dataset.part;
      panel.append(detail);
      items.replaceChildren(...parts.titles.map(([key, title]) => {
        const button = h("button", { type: "button", "data-part": key }, title);
        button.addEventListener("focus", () => open(button, key));
        button.addEventListener("click", () => open(button, key));
        button.addEventListener("pointerenter", (event) => { if (event.pointerType === "mouse") open(button, key); });
        return h("li", {}, button);
      }));
      const again = items.querySelector(old ? `[data-part="${old}"]` : "button");
      if (again && !panel.hidden && (old || document.activeElement === toggle)) again.focus();
    };

    items.addEventListener("keydown", (event) => {
      const way = { ArrowDown: 1, ArrowUp: -1 }[event.key];
      if (!way) return;
      event.preventDefault();
      const all = [...items.querySelectorAll("button")];
      const to = all[all.indexOf(document.activeElement) + way];
      if (to) to.focus();
    });

    const view = {
      picture,
      build,
      close,
      fetch,
      open: () => !panel.hidden,
      holds: (node) => panel.contains(node) || toggle.contains(node),
      mark: (key) => {
        for (const shape of svg.children) shape.classList.toggle("on", shape.dataset.part === key);
        for (const button of items.querySelectorAll("button")) button.classList.toggle("on", button.dataset.part === key);
      },
      rect: (key, anchor) => {
        const here = anchor.isConnected ? anchor : svg.querySelector(`[data-part="${key}"]`) || stage;
        return here.getBoundingClientRect();
      },
      free: () => {
        if (!free.length) return null;
        const box = stage.getBoundingClientRect();
        return { left: box.left + free[0], top: box.top + free[1], right: box.left + free[2], bottom: box.top + free[3] };
      },
    };
    return view;
  });

  return {
    // The pictures have changed: what was said of them no longer holds.
    seen: (next) => {
      if (next === revision) return;
      revision = next;
      words = new Map();
      if (shown && !shown.inside) hide();
      for (const place of document.querySelectorAll(".explained .detail")) place.classList.add("old");
      for (const view of views) if (view.open()) view.fetch();
      if (shown && !busy()) ask();
    },
    parts: (parts) => {
      for (const view of views) if (view.picture === parts.picture) view.build(parts);
      if (shown) mark(shown.key);
    },
    said: ({ key, html, revision: of }) => {
      if (of !== revision) return;
      words.set(key, html);
      if (shown && shown.key === key) fill();
    },
    hide,
  };
};
