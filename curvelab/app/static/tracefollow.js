// What follows from marks, seeds and points, asked of the server once they have been quiet: lines of the axes, traces,
// and the points for the form. An answer that a later change has overtaken is dropped.

import { ask } from "./tracepicture.js";

const NOTHING = { source: "", speed: "", tables: {}, notes: [] };
export const axisOf = (quantity) => (quantity === "npshr" ? "head" : quantity);

export const axesUsed = ({ curves }) => ["flow", ...new Set(["head", ...curves.map(({ quantity }) => axisOf(quantity))])];

const frameOf = (state) => {
  const { marks, units, scales } = state;
  const used = axesUsed(state);
  return {
    format: "curvelab-frame/1",
    flow_scale: scales.flow,
    head_scale: scales.head,
    ...Object.fromEntries(used.map((axis) => [axis, units[axis]])),
    mark: marks.map((mark) => ({ pixel: mark.at, ...Object.fromEntries(used.map((axis) => [axis, mark[axis] ?? ""])) })),
  };
};

export const makeFollow = ({ keep, picture, width, told }) => {
  const outcomes = new Map(); // by a curve's id: { result, busy, faults, of }
  let axes = { lines: [], ready: false, faults: [] };
  let asked = 0;

  const named = ({ quantity, name, seed, id }) => {
    const alike = keep.now.curves.filter((each) => each.quantity === quantity).length > 1;
    return { quantity, seed, name: name.trim() || (alike ? `${quantity} ${id}` : quantity) };
  };

  const trace = async (curve, frame, late) => {
    const asking = (points) => JSON.stringify([frame, named(curve), points]);
    const few = !curve.seed && (curve.points?.length ?? 0) < 2;
    const before = outcomes.get(curve.id);
    if (few) outcomes.delete(curve.id);
    if (few || before?.of === asking(curve.points)) return;
    outcomes.set(curve.id, { ...before, busy: true });
    told("busy", curve);
    try {
      const result = await picture.ask("trace", { frame, curve: named(curve), points: curve.points, width: width() });
      const now = keep.now.curves.find(({ id }) => id === curve.id);
      if (late() || now?.points !== curve.points) return;
      // Points that somebody has placed come back in the order of their flows.
      const points = curve.points && result.points;
      if (points) keep.amend({ ...keep.now, curves: keep.now.curves.map((each) => (each === now ? { ...each, points } : each)) });
      outcomes.set(curve.id, { result, of: asking(points) });
      told("traced", curve);
    } catch (refused) {
      if (late()) return;
      const faults = refused.faults?.length ? refused.faults : [{ got: refused.message }];
      outcomes.set(curve.id, { result: curve.points ? before?.result : undefined, faults, of: asking(curve.points) });
      told("refused", curve);
    }
  };

  // This pump's head curve, and the first of each other kind.
  const chosen = () => {
    const good = keep.now.curves.filter(({ id }) => outcomes.get(id)?.result && !outcomes.get(id).faults);
    const heads = good.filter(({ quantity }) => quantity === "head");
    const head = heads.find(({ id }) => id === keep.now.own) || heads[0];
    const first = (...kinds) => good.filter(({ quantity }) => kinds.includes(quantity)).slice(0, 1);
    return head ? [head, ...first("npshr"), ...first("efficiency", "power")] : [];
  };
  const hand = async (frame) => {
    const curves = chosen().map((curve) => ({ curve: named(curve), points: curve.points }));
    return curves.length ? picture.ask("traced", { frame, curves }) : NOTHING;
  };

  const run = async () => {
    const mine = (asked += 1);
    const late = () => mine !== asked || !picture.now;
    const state = keep.now;
    if (!picture.now) return;
    if (state.marks.length < 2) {
      axes = { lines: [], ready: false, faults: [] };
      told("axes");
      return;
    }
    const frame = frameOf(state);
    const active = state.curves.find(({ id }) => id === state.active);
    try {
      const { lines } = await ask("axes", { frame, axis: axisOf(active?.quantity || "head") });
      if (late()) return;
      axes = { lines, ready: true, faults: [] };
      told("axes");
      for (const curve of state.curves) {
        await trace(curve, frame, late);
        if (late()) return;
      }
      const detail = await hand(frame);
      if (!late()) told("handed", detail);
    } catch (refused) {
      if (late()) return;
      axes = { lines: [], ready: false, faults: refused.faults?.length ? refused.faults : [{ got: refused.message }] };
      told("axes");
    }
  };

  return {
    run,
    get axes() { return axes; },
    outcome: (id) => outcomes.get(id) || {},
    forget: (id) => outcomes.delete(id),
    clear: () => {
      asked += 1;
      outcomes.clear();
      axes = { lines: [], ready: false, faults: [] };
    },
    NOTHING,
  };
};
