// The studies' half in the browser: tabs (on a phone rows that open), words in their places, dimmed while they are of
// a setup that has changed since. The open tab stays in the address, behind the setup.

const studyTabs = (studies, tell) => {
  const tabs = [...studies.querySelectorAll("[role=tab]")];
  const panels = [...studies.querySelectorAll(".study")];
  const rows = panels.map((panel) => panel.querySelector(".fold button"));
  const keys = tabs.map((tab) => tab.dataset.tab);
  const phone = window.matchMedia("(max-width: 759px)");
  const named = () => keys.indexOf(location.hash.slice(1));
  let chosen = Math.max(0, named());
  const open = panels.map((_, place) => place === chosen);

  // Tabs show one study, a phone's rows any of them; the panels are the same.
  const lay = () => {
    panels.forEach((panel, place) => {
      const shown = phone.matches ? open[place] : place === chosen;
      panel.hidden = !phone.matches && !shown;
      panel.querySelector(".body").hidden = !shown;
      for (const [name, value] of [["role", "tabpanel"], ["aria-labelledby", tabs[place].id]]) {
        if (phone.matches) panel.removeAttribute(name);
        else panel.setAttribute(name, value);
      }
      rows[place].setAttribute("aria-expanded", String(shown));
      tabs[place].setAttribute("aria-selected", String(place === chosen));
      tabs[place].tabIndex = place === chosen ? 0 : -1;
    });
  };
  // Brings a tab into its row where that scrolls, and leaves the page where it is.
  const reveal = () => {
    const row = tabs[chosen].parentElement;
    const [at, end] = [tabs[chosen].offsetLeft - row.offsetLeft, tabs[chosen].offsetWidth];
    if (at < row.scrollLeft) row.scrollLeft = at;
    else if (at + end > row.scrollLeft + row.clientWidth) row.scrollLeft = at + end - row.clientWidth;
  };
  const choose = (place) => {
    chosen = (place + tabs.length) % tabs.length;
    open[chosen] = true;
    lay();
    reveal();
    history.replaceState(history.state, "", `${location.pathname}${location.search}#${keys[chosen]}`);
    tell(keys[chosen]);
  };
  tabs.forEach((tab, place) => {
    tab.addEventListener("click", () => choose(place));
    tab.addEventListener("keydown", (event) => {
      const to = { ArrowRight: place + 1, ArrowLeft: place - 1, Home: 0, End: tabs.length - 1 }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      choose(to);
      tabs[chosen].focus({ preventScroll: true });
    });
  });
  rows.forEach((row, place) => row.addEventListener("click", () => {
    if (open[place]) {
      open[place] = false;
      lay();
    } else choose(place);
  }));
  phone.addEventListener("change", lay);
  window.addEventListener("hashchange", () => { if (named() >= 0 && named() !== chosen) choose(named()); });
  lay();
  if (chosen) reveal();
  tell(keys[chosen]);
  return keys;
};

export function render({ model }) {
  const root = document.getElementById("page");
  const studies = document.getElementById("studies");
  const keys = studyTabs(studies, (key) => model.send_msg({ open: key }));

  const places = [...document.querySelectorAll("[data-study]")].map((node) => {
    const [key, name] = node.dataset.study.split(".");
    return { node, key, name, html: model[`said_${key}`][name] };
  });
  const put = (place) => {
    const { node, key, name } = place;
    const html = model[`said_${key}`][name] ?? "";
    if (html === place.html) return;
    place.html = html;
    const held = node.contains(document.activeElement);
    node.innerHTML = html;
    if (node.dataset.optional !== undefined) node.hidden = html === "";
    // A button that did its work is gone: what follows from it stands in the answer.
    if (held) (node.querySelector("button") || document.getElementById("answer")).focus();
  };

  // Words are those of the setup whose change had this number.
  const age = () => {
    const answered = Number(root.dataset.answered || 0);
    const quiet = root.dataset.pending === "0";
    const old = (key) => (quiet && model.studied[key] === answered ? "no" : "yes");
    const stale = ["cures", ...keys].some((key) => old(key) === "yes");
    root.dataset.stale = stale ? "yes" : "no";
    studies.setAttribute("aria-busy", String(stale));
    for (const { node, key } of places) node.dataset.old = old(key);
    for (const key of keys) {
      const panel = document.getElementById(`study-${key}`);
      panel.dataset.old = old(key);
      panel.dataset.pictured = model.pictured[key] ? "yes" : "no";
    }
    document.getElementById("answer").dataset.help = model.said_cures.buttons ? "yes" : "no";
  };
  for (const key of ["cures", ...keys]) {
    model.on(`said_${key}`, () => {
      for (const place of places) if (place.key === key) put(place);
      age();
    });
  }
  model.on("studied", age);
  model.on("pictured", age);
  new MutationObserver(age).observe(root, { attributes: true, attributeFilter: ["data-pending", "data-answered"] });
  age();
  return document.createElement("span");
}
