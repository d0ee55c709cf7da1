// What a person has made: marks, units, curves, with undo and redo; kept for the tab, so that a reload loses nothing.

const STORE = "curvelab-trace";
const MOST = 100; // steps back

export const fresh = (units) => ({
  marks: [],
  units,
  scales: { flow: "linear", head: "linear" },
  curves: [{ id: 1, quantity: "head", name: "", seed: null, points: null }],
  active: 1,
  own: 1, // the head curve of this pump
});

export const makeKeep = (start, changed) => {
  let now = start;
  let before = [];
  let after = [];
  let run = ""; // a row of changes to the same thing counts as one

  const put = (next, { group = "" } = {}) => {
    if (!group || group !== run) before = [...before.slice(1 - MOST), now];
    run = group;
    after = [];
    now = next;
    changed(now);
  };
  const go = (from, to) => {
    if (!from.length) return;
    run = "";
    to.push(now);
    now = from.pop();
    changed(now);
  };
  return {
    get now() { return now; },
    put,
    // An answer of the server belongs to the state that asked, and is no step of its own.
    amend: (next) => { now = next; },
    undo: () => go(before, after),
    redo: () => go(after, before),
    can: () => ({ undo: before.length > 0, redo: after.length > 0 }),
    reset: (next) => {
      now = next;
      before = [];
      after = [];
      run = "";
      changed(now);
    },
  };
};

export const store = (draft) => {
  try {
    if (draft) sessionStorage.setItem(STORE, JSON.stringify(draft));
    else sessionStorage.removeItem(STORE);
  } catch {
    // a full or forbidden store: the page itself still has it all
  }
};

export const stored = () => {
  try {
    const found = JSON.parse(sessionStorage.getItem(STORE) || "null");
    return found?.state?.marks && found.state.curves ? found : null;
  } catch {
    return null;
  }
};
