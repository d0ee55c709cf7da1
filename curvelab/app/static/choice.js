// A question in front of the page, answered by one of its buttons; Escape answers nothing and changes nothing.

const make = (tag, text) => {
  const node = document.createElement(tag);
  if (text !== undefined) node.textContent = text;
  return node;
};

// A table of what differs: what it is about, one side, the other.
export const differences = (heads, rows) => {
  const table = make("table");
  table.className = "differences";
  const head = table.createTHead().insertRow();
  for (const text of heads) {
    const cell = make("th", text);
    cell.scope = "col";
    head.append(cell);
  }
  const body = table.createTBody();
  for (const [what, ...sides] of rows) {
    const row = body.insertRow();
    const cell = make("th", what);
    cell.scope = "row";
    row.append(cell, ...sides.map((side) => make("td", side)));
  }
  return table;
};

// Buttons are [value, words]; a field asks for a name. The answer is { value, name }. `check` may hold the dialogue open:
// it says in words what is wrong with what somebody wants to save.
export const choose = ({ title, text, content = [], buttons, field, filled = "", check }) => new Promise((resolve) => {
  const dialog = document.getElementById("choice");
  dialog.querySelector("h2").textContent = title;
  const body = dialog.querySelector(".body");
  body.replaceChildren(make("p", text), ...content);
  let input = null;
  if (field) {
    const label = make("label", `${field} `);
    input = make("input");
    input.maxLength = 80;
    input.value = filled;
    input.autocomplete = "off";
    label.append(input);
    body.append(label);
    input.addEventListener("keydown", (event) => {
      if (event.key === "Enter") [...dialog.querySelectorAll(".acts button")].at(-1).click();
    });
  }
  const fault = make("p");
  fault.className = "fault";
  fault.setAttribute("role", "alert");
  body.append(fault);
  let value = "";
  const acts = dialog.querySelector(".acts");
  acts.replaceChildren(...buttons.map(([answer, words], place) => {
    const button = make("button", words);
    button.type = "button";
    button.className = place ? "act second" : "act";
    button.autofocus = place === 0;
    button.addEventListener("click", async () => {
      const wrong = check && place ? await check(answer) : "";
      if (wrong) {
        fault.textContent = wrong;
        return;
      }
      if (answer === "as" && input && !input.value.trim()) {
        input.focus();
        return;
      }
      value = answer;
      dialog.close();
    });
    return button;
  }));
  dialog.addEventListener("close", () => resolve({ value, name: input ? input.value.trim() : "" }), { once: true });
  dialog.showModal();
});

// Theirs or ours: nothing is written until somebody has seen what stands there.
export const theirsOrOurs = (clash, label, { rename = true } = {}) => choose({
  title: `${label}: theirs or yours?`,
  text: clash.text,
  content: clash.rows.length ? [differences(["", "Yours", "Theirs"], clash.rows)] : [],
  field: rename ? "Another name for yours" : undefined,
  buttons: [
    ["theirs", "Leave theirs, save nothing"],
    ["ours", "Save yours over it; theirs is kept as an earlier version"],
    ...(rename ? [["as", "Save yours under another name"]] : []),
  ],
});
