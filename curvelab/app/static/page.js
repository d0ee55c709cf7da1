// The page's own half in the browser: it draws the setup column, puts the server's words in their places, keeps the
// address and sends edits. Never more than one message is under way: what changes meanwhile waits, the newest of each
// control, and goes when the answer is here. So the network sets the pace and nothing piles up.

const QUIET = 150; // ms without a change until the address follows
const PATIENCE = 4000; // ms until an answer that never came is given up

const MERGED = new Set(["set", "type", "pick", "units", "width", "release", "drag", "nudge", "parts", "point"]);

const narrowest = (page) => (page >= 1200 ? 3 : page >= 760 ? 2 : 1);

export function render({ model }) {
  const root = document.getElementById("page");
  let sent = 0;
  let sentAt = 0;
  let waiting = new Map();
  let held = null;
  let quiet = 0;
  let query = null;
  let values = {}; // of all rows, and of the groups what they cost: an answer brings only those that changed
  let costs = {};
  let flying = []; // edits under way
  let down = false; // the line is lost
  const trouble = document.getElementById("trouble");

  const note = () => { root.dataset.pending = String(waiting.size + (sent ? 1 : 0)); };

  const flush = () => {
    if (down || (sent && performance.now() - sentAt < PATIENCE)) return;
    // An answer that never came: something harmless is asked, so that what stands there is told again.
    if (sent && !waiting.size) waiting.set("width:", { do: "width", value: window.innerWidth });
    if (!waiting.size) return;
    const edits = [...waiting.values()];
    flying = sent ? [...flying, ...edits] : edits;
    waiting = new Map();
    sent = (sent || model.now.seq) + 1;
    sentAt = performance.now();
    model.send_msg({ seq: sent, has: model.now.seq, held: held !== null, edits });
    note();
  };

  const edit = (what) => {
    if (what.do === "hold") {
      held = what.path;
      point.hide();
      return;
    }
    if (what.do === "release") held = null;
    // Of a control only its newest counts; of a button every press.
    const key = MERGED.has(what.do) ? `${what.do}:${what.path ?? ""}` : unique();
    const before = waiting.get(key);
    if (before && what.by) what = { ...what, by: what.by.map((steps, at) => steps + before.by[at]) };
    waiting.delete(key);
    waiting.set(key, what);
    if (down) keepUnanswered([...flying, ...waiting.values()]);
    flush();
    note();
  };

  const write = () => {
    clearTimeout(quiet);
    if (held !== null) {
      quiet = setTimeout(write, QUIET);
      return;
    }
    if (query === null || query === location.search) return;
    history.replaceState(history.state, "", location.pathname + query + location.hash);
  };

  const say = sayer(document.getElementById("said"));
  const steps = stepButtons(edit);
  const column = setupColumn(document.getElementById("setup"), edit);
  const panels = studyPanels(edit);
  const chalk = chalkList(document.querySelector("#chalked .list"), document.querySelectorAll("[data-chalk]"), edit);
  const stages = [...document.querySelectorAll("[data-stage]")].map((stage) => holdStage(stage, edit));
  const point = pointing([...document.querySelectorAll("[data-stage]")], edit, () => held !== null);
  const buildHandles = () => { for (const stage of stages) stage.build(model.kinds[stage.picture] || []); };
  const words = wordPlaces();
  // An answer tells the link by what is different: so much of its start and of its end stays.
  const address = () => {
    const told = model.now.query;
    const whole = Array.isArray(told) ? query.slice(0, told[0]) + told[2] + query.slice(query.length - told[1]) : told;
    if (query === whole) return;
    const first = query === null; // the address stays as it was opened until something changes
    query = whole;
    clearTimeout(quiet);
    if (!first) quiet = setTimeout(write, QUIET);
    root.dataset.address = first ? location.search : query;
  };
  // What is told as a difference is taken once an answer, not more.
  const take = () => {
    address();
    words(model.now.words);
    column.change(model.now);
    chalk(model.now);
  };
  const show = () => {
    values = model.now.whole ? model.now.values : { ...values, ...model.now.values };
    costs = model.now.whole ? model.now.costs : { ...costs, ...model.now.costs };
    const now = { ...model.now, values, costs };
    if (sent && now.seq >= sent) [sent, flying] = [0, []];
    trouble.hidden = true;
    root.dataset.answered = now.seq;
    const busy = (path) => path === held || [...waiting.values()].some((edit) => edit.path === path);
    column.show(now, busy);
    panels.show(now, busy);
    point.seen(now.revision);
    for (const stage of stages) stage.show(now.holds[stage.picture] || [], now.faults);
    steps.show(now);
    root.dataset.system = now.system;
    root.dataset.width = now.width;
    for (const input of document.querySelectorAll("#units input")) input.checked = input.value === now.system;
    root.dataset.ready = "yes";
    if (!sent && !waiting.size) column.fulfil(Object.keys(now.faults).length > 0);
    flush();
    note();
    say(now.said, () => held !== null || root.dataset.pending !== "0");
  };

  model.on("panels", () => {
    panels.build(model.panels);
    show();
  });
  model.on("kinds", buildHandles); // where they stand comes right after
  model.on("parts", () => point.parts(model.parts));
  model.on("said", () => point.said(model.said));
  model.on("now", () => {
    take();
    show();
  });
  model.on("trouble", () => {
    const { seq, said } = model.trouble;
    if (sent && seq >= sent) [sent, flying] = [0, []];
    trouble.textContent = said;
    trouble.hidden = false;
    flush();
    note();
  });
  panels.build(model.panels);
  buildHandles();
  take();
  show();

  for (const input of document.querySelectorAll("#units input")) {
    input.addEventListener("change", () => edit({ do: "units", value: input.value }));
  }
  jobPicker(edit);
  const questions = fourQuestions(edit);
  model.on("begun", () => questions.show(model.begun));
  questions.show(model.begun);
  root.addEventListener("click", (event) => {
    if (event.target.closest("[data-dismiss]")) edit({ do: "dismiss" });
    if (event.target.closest("[data-unhide]")) edit({ do: "unhide" });
    const hide = event.target.closest("[data-hide]");
    if (hide) edit({ do: "hide", value: hide.dataset.hide });
    const cure = event.target.closest("[data-cure]");
    if (cure && !cure.closest("[data-old=yes]")) edit({ do: "cure", value: cure.dataset.cure });
  });

  leadToCautions(root);
  document.getElementById("new-point").addEventListener("click", () => edit({ do: "add-point" }));

  const copy = document.getElementById("copy");
  copy.addEventListener("click", async () => {
    const address = location.origin + location.pathname + (query ?? location.search);
    let done = false;
    try {
      await navigator.clipboard.writeText(address);
      done = true;
    } catch {
      window.prompt("The link of this setup:", address);
    }
    if (!done) return;
    copy.lastElementChild.textContent = "Copied";
    setTimeout(() => { copy.lastElementChild.textContent = "Copy link"; }, 2000);
  });

  // The other pages take the setup along in their link.
  for (const link of document.querySelectorAll("nav a[data-page]")) {
    const follow = () => { link.href = (link.dataset.page || "./") + (query ?? location.search); };
    for (const way of ["pointerdown", "focus", "click"]) link.addEventListener(way, follow);
  }

  for (const end of ["pointerup", "pointercancel"]) {
    window.addEventListener(end, () => { if (held !== null) edit({ do: "release", path: held }); });
  }

  // A line that broke is not mended but made anew: when the server answers again the page opens its own link there, and
  // asks again for what wasn't answered. A dialogue is left to be finished.
  const lost = document.getElementById("lost");
  const reopen = async () => {
    const dialog = document.querySelector("dialog[open]");
    if (dialog) {
      dialog.addEventListener("close", () => setTimeout(reopen, 0), { once: true });
      return;
    }
    try {
      if (!(await fetch("liveness", { cache: "no-store" })).ok) throw new Error("not yet");
    } catch {
      setTimeout(reopen, 2000);
      return;
    }
    document.activeElement?.blur(); // what is typed counts
    location.reload();
  };
  window.Bokeh.documents[0].on_event("connection_lost", () => {
    down = true;
    lost.hidden = false;
    if (query !== null) history.replaceState(history.state, "", location.pathname + query + location.hash);
    keepUnanswered([...flying, ...waiting.values()]);
    setTimeout(reopen, 500);
  });

  let layout = 0;
  const measure = () => {
    const page = window.innerWidth; // as the style sheets' rules have it, and no need to lay the page out for it
    setTimeout(() => tellPaper(root), 0);
    if (narrowest(page) === layout) return;
    layout = narrowest(page);
    cautionsInOrder(layout === 1);
    edit({ do: "width", value: page });
  };
  window.addEventListener("resize", measure);
  measure();
  passCanvases(root);
  for (const what of takeUnanswered()) edit(what);
  setInterval(flush, 1000);
  return document.createElement("span");
}
