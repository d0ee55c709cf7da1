"""What the page leaves out of Bokeh and Panel is left out in the browser, and the pictures are there all the same."""

from playwright.sync_api import Browser

from tests.browser.visit import Served, Visit

# How much is written and worked out while a slider moves one step, and what the renderers of a picture consist of.
COUNT = """() => {
  const seen = (window.seen = { same: 0, outside: 0 });
  const text = Object.getOwnPropertyDescriptor(Node.prototype, "textContent");
  Object.defineProperty(HTMLStyleElement.prototype, "textContent", {
    get() { return text.get.call(this); },
    set(css) {
      if (text.get.call(this) === css) seen.same += 1;
      text.set.call(this, css);
    },
  });
  const { clearRect } = CanvasRenderingContext2D.prototype;
  let framed = false;
  const { requestAnimationFrame } = window;
  window.requestAnimationFrame = (act) => requestAnimationFrame((at) => {
    framed = true;
    try { act(at); } finally { framed = false; }
  });
  CanvasRenderingContext2D.prototype.clearRect = function (...box) {
    if (!framed) seen.outside += 1;
    return clearRect.apply(this, box);
  };
}"""
TWINS = """() => {
  const twins = [];
  const look = (view) => {
    if (view.model.type === "GlyphRenderer") twins.push(view.nonselection_glyph, view.decimated_glyph);
    for (const child of view.children_views()) look(child);
  };
  for (const root of Bokeh.index.roots) look(root);
  return { all: twins.length, standIns: twins.filter((twin) => twin.isStandIn).length };
}"""


def test_nothing_is_loaded_made_or_written_that_no_picture_shows(browser: Browser, served: Served):
    one = Visit(browser, served.address, "", 1440, 900)
    names = one.page.evaluate("performance.getEntriesByType('resource').map((one) => one.name)")
    assert any("bokeh.min.js" in name for name in names)
    assert not [name for name in names if "bokeh-gl" in name or "es-module-shims" in name]
    twins = one.page.evaluate(TWINS)
    assert twins["standIns"] == twins["all"] > 100
    one.page.evaluate(COUNT)
    one.slider("Rise to the outlet").press("ArrowRight")
    one.studied()
    seen = one.page.evaluate("seen")
    assert seen["same"] == 0, "a style sheet was written that stood there already"
    assert seen["outside"] >= 6, "the pictures of the bench and the run waited for the browser's next one"
    one.close()
