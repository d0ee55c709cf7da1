// Words that the server sends as HTML, escaped there: put in their place without losing what a visitor holds open or
// stands on.

const putSlot = (slot, html) => {
  const opened = slot.querySelector("details[open]") !== null;
  const at = slot.contains(document.activeElement) ? document.activeElement : null;
  slot.innerHTML = html;
  if (opened) for (const details of slot.querySelectorAll("details")) details.open = true;
  if (!at) return;
  const own = at.dataset.hide ? `[data-hide="${at.dataset.hide}"]` : at.matches("summary") ? "summary" : "";
  const next = (own && slot.querySelector(own)) || slot.querySelector("[data-unhide]") || slot.querySelector("summary, button");
  if (next) next.focus();
};
