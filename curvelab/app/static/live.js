// What a screen reader is told: flow and state, once when a change has settled, not at every step of a drag.

const SETTLED = 400; // ms without another answer until it is said

const sayer = (place) => {
  let timer = 0;
  let first = true;
  return (text, busy) => {
    clearTimeout(timer);
    const say = () => {
      if (busy()) timer = setTimeout(say, SETTLED);
      else if (place.textContent !== text) place.textContent = text;
    };
    if (first) say(); // what the page opens with is there to be read, and nobody is interrupted
    else timer = setTimeout(say, SETTLED);
    first = false;
  };
};

// On a phone the cautions stand below the studies: there they also come in the order of reading and of the Tab key.
const cautionsInOrder = (narrow) => {
  const cautions = document.getElementById("cautions");
  const after = narrow ? document.getElementById("studies") : document.getElementById("chalked");
  if (after.nextElementSibling !== cautions) after.after(cautions);
};

// The line beside the answer that says what can hurt leads to the cautions, wherever they stand.
const leadToCautions = (root) => {
  root.addEventListener("click", (event) => {
    if (!event.target.closest("[data-hurts]")) return;
    event.preventDefault(); // the address is the setup's
    const cautions = document.getElementById("cautions");
    cautions.scrollIntoView({ block: "center" });
    cautions.focus({ preventScroll: true });
  });
};

// Pictures are not drawn anew for paper: it has to know how wide they are on the screen.
const tellPaper = (root) => {
  if (matchMedia("print").matches) return;
  for (const [name, where] of [["bench", "#bench"], ["run", "#run .picture"]]) {
    root.style.setProperty(`--${name}-px`, String(document.querySelector(where).offsetWidth));
  }
};

// A picture's canvas takes the focus and answers no key: it is no stop of the Tab key. What can be moved on a picture
// stands over it, with a name.
const leaveCanvases = (within) => {
  for (const node of within.querySelectorAll("*")) {
    if (node.shadowRoot) leaveCanvases(node.shadowRoot);
    else if (node.tabIndex === 0 && node.classList.contains("bk-events")) node.tabIndex = -1;
  }
};

// That looks through thousands of nodes: before Tab moves, and a little after pictures were made, not at every turn.
const passCanvases = (root) => {
  const pass = () => document.querySelectorAll("#bench, #run, .study").forEach(leaveCanvases);
  const soon = () => [200, 2000].forEach((ms) => setTimeout(pass, ms));
  window.addEventListener("keydown", (event) => { if (event.key === "Tab") pass(); }, true);
  new MutationObserver((seen) => {
    if (seen.some((one) => one.target.getAttribute(one.attributeName) !== one.oldValue)) soon();
  }).observe(root, {
    subtree: true, attributeOldValue: true, attributeFilter: ["data-ready", "data-width", "data-pictured"],
  });
  soon();
};
