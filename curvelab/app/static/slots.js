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

// What each place shows. An answer tells whole places, or which of a place's tags and texts are others: where, how many
// of them, what stands there instead.
const wordPlaces = () => {
  const shown = {};
  const changed = (html, changes) => {
    const pieces = html.split(/(<[^>]*>)/);
    for (let at = changes.length - 3; at >= 0; at -= 3) pieces.splice(changes[at], changes[at + 1], changes[at + 2]);
    return pieces.join("");
  };
  return (words) => {
    for (const [name, told] of Object.entries(words)) {
      const html = typeof told === "string" ? told : changed(shown[name], told);
      if (html === shown[name]) continue;
      shown[name] = html;
      for (const slot of document.querySelectorAll(`[data-slot="${name}"]`)) {
        putSlot(slot, html);
        slot.hidden = slot.dataset.optional !== undefined && html === "";
      }
    }
  };
};
