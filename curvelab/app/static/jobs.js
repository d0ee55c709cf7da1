// The picker of ready setups: it names what to start from, and stands at its first line again afterwards. Arrow keys
// open it, so that passing over a job is not choosing it.

const jobPicker = (edit) => {
  const jobs = document.getElementById("jobs");
  const closed = () => CSS.supports("selector(:open)") && !jobs.matches(":open");
  jobs.addEventListener("keydown", (event) => {
    const passes = event.key === "ArrowDown" || event.key === "ArrowUp" || (event.key.length === 1 && event.key !== " ");
    if (!passes || event.ctrlKey || event.metaKey || event.altKey || !jobs.showPicker || !closed()) return;
    event.preventDefault();
    jobs.showPicker();
  });
  jobs.addEventListener("change", () => {
    if (jobs.value) edit({ do: "open", value: jobs.value });
    jobs.selectedIndex = 0;
  });
};
