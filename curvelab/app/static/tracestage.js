// The picture on its stage: pan and zoom by wheel, pinch, keys and buttons; places picked by mouse, finger or keys.
// Places are pixels of the picture, counted from its outer corner; the stage's own are CSS pixels.

import { makeLens } from "./tracelens.js";

const MOST = 12; // px of screen for one of the picture
const SLIP = 4; // px that a click may slip and still be one
const STEP = { coarse: 12, fine: 1 }; // px of screen a key moves the cross

export const makeStage = (stage, { pick, drag, dropped, look, colours }) => {
  const image = stage.querySelector("img");
  const lens = makeLens(stage.querySelector(".lens"), image, colours);
  const view = { scale: 1, x: 0, y: 0 };
  const pointers = new Map();
  let size = [1, 1];
  let tool = "mark";
  let cross = null; // where the keys have put it, in the picture
  let aim = null; // what the pointers are doing
  let hot = null; // the handle under way

  const box = () => ({ wide: stage.clientWidth, high: stage.clientHeight });
  const least = () => Math.min(box().wide / size[0], box().high / size[1], 1);
  let laid = false; // a stage out of sight has no size
  const toPicture = ([x, y]) => [(x - view.x) / view.scale, (y - view.y) / view.scale];
  const toStage = ([x, y]) => [x * view.scale + view.x, y * view.scale + view.y];
  const inside = ([x, y]) => x >= 0 && y >= 0 && x <= size[0] && y <= size[1];
  const placeOf = (event) => {
    const { left, top } = stage.getBoundingClientRect();
    return [event.clientX - left - stage.clientLeft, event.clientY - top - stage.clientTop];
  };

  const draw = () => {
    const { wide, high } = box();
    // Never out of sight: smaller than the stage it stands in the middle, larger it covers it.
    const [w, h] = [size[0] * view.scale, size[1] * view.scale];
    view.x = w <= wide ? (wide - w) / 2 : Math.min(0, Math.max(wide - w, view.x));
    view.y = h <= high ? (high - h) / 2 : Math.min(0, Math.max(high - h, view.y));
    image.style.transform = `translate(${view.x}px, ${view.y}px) scale(${view.scale})`;
    image.classList.toggle("near", view.scale > 3);
    look({ ...view, toStage, cross });
  };
  const zoom = (factor, [x, y] = [box().wide / 2, box().high / 2]) => {
    const scale = Math.min(MOST, Math.max(least(), view.scale * factor));
    view.x = x - ((x - view.x) * scale) / view.scale;
    view.y = y - ((y - view.y) * scale) / view.scale;
    view.scale = scale;
    draw();
  };
  const fit = () => {
    laid = stage.clientWidth > 0;
    if (!laid) return;
    view.scale = least();
    draw();
  };
  const show = (at) => {
    const [x, y] = toStage(at);
    const { wide, high } = box();
    const edge = 24;
    view.x += x < edge ? edge - x : x > wide - edge ? wide - edge - x : 0;
    view.y += y < edge ? edge - y : y > high - edge ? high - edge - y : 0;
    draw();
  };
  const magnify = (at) => {
    if (tool === "move" && !hot) lens.hide();
    else lens.show(at, toStage(at), box(), view.scale);
  };

  stage.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(Math.exp(-event.deltaY * (event.deltaMode ? 0.05 : 0.0015)), placeOf(event));
  }, { passive: false });

  const pinch = () => {
    const [a, b] = [...pointers.values()];
    return { far: Math.hypot(a[0] - b[0], a[1] - b[1]), middle: [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2] };
  };

  stage.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    const at = placeOf(event);
    pointers.set(event.pointerId, at);
    stage.setPointerCapture(event.pointerId);
    if (pointers.size === 2) {
      if (hot) dropped(null);
      hot = null;
      aim = { kind: "pinch", ...pinch() };
      lens.hide();
      return;
    }
    const handle = event.target.closest("[data-handle]");
    const touch = event.pointerType === "touch";
    if (handle && tool !== "move") {
      hot = handle.dataset.handle;
      handle.focus({ preventScroll: true });
      const from = toStage([Number(handle.dataset.x), Number(handle.dataset.y)]);
      aim = { kind: "handle", by: [at[0] - from[0], at[1] - from[1]], start: at, moved: false };
      event.preventDefault();
      return;
    }
    stage.focus({ preventScroll: true });
    event.preventDefault();
    aim = { kind: touch && tool !== "move" ? "finger" : "press", start: at, last: at, moved: false };
    if (aim.kind === "finger") magnify(toPicture(at));
  });

  stage.addEventListener("pointermove", (event) => {
    const at = placeOf(event);
    if (pointers.has(event.pointerId)) pointers.set(event.pointerId, at);
    if (!aim) {
      if (event.pointerType === "mouse" && inside(toPicture(at))) magnify(toPicture(at));
      else lens.hide();
      return;
    }
    if (aim.kind === "pinch") {
      if (pointers.size < 2) return;
      const now = pinch();
      view.x += now.middle[0] - aim.middle[0];
      view.y += now.middle[1] - aim.middle[1];
      zoom(now.far / Math.max(aim.far, 1), now.middle);
      Object.assign(aim, now);
      return;
    }
    aim.moved ||= Math.hypot(at[0] - aim.start[0], at[1] - aim.start[1]) > SLIP;
    if (aim.kind === "handle") {
      if (!aim.moved) return;
      const to = toPicture([at[0] - aim.by[0], at[1] - aim.by[1]]);
      drag(hot, to);
      magnify(to);
    } else if (aim.kind === "finger") {
      magnify(toPicture(at));
    } else if (aim.moved) {
      view.x += at[0] - aim.last[0];
      view.y += at[1] - aim.last[1];
      draw();
    }
    aim.last = at;
  });

  const up = (event) => {
    if (!pointers.delete(event.pointerId)) return;
    const was = aim;
    if (pointers.size) return;
    aim = null;
    lens.hide();
    if (was?.kind === "handle") {
      dropped(was.moved && event.type === "pointerup" ? hot : null);
      hot = null;
    } else if (was && was.kind !== "pinch" && event.type === "pointerup" && tool !== "move") {
      const at = toPicture(placeOf(event));
      if ((was.kind === "finger" || !was.moved) && inside(at)) pick(at, event.pointerType);
    }
  };
  stage.addEventListener("pointerup", up);
  stage.addEventListener("pointercancel", up);
  stage.addEventListener("pointerleave", () => { if (!aim) lens.hide(); });

  const MOVES = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  stage.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const { key } = event;
    if (key === "+" || key === "=") zoom(1.3, cross ? toStage(cross) : undefined);
    else if (key === "-") zoom(1 / 1.3, cross ? toStage(cross) : undefined);
    else if (key === "0") fit();
    else if (event.target !== stage) return;
    else if (MOVES[key] && tool === "move") {
      view.x -= 40 * MOVES[key][0];
      view.y -= 40 * MOVES[key][1];
      draw();
    } else if (MOVES[key]) {
      const by = (event.shiftKey ? STEP.fine : STEP.coarse) / view.scale;
      const from = cross || toPicture([box().wide / 2, box().high / 2]);
      cross = from.map((value, axis) => Math.min(size[axis], Math.max(0, value + by * MOVES[key][axis])));
      show(cross);
      magnify(cross);
    } else if ((key === "Enter" || key === " ") && cross && tool !== "move") pick(cross, "keys");
    else return;
    event.preventDefault();
  });
  stage.addEventListener("blur", () => {
    cross = null;
    lens.hide();
    draw();
  });
  new ResizeObserver(() => {
    if (!stage.clientWidth || !image.naturalWidth) return;
    if (laid) draw();
    else fit();
  }).observe(stage);

  return {
    zoom,
    fit,
    draw,
    show,
    magnify,
    hideLens: lens.hide,
    scale: () => view.scale,
    use: (name) => {
      tool = name;
      stage.dataset.tool = name;
    },
    open: (source, wide, high) => new Promise((resolve, reject) => {
      image.onload = () => {
        size = [wide || image.naturalWidth, high || image.naturalHeight];
        image.style.width = `${size[0]}px`;
        image.style.height = `${size[1]}px`;
        stage.style.aspectRatio = `${size[0]} / ${size[1]}`;
        fit();
        resolve([image.naturalWidth, image.naturalHeight]);
      };
      image.onerror = reject;
      image.src = source;
    }),
  };
};
