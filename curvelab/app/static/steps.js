// Steps back and forth: two buttons, and the keys that everybody tries. Text half typed in a box is the browser's own.

const stepButtons = (edit) => {
  const buttons = { undo: document.getElementById("undo"), redo: document.getElementById("redo") };
  const can = { undo: false, redo: false };
  const step = (way) => {
    if (can[way]) edit({ do: way });
  };
  for (const [way, button] of Object.entries(buttons)) button.addEventListener("click", () => step(way));

  const typing = (target) => target.matches("input:not([type=range], [type=radio])") && target.dataset.typing === "yes";
  window.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || typing(event.target)) return;
    if (document.querySelector("dialog[open]")) return;
    const key = event.key.toLowerCase();
    const way = key === "y" || (key === "z" && event.shiftKey) ? "redo" : key === "z" ? "undo" : null;
    if (way === null) return;
    event.preventDefault();
    step(way);
  });

  // A button that can do nothing stays where it is, so that the focus does too; only one never used is left out.
  const show = ({ undo, redo }) => {
    Object.assign(can, { undo, redo });
    for (const [way, button] of Object.entries(buttons)) {
      if (can[way]) button.removeAttribute("aria-disabled");
      else button.setAttribute("aria-disabled", "true");
    }
    if (redo) buttons.redo.hidden = false;
  };
  return { show };
};
