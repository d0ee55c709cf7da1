// The Curves page: its tabs, and the ways in which a new pump's points come.
//
// Whatever traces a picture says so with an event on #trace:
//   new CustomEvent("traced", { bubbles: true, detail: {
//     source,   // where the points are from, as the pump's file shall say it
//     speed,    // "3600 rpm" where the picture says it, else ""
//     tables,   // { head: { flow, head, points, picture?, frame? }, npshr?: …, efficiency?: …, power?: … }
//     notes,    // sentences about what wasn't sure
//   } })

import { say } from "./asking.js";
import "./fleet.js";
import { edit } from "./pumpform.js";
import { testOf } from "./pumptest.js";
import "./trace.js";
import "./yard.js";

document.querySelector("#said [data-wave]").addEventListener("click", () => say(""));

const tabs = [...document.querySelectorAll(".curves [role=tab]")];
const panels = tabs.map((tab) => document.getElementById(tab.getAttribute("aria-controls")));

const open = (id, focus = false) => {
  const at = Math.max(0, panels.findIndex((panel) => panel.id === id));
  tabs.forEach((tab, place) => {
    tab.setAttribute("aria-selected", String(place === at));
    tab.tabIndex = place === at ? 0 : -1;
    panels[place].hidden = place !== at;
  });
  if (focus) tabs[at].focus();
  if (location.hash.slice(1) !== panels[at].id) history.replaceState(history.state, "", `${location.pathname}${location.search}#${panels[at].id}`);
};
tabs.forEach((tab, place) => {
  tab.addEventListener("click", () => open(panels[place].id));
  tab.addEventListener("keydown", (event) => {
    const last = tabs.length - 1;
    const to = { ArrowRight: place + 1, ArrowLeft: place - 1, Home: 0, End: last }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    open(panels[(to + tabs.length) % tabs.length].id, true);
  });
});
window.addEventListener("hashchange", () => open(location.hash.slice(1)));
if (location.hash) open(location.hash.slice(1));

// From one pump large to its form and to its test.
document.getElementById("one").addEventListener("click", async (event) => {
  const button = event.target.closest("[data-edit], [data-test]");
  if (!button) return;
  try {
    if (button.dataset.edit) {
      await edit(button.dataset.edit);
      open("new", true);
    } else {
      testOf(button.dataset.test);
      open("test", true);
    }
  } catch (refused) {
    say(refused.message);
  }
});
