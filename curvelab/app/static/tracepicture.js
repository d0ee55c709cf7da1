// The picture itself: chosen, taken, dropped or pasted; checked, sent to the page's own server, shown. A server that no
// longer holds it gets it again.

import { ask as plain, Refused } from "./asking.js";

// Half-typed marks are no mishap: their faults come as an answer.
export const ask = async (address, question) => {
  const answer = await plain(address, question);
  if (answer.faults) throw new Refused(200, answer);
  return answer;
};

export const makePicture = (root, { shown, opened }) => {
  const part = (name) => root.querySelector(`[data-${name}]`);
  const most = Number(root.dataset.most);
  let picture = null; // { key, name, width, height }
  let file = null; // as long as the page lives

  const refuse = (text) => {
    part("refused").hidden = !text;
    part("refused").textContent = text;
  };

  const upload = async (one) => {
    let answer;
    try {
      answer = await fetch(`curves/picture?name=${encodeURIComponent(one.name || "picture")}`, {
        method: "POST", headers: { "Content-Type": "application/octet-stream" }, body: one,
      });
    } catch {
      throw new Refused(0, { faults: [{ got: "The server doesn’t answer", right: "try again" }] });
    }
    const body = await answer.json().catch(() => ({}));
    if (!answer.ok || body.faults) throw new Refused(answer.status, body);
    return body;
  };

  const wrong = ({ name, size, type }) => {
    if (size > most) return `${name} has ${Math.ceil(size / 1e6)} MB; at most ${most / 1e6} can be taken. Save it smaller: 12 million pixels are plenty.`;
    return type && !type.startsWith("image/") ? `${name} is no picture. Take a PNG or JPEG.` : "";
  };

  const take = async (one) => {
    refuse(wrong(one));
    if (wrong(one)) return;
    const before = picture;
    part("drop").setAttribute("aria-busy", "true");
    try {
      picture = await upload(one);
      file = one;
      await shown(URL.createObjectURL(one), picture);
      // The same picture chosen again keeps its marks.
      opened(before !== null && before.width === picture.width && before.height === picture.height);
    } catch (refused) {
      picture = before;
      refuse(refused instanceof Refused ? refused.message.replaceAll("\n", " ") : `${one.name} can’t be shown here. Save it as PNG or JPEG.`);
    } finally {
      part("drop").removeAttribute("aria-busy");
    }
  };

  for (const input of root.querySelectorAll("[data-file]")) {
    input.addEventListener("change", () => {
      if (input.files[0]) take(input.files[0]);
      input.value = "";
    });
  }
  for (const kind of ["dragover", "drop"]) {
    root.addEventListener(kind, (event) => {
      if (![...(event.dataTransfer?.types || [])].includes("Files")) return;
      event.preventDefault();
      root.classList.toggle("over", kind === "dragover");
      if (kind === "drop" && event.dataTransfer.files[0]) take(event.dataTransfer.files[0]);
    });
  }
  root.addEventListener("dragleave", () => root.classList.remove("over"));
  document.addEventListener("paste", (event) => {
    const found = [...(event.clipboardData?.files || [])].find(({ type }) => type.startsWith("image/"));
    if (found && root.offsetParent !== null) take(found);
  });

  return {
    get now() { return picture; },
    ask: async (address, question) => {
      try {
        return await ask(address, { ...question, key: picture.key });
      } catch (refused) {
        const gone = refused instanceof Refused && refused.faults.some(({ field }) => field === "picture");
        if (!gone || !file) throw refused;
        picture = await upload(file);
        return ask(address, { ...question, key: picture.key });
      }
    },
    // After a reload the server may still hold it; if not, whoever chooses it again finds its marks.
    again: async (kept) => {
      picture = kept;
      try {
        await shown(`curves/shown?key=${encodeURIComponent(kept.key)}`, kept);
        return true;
      } catch {
        refuse(`Choose ${kept.name} again to go on: its marks and points are kept, the picture is not.`);
        return false;
      }
    },
    close: () => {
      picture = null;
      file = null;
      refuse("");
      root.querySelector("[data-file]").focus();
    },
  };
};
