// The yard's folder: pumps into it, its lists as spreadsheets, earlier versions back; and word of what others change.

import { ask, page, Refused, say, said } from "./asking.js";
import { choose, differences, theirsOrOurs } from "./choice.js";
import { left, refresh } from "./fleet.js";
import { changed, current, kept } from "./pumpform.js";

const EVERY = 5000; // ms between two looks whether the yard's files have changed
const root = document.getElementById("page");
const yard = document.getElementById("yard");
const notice = document.getElementById("said");

const times = () => {
  for (const time of yard.querySelectorAll("time")) {
    const at = new Date(time.dateTime);
    time.textContent = at.toLocaleString([], { dateStyle: "medium", timeStyle: "medium" });
  }
};

export const reload = async () => {
  const { html, mark } = await ask("yard", {});
  root.dataset.mark = mark;
  yard.innerHTML = html; // escaped by the server
  times();
  await refresh();
};

// --- a pump saved

const save = async (question) => {
  const answer = await ask("save", question);
  if (!answer.clash) return answer;
  const label = question.as || question.form.fields.name;
  const { value, name } = await theirsOrOurs(answer.clash, label);
  if (value === "ours") return save({ ...question, mark: answer.clash.mark });
  if (value === "as") return save({ ...question, as: name, mark: null });
  return null;
};

const button = document.querySelector("#draft [data-save]");
if (button) {
  button.addEventListener("click", async () => {
    const { form, base, mark } = current();
    button.disabled = true;
    const done = document.querySelector("#draft [data-done]");
    try {
      const saved = await save({ form, base, mark });
      if (saved) {
        changed();
        kept(saved);
        await reload();
      } else {
        done.textContent = "Nothing was saved; what you typed stays.";
      }
    } catch (refused) {
      done.textContent = refused.message;
    }
    button.disabled = false;
  });
}

// --- a pump out of the list, and back

const withdraw = async (key, label) => {
  const { value } = await choose({
    title: `Withdraw ${label} from the list?`,
    text: "Nobody can choose it then. Its file is kept, and the tab of the yard’s folder puts it back.",
    buttons: [["leave", "Leave it in the list"], ["withdraw", "Withdraw it"]],
  });
  if (value !== "withdraw") return;
  const { text } = await ask("withdraw", { key, query: page.query });
  left();
  await reload();
  say(text);
  document.querySelector("#one h2").focus({ preventScroll: true });
};

const putBack = async (file) => {
  const { text } = await ask("put-back", { file });
  await reload();
  say(text);
  yard.querySelector("h2").closest("section").querySelector("a, button, input").focus();
};

// --- earlier versions, and spreadsheets

const look = async ({ file, version }) => {
  const found = await ask("version", { file, version, units: page.system });
  const { value } = await choose({
    title: `${found.label}: an earlier version`,
    text: found.rows.length ? "" : "It is the same as what stands there now.",
    content: found.rows.length ? [differences(["", "That version", "Now"], found.rows)] : [],
    buttons: [["leave", "Leave it"], ...(found.rows.length ? [["back", "Bring it back"]] : [])],
  });
  if (value !== "back") return;
  const { text } = await ask("restore", { file, version, mark: found.mark });
  await reload();
  say(text);
};

const drafts = new Map(); // texts that somebody was writing when the dialogue was put away

// A file written by hand: what is wrong in it is said, and it stays open until it is good or left.
const writeIn = async (file, found) => {
  const area = document.createElement("textarea");
  area.value = drafts.get(file) ?? found.text;
  area.addEventListener("input", () => drafts.set(file, area.value));
  area.rows = 18;
  area.spellcheck = false;
  area.setAttribute("aria-label", `The text of ${found.shown}`);
  let answer = null;
  const { value } = await choose({
    title: found.shown,
    text: "It is checked before it is saved, and the version before is kept.",
    content: [area],
    buttons: [["leave", "Leave it as it is"], ["save", "Save it"]],
    check: async () => {
      try {
        answer = await ask("write", { file, text: area.value, mark: found.mark });
        return "";
      } catch (refused) {
        return refused.faults.map((fault) => [fault.field, said(fault)].filter(Boolean).join(": ")).join("\n");
      }
    },
  });
  if (value === "leave") drafts.delete(file);
  if (value !== "save") return;
  if (answer.clash) {
    const { value: whose } = await theirsOrOurs(answer.clash, found.shown, { rename: false });
    if (whose === "ours") {
      const { text } = await ask("write", { file, text: area.value, mark: answer.clash.mark });
      answer = { text };
    } else {
      drafts.set(file, area.value);
      await writeIn(file, found);
      return;
    }
  }
  drafts.delete(file);
  await reload();
  say(answer.text);
};

const send = async (body, how) => {
  const answer = await fetch(`curves/sheet${how}`, { method: "POST", headers: { "Content-Type": "text/csv" }, body });
  const found = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Refused(answer.status, found);
  return found;
};

const take = async (file) => {
  if (file.size > 1_000_000) throw new Refused(413, { faults: [{ got: "That file is over 1 MB", right: "is it the right one?" }] });
  const body = await file.arrayBuffer();
  const found = await send(body, "");
  const more = found.more ? ` And ${found.more} more.` : "";
  const { value } = await choose({
    title: `${file.name}: ${found.kind} for the yard’s list`,
    text: `${found.rows.length ? "This would change." : "It changes nothing."}${more} As before: ${found.same}.${found.stale ? ` Mind: the list ${found.stale}.` : ""}`,
    content: found.rows.length ? [differences(["", "The sheet", "The list now"], found.rows)] : [],
    buttons: [["leave", "Leave the list as it is"], ...(found.rows.length ? [["save", found.stale ? "Save it all the same" : "Save it"]] : [])],
  });
  if (value !== "save") return;
  const { text } = await send(body, `?save=yes${found.stale ? "&over=yes" : ""}`);
  await reload();
  say(text);
};

if (yard) {
  times();
  document.getElementById("one").addEventListener("click", ({ target }) => {
    const button = target.closest("[data-withdraw]");
    const label = button?.closest("#one").querySelector("h2").textContent;
    if (button) withdraw(button.dataset.withdraw, label).catch((refused) => say(refused.message));
  });
  yard.addEventListener("click", (event) => {
    const at = event.target.closest("[data-version]");
    const text = event.target.closest("[data-text]")?.dataset.text;
    const back = event.target.closest("[data-put-back]")?.dataset.putBack;
    if (back) putBack(back).catch((refused) => say(refused.message));
    if (at) look(at.dataset).catch((refused) => say(refused.message));
    if (text) ask("text", { file: text }).then((found) => writeIn(text, found)).catch((refused) => say(refused.message));
  });
  yard.addEventListener("change", (event) => {
    const { files } = event.target;
    if (!event.target.matches("[data-sheet]") || !files.length) return;
    take(files[0]).catch((refused) => {
      yard.querySelector("[data-taken]").textContent = refused.faults ? refused.faults.slice(0, 12).map((fault) => [fault.where, said(fault)].filter(Boolean).join(": ")).join("\n") : refused.message;
    }).finally(() => { event.target.value = ""; });
  });

  // --- others

  const watch = async () => {
    try {
      const { mark, faults } = document.hidden ? root.dataset : await ask("state", {});
      if (mark !== root.dataset.mark) {
        root.dataset.mark = mark;
        say(faults?.length ? `The yard’s files can’t all be read: ${faults[0]}` : "The yard’s list has changed.");
        notice.querySelector("[data-reload]").hidden = false;
      }
    } catch {
      // the server rests: asked again next time
    }
    setTimeout(watch, EVERY);
  };
  setTimeout(watch, EVERY);
  notice.querySelector("[data-reload]").addEventListener("click", async () => {
    await reload().catch((refused) => say(refused.message));
    notice.querySelector("[data-reload]").hidden = true;
    say("");
  });
}
