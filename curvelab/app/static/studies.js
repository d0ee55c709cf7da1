// The studies' half in the browser: tabs (on a phone rows that open), words in their places, dimmed while they are of
// a setup that has changed since.

export function render({ model }) {
  const root = document.getElementById("page");
  const studies = document.getElementById("studies");
  const tabs = [...studies.querySelectorAll("[role=tab]")];
  const panels = [...studies.querySelectorAll(".study")];
  const rows = panels.map((panel) => panel.querySelector(".fold button"));
  const phone = window.matchMedia("(max-width: 759px)");
  let chosen = 0;
  const open = panels.map((_, place) => place === 0);

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
  const choose = (place) => {
    chosen = (place + tabs.length) % tabs.length;
    lay();
  };
  tabs.forEach((tab, place) => {
    tab.addEventListener("click", () => choose(place));
    tab.addEventListener("keydown", (event) => {
      const to = { ArrowRight: place + 1, ArrowLeft: place - 1, Home: 0, End: tabs.length - 1 }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      choose(to);
      tabs[chosen].focus();
    });
  });
  rows.forEach((row, place) => row.addEventListener("click", () => {
    open[place] = !open[place];
    lay();
  }));
  phone.addEventListener("change", lay);
  lay();

  const places = [...document.querySelectorAll("[data-study]")];
  const put = (place) => {
    const html = model[place.dataset.study];
    const held = place.contains(document.activeElement);
    place.innerHTML = html;
    if (place.dataset.optional !== undefined) place.hidden = html === "";
    // A button that did its work is gone: what follows from it stands in the answer.
    if (held) (place.querySelector("button") || document.getElementById("answer")).focus();
  };
  for (const place of places) model.on(place.dataset.study, () => put(place));

  // Words are those of the setup whose change had this number.
  const age = () => {
    const fresh = root.dataset.pending === "0" && Number(root.dataset.answered || 0) === model.studied.seq;
    root.dataset.stale = fresh ? "no" : "yes";
    studies.setAttribute("aria-busy", String(!fresh));
    studies.dataset.flows = model.studied.flows ? "yes" : "no";
    document.getElementById("answer").dataset.help = model.cures ? "yes" : "no";
  };
  model.on("studied", age);
  new MutationObserver(age).observe(root, { attributes: true, attributeFilter: ["data-pending", "data-answered"] });
  age();
  return document.createElement("span");
}
