// What this page leaves out of Bokeh and Panel. Where they are built otherwise than is taken for granted here, all stays
// as it was.

(() => {
  // Panel brings a loader for browsers that can't load modules by themselves; all that Bokeh runs in can.
  if (!window.importShim) {
    window.importShim = (address) => import(address);
    window.importShim.addImportMap = () => {};
  }

  const part = (name) => {
    try {
      return window.Bokeh.require(name);
    } catch {
      return {};
    }
  };

  // A change is painted when its message was read, not when the browser next begins a picture, up to 16 ms later. What
  // Bokeh has then still to paint is nothing.
  const plot = part("models/plots/plot").PlotView?.prototype;
  if (plot?.schedule_paint && plot.repaint) {
    const { schedule_paint: schedule } = plot;
    const { port1, port2 } = new MessageChannel();
    const due = new Set();
    port1.onmessage = () => {
      const views = [...due];
      due.clear();
      for (const view of views) if (!view.is_destroyed) view.repaint();
    };
    plot.schedule_paint = function () {
      if (this._render_count > 0 && !this.is_paused) {
        if (!due.size) port2.postMessage(0);
        due.add(this);
      }
      schedule.call(this);
    };
  }

  // Bokeh asks the style sheets, again for each picture and each of its grounds, whether they colour it otherwise; each
  // time the browser works out the styles of the whole page for the answer. No style sheet here does.
  const colours = part("core/visuals/visual").VisualProperties?.prototype;
  if (colours?._get_css_value) colours._get_css_value = () => "";

  // Each mark on a picture has a style sheet for its place, written again at every paint, the same as before or not; and
  // a style sheet that was written has the browser work out styles before the next word is drawn.
  const sheet = part("core/dom").InlineStyleSheet?.prototype;
  if (sheet?._update) {
    const { _update: write } = sheet;
    sheet._update = function (css) {
      if (this.el.textContent !== css) write.call(this, css);
    };
  }

  // A hatching is drawn anew for every change of the area that it fills; it stays as it is.
  const hatch = part("core/visuals/hatch").HatchScalar?.prototype;
  if (hatch?.update) {
    const { update } = hatch;
    const traits = ["color", "alpha", "scale", "pattern", "weight"];
    const drawn = new WeakMap();
    hatch.update = function () {
      const now = traits.map((trait) => this[`hatch_${trait}`]?.value).join();
      if (drawn.get(this) === now) return;
      drawn.set(this, now);
      update.call(this);
    };
  }

  // Bokeh makes five views of every glyph: as it is, selected, not selected, muted, and thinned out while somebody
  // drags. On these pictures only the first is ever painted; the other four would be filled, styled and measured with
  // it at every change all the same. They get a stand-in that does nothing.
  const view = window.Bokeh?.Models?.get("GlyphRenderer")?.prototype.default_view?.prototype;
  if (typeof view?.build_glyph_view !== "function" || typeof view.children_views !== "function") return;
  const nothing = () => {};
  const acts = ["set_base", "set_data", "set_visuals", "after_visuals", "after_lazy_visuals", "map_data", "remove"];
  const standIn = (model) => ({ model, isStandIn: true, ...Object.fromEntries(acts.map((act) => [act, nothing])) });
  const { build_glyph_view: build, children_views: children } = view;
  view.build_glyph_view = async function (glyph) {
    return this.glyph == null ? build.call(this, glyph) : standIn(glyph);
  };
  // Where a glyph lies on the page is of use to nobody either.
  if (typeof view.update_position === "function") {
    view.update_position = function () { this.position?.replace(":host { display: none; }"); };
  }
  view.children_views = function () {
    return children.call(this).filter((child) => !child.isStandIn);
  };
})();
