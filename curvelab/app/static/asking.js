// Questions to the server: JSON there and back. What was refused comes back as an error that carries its faults.

export class Refused extends Error {
  constructor(status, body) {
    const faults = body.faults || [];
    super(faults.map(said).join("\n") || "The server didn’t answer.");
    Object.assign(this, { status, body, faults });
  }
}

export const said = ({ got, right }) => [got, right].filter(Boolean).join("; ");

const root = document.getElementById("page");
let busy = 0;

// The page counts what is under way, so that whoever waits for it knows; gives what ends it.
const under = () => {
  busy += 1;
  root.dataset.pending = String(busy);
  let open = true;
  return () => {
    if (!open) return;
    open = false;
    busy -= 1;
    root.dataset.pending = String(busy);
  };
};

// Does it once it has been quiet for so long. [ms]
export const later = (act, quiet) => {
  let timer = 0;
  let done = null;
  return () => {
    clearTimeout(timer);
    done ??= under();
    timer = setTimeout(async () => {
      const ended = done;
      done = null;
      try {
        await act();
      } finally {
        ended();
      }
    }, quiet);
  };
};

export const ask = async (address, question) => {
  const done = under();
  try {
    return await asked(address, question);
  } finally {
    done();
  }
};

const asked = async (address, question) => {
  let answer;
  try {
    answer = await fetch(`curves/${address}`, {
      method: "POST",
      headers: { "Content-Type": "application/json" },
      body: JSON.stringify(question),
    });
  } catch {
    throw new Refused(0, { faults: [{ got: "The server doesn’t answer", right: "what you typed stays; try again" }] });
  }
  const body = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Refused(answer.status, body);
  return body;
};

root.dataset.pending = "0";

// What belongs to the whole page: the setup's query, units, and who wants to know when they change.
const watchers = [];
export const page = {
  query: root.dataset.query,
  system: root.dataset.system,
  now: root.dataset.now,
  watch: (watcher) => watchers.push(watcher),
  set(changed) {
    Object.assign(page, changed);
    root.dataset.query = page.query;
    root.dataset.system = page.system;
    history.replaceState(history.state, "", `${location.pathname}?${page.query}${location.hash}`);
    for (const link of document.querySelectorAll("nav a[data-page]")) {
      link.href = `${link.dataset.page || "./"}?${page.query}`;
    }
    for (const watcher of watchers) watcher(changed);
  },
};

// A sentence for everybody, read out where it stands.
export const say = (text) => {
  const place = document.getElementById("said");
  place.hidden = !text;
  place.querySelector("p").textContent = text;
};
