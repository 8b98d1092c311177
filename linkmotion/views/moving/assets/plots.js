// The plots are the plotting library's; their data are given here, twenty times a second at most and only
// while they can be seen, so that the drawing never waits for them.

class Plots {
  constructor() {
    this.waiting = {};
    this.sources = null;
    this.seen = true;
    const watch = new IntersectionObserver((rows) => { this.seen = rows.at(-1).isIntersecting; });
    watch.observe(document.querySelector(".plots"));
  }

  ready() {
    if (this.sources) return true;
    const doc = window.Bokeh && Bokeh.documents && Bokeh.documents[0];
    if (!doc) return false;
    const found = Object.fromEntries(["curve", "ghost", "events"].map((name) => [name, doc.get_model_by_name(name)]));
    if (Object.values(found).some((source) => !source)) return false;
    this.doc = doc;
    this.sources = found;
    this.marks = new Marks(doc);
    return true;
  }

  give(name, columns) { this.waiting[name] = columns; }

  now(row) { if (this.marks) this.marks.show(row); this.last = row; }

  events(page, passing) {
    const style = { admission: "circle", cutoff: "square", release: "triangle", compression: "diamond" };
    const css = getComputedStyle(document.documentElement), colour = (name) => css.getPropertyValue(name).trim();
    const columns = { angle: [], piston: [], valve: [], marker: [], colour: [], fill: [] };
    for (const each of passing) {
      const p = page.point(page.blend, page.kase, page.valve, each.angle * Math.PI / 180);
      const ink = colour(["admission", "cutoff"].includes(each.event) ? "--steam" : "--exhaust");
      columns.angle.push(each.angle); columns.piston.push(p.piston); columns.valve.push(p.valve);
      columns.marker.push(style[each.event]); columns.colour.push(ink);
      columns.fill.push(each.end === "front" ? ink : colour("--paper"));
    }
    this.waiting.events = columns;
  }

  // Lines at which the edges open: valve displacement, in the engine's unit.
  edges(page) {
    this.lines = {};
    for (const flow of ["steam", "exhaust"]) for (const end of ENDS)
      this.lines[`edge ${flow}_${end}`] = page.data.scale * edgeSign(page.kase.admission, flow, end) * page.blend.lap(flow, end);
    this.dead = page.s.running > 0 ? page.blend.back : -page.blend.back;
  }

  flush(now) {
    if (!this.ready()) return;
    const empty = (source) => Object.fromEntries(Object.keys(source.data).map((key) => [key, []]));
    if (this.drawn && (!this.seen || now - this.drawn < 45)) return;
    if (this.last && !this.marks.measured) this.marks.show(this.last);
    for (const name of ["curve", "ghost", "events"]) {
      if (!(name in this.waiting)) continue;
      this.sources[name].setv({ data: this.waiting[name] ?? empty(this.sources[name]) }, { sync: false });
      delete this.waiting[name];
      this.drawn = now;
    }
    if (this.lines) {
      for (const root of this.doc.roots()) for (const line of root.center ?? []) {
        const place = line.name === "back dead centre" ? turned(this.dead) : this.lines[line.name];
        if (place !== undefined) line.setv({ location: place }, { sync: false });
      }
      this.lines = null;
    }
    if (this.reach) {
      for (const root of this.doc.roots()) if (root.name in MARKS && root.name !== "openings")
        root.y_range.setv({ start: -this.reach, end: this.reach }, { sync: false });
      this.reach = null;
    }
  }
}
