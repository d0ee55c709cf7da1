// The four questions: a dialog of the browser's own. It stays open until its answers could be read.

const fourQuestions = (edit) => {
  const dialog = document.getElementById("begin");
  const form = dialog.querySelector("form");
  const faults = new Map([...dialog.querySelectorAll("[data-fault]")].map((node) => [node.dataset.fault, node]));
  let seen = 0;
  let asked = false;

  document.getElementById("questions").addEventListener("click", () => dialog.showModal());
  for (const button of dialog.querySelectorAll("[data-close]")) button.addEventListener("click", () => dialog.close());
  dialog.addEventListener("click", (event) => {
    if (event.target === dialog) dialog.close(); // beside the form
  });

  const choose = () => {
    const much = new FormData(form).get("much");
    for (const boxes of dialog.querySelectorAll("[data-much]")) boxes.hidden = boxes.dataset.much !== much;
  };
  form.addEventListener("change", choose);
  choose();

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    asked = true;
    edit({ do: "begin", value: Object.fromEntries(new FormData(form)) });
  });

  for (const [name, node] of faults) {
    node.id = `fault-${name}`;
    const input = form.elements[name];
    if (input instanceof HTMLInputElement) {
      input.setAttribute("aria-describedby", node.id);
      input.addEventListener("input", () => tell(name, ""));
    }
  }
  const tell = (name, text) => {
    const node = faults.get(name);
    node.hidden = !text;
    node.textContent = text;
    const input = form.elements[name];
    if (!(input instanceof HTMLInputElement)) return;
    if (text) input.setAttribute("aria-invalid", "true");
    else input.removeAttribute("aria-invalid");
  };

  const show = ({ count, wrong, symbols }) => {
    for (const unit of dialog.querySelectorAll("[data-unit]")) {
      const symbol = symbols[unit.dataset.unit];
      const input = form.elements[unit.dataset.unit];
      unit.textContent = symbol;
      const label = dialog.querySelector(`label[for=${input.id}]`).textContent;
      input.setAttribute("aria-label", `${label}, in ${symbol}`);
    }
    if (count === seen) return;
    seen = count;
    if (!asked) return;
    asked = false;
    for (const name of faults.keys()) tell(name, wrong[name] || "");
    const first = [...faults.keys()].find((name) => wrong[name]);
    if (first === undefined) dialog.close();
    else if (form.elements[first] instanceof HTMLInputElement) form.elements[first].focus();
    else dialog.querySelector(`[name=${first}]`).focus();
  };
  return { show };
};
