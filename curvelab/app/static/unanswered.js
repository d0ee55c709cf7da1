// Edits that a lost line left without an answer, kept for the same tab until the page is opened anew.

const UNANSWERED = "curvelab.unanswered";
const FLEETING = new Set(["width", "parts", "point"]); // asked anew by themselves

const keepUnanswered = (edits) => {
  try {
    const kept = edits.filter(({ do: what }) => !FLEETING.has(what));
    sessionStorage.setItem(UNANSWERED, JSON.stringify(kept));
  } catch {
    // a browser that keeps nothing opens what was answered last
  }
};

const takeUnanswered = () => {
  try {
    const edits = JSON.parse(sessionStorage.getItem(UNANSWERED) || "[]");
    sessionStorage.removeItem(UNANSWERED);
    return edits;
  } catch {
    return [];
  }
};
