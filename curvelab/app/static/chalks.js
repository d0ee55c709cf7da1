// The list of what is chalked, with the buttons that chalk. Rows stay while their letters do, so that nobody loses the
// place they were typing in.

const chalkList = (place, buttons, edit) => {
  const rows = new Map();
  const title = h("h2", {});
  const hint = h("p", { class: "note" }, place.dataset.hint);
  const list = h("ul", {});
  const trying = h("span", {});
  const next = h("p", { class: "next", role: "group", "aria-label": "Compare hose sizes" });
  const undo = h("p", { class: "undo", hidden: true });
  const status = h("p", { class: "unseen", role: "status" });
  place.append(h("div", { class: "head" }, title, hint), list, undo, next, status);
  let ready = true;
  let shown = []; // an answer brings the list when it has changed, and of what the buttons offer what has
  let offers = {};
  let after = null; // where the focus goes when what had it is gone

  for (const button of buttons) {
    button.addEventListener("click", () => {
      if (ready) edit({ do: "chalk" });
      else place.closest("section").scrollIntoView({ block: "nearest" });
    });
  }

  const ask = (what, path, next) => {
    after = next;
    edit({ do: what, path });
  };

  const row = (letter) => {
    const name = h("input", { type: "text", maxlength: 40, autocomplete: "off", "aria-label": `Name of ${letter}` });
    const flow = h("b", {});
    const trouble = h("small", {});
    let given = "";
    const settle = () => { name.value = given; };
    name.addEventListener("change", () => edit({ do: "rename", path: letter, value: name.value }));
    name.addEventListener("keydown", (event) => {
      if (event.key === "Escape") settle();
      if (event.key === "Enter") name.blur();
    });
    const back = h("button", { type: "button", title: "Bring back" }, "↩");
    const wipe = h("button", { type: "button", title: "Wipe" }, "×");
    back.addEventListener("click", () => ask("swap", letter, null));
    wipe.addEventListener("click", () => ask("wipe", letter, undo));
    const node = h("li", { class: `chalk-${letter}` }, h("i", { "aria-hidden": "true" }, letter), name, flow, back, wipe, trouble);
    const set = (auto, called, amount, state) => {
      given = called;
      name.placeholder = auto;
      name.setAttribute("aria-label", called ? `Name of ${letter}` : `Name of ${letter}, now ${auto}`);
      if (document.activeElement !== name) settle();
      flow.textContent = amount;
      trouble.textContent = state;
      trouble.hidden = !state;
      back.setAttribute("aria-label", `Bring back ${letter}, ${called || auto}`);
      wipe.setAttribute("aria-label", `Wipe ${letter}, ${called || auto}`);
    };
    return { node, set };
  };

  const compare = (wanted) => {
    const old = [...next.querySelectorAll("button")];
    const same = old.length === wanted.length && old.every((b, i) => b.dataset.way === wanted[i][0]);
    const made = same ? old : wanted.map(([way]) => {
      const button = h("button", { type: "button", class: "quiet", "data-way": way });
      button.addEventListener("click", () => edit({ do: "compare", path: way }));
      return button;
    });
    wanted.forEach(([, text], at) => {
      made[at].textContent = text;
      made[at].setAttribute("aria-label", `${text}: keep this and compare`);
    });
    const held = next.contains(document.activeElement);
    if (!same) next.replaceChildren(trying, ...made);
    if (held && !same) (made[0] || buttons[0]).focus();
    next.hidden = !wanted.length;
  };

  const undoing = (letter) => {
    undo.hidden = !letter;
    if (undo.dataset.letter === letter) return;
    undo.dataset.letter = letter;
    const button = h("button", { type: "button", class: "quiet" }, "Bring it back");
    button.addEventListener("click", () => ask("unwipe", "", list));
    undo.replaceChildren(`${letter} is wiped. `, button);
  };

  return ({ chalks, offers: others }) => {
    if (!chalks && !Object.keys(others).length) return;
    shown = chalks || shown;
    offers = { ...offers, ...others };
    const wanted = shown;
    const { button, compare: ways, wiped, said } = offers;
    [, ready] = button;
    for (const each of buttons) {
      if (each.textContent !== button[0]) each.textContent = button[0];
      each.setAttribute("aria-disabled", String(!ready));
    }
    const letters = wanted.map(([letter]) => letter);
    for (const [letter, made] of rows) {
      if (letters.includes(letter)) continue;
      made.node.remove();
      rows.delete(letter);
    }
    wanted.forEach(([letter, ...shown], at) => {
      if (!rows.has(letter)) rows.set(letter, row(letter));
      const made = rows.get(letter);
      if (list.children[at] !== made.node) list.insertBefore(made.node, list.children[at] || null);
      made.set(...shown);
    });
    place.classList.toggle("none", !wanted.length);
    title.textContent = wanted.length ? "Kept" : "To compare";
    trying.textContent = wanted.length ? "Try" : place.dataset.first;
    compare(ways);
    undoing(wiped);
    status.textContent = said;
    if (after && document.activeElement === document.body) (after.querySelector("button, input") || buttons[0]).focus();
    after = null;
  };
};
