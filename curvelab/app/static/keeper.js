// The setup page's side of the yard's folder: saves the setup under a name, keeps the list of starts fresh.

const UNSAVED = "curvelab.unsaved";

// The name under which somebody is saving, kept for this tab until that is done; asked without one it is told.
const unsaved = (name) => {
  try {
    if (name === undefined) return sessionStorage.getItem(UNSAVED);
    if (name === null) sessionStorage.removeItem(UNSAVED);
    else sessionStorage.setItem(UNSAVED, name);
  } catch {
    // a browser that keeps nothing: the name is typed again
  }
  return null;
};

export function render({ model }) {
  const button = document.getElementById("save");
  const jobs = document.getElementById("jobs");
  const said = document.getElementById("saved");
  const title = () => document.querySelector(".job h1")?.textContent.trim() ?? "";
  let seq = 0;
  let waiting = null;

  const ask = (question) => new Promise((resolve) => {
    seq += 1;
    waiting = { seq, resolve };
    try {
      model.send_msg({ seq, ...question });
    } catch {
      // the line is lost: asked again when the page has opened anew
    }
  });
  model.on("reply", () => {
    if (waiting && model.reply.seq === waiting.seq) {
      const { resolve } = waiting;
      waiting = null;
      resolve(model.reply);
    }
  });
  const tell = (text) => {
    said.textContent = text;
    said.hidden = !text;
  };
  const save = async (name, mark) => {
    const reply = await ask({ name, mark });
    if (!reply.clash) return reply.text || reply.refused;
    const { value, name: other } = await theirsOrOurs(reply.clash, name);
    if (value === "ours") return save(name, reply.clash.mark);
    if (value === "as") return save(other, null);
    return "Nothing was saved.";
  };
  button.hidden = !model.offered;
  const open = async (filled) => {
    const { value, name } = await choose({
      title: "Save this setup in the yard’s folder",
      text: "It will stand among the setups to start from. What is chalked stays in the link.",
      field: "Name",
      filled,
      buttons: [["leave", "Don’t save"], ["as", "Save"]],
    });
    if (value !== "as") return;
    button.disabled = true;
    unsaved(name);
    tell(await save(name, null));
    unsaved(null);
    button.disabled = false;
  };
  button.addEventListener("click", () => open(title()));
  const left = unsaved();
  if (left && model.offered) open(left);

  model.on("starts", () => {
    const first = jobs.options[0];
    jobs.replaceChildren(first, ...model.starts.map(([name, setups]) => {
      const group = document.createElement("optgroup");
      group.label = name;
      group.append(...setups.map(([id, words]) => new Option(words, id)));
      return group;
    }));
    jobs.selectedIndex = 0;
  });
  return document.createElement("span");
}
