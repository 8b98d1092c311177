// The moving marks: laid over the plots, so that the plots themselves are drawn only when their curves change.

const MARKS = { valve: [["angle", "valve"]], ellipse: [["piston", "valve"]],
  openings: ["steam_front", "steam_back", "exhaust_front", "exhaust_back"].map((name) => ["angle", name]) };

class Marks {
  constructor(doc) {
    this.plots = doc.roots().filter((root) => root.name in MARKS).map((root) => {
      const figure = $(`plot-${root.name}`), made = (cls) => {
        const node = document.createElement("div");
        node.className = cls;
        figure.append(node);
        return node;
      };
      return { root, figure, line: made("hair"), rings: MARKS[root.name].map((columns) => [columns, made("ring")]) };
    });
    this.measured = false;
    new ResizeObserver(() => { this.measured = false; }).observe(document.querySelector(".plots"));
  }

  // Where each plot's frame stands in its figure, pixels; false while a plot is still being laid out.
  measure() {
    for (const plot of this.plots) {
      const view = Bokeh.index.get_by_id(plot.root.id), frame = view && view.frame && view.frame.bbox;
      if (!frame || !(frame.width > 0)) return false;
      const canvas = view.el.getBoundingClientRect(), own = plot.figure.getBoundingClientRect();
      const { x_range: x, y_range: y } = plot.root;
      plot.frame = { left: canvas.left - own.left + frame.left, top: canvas.top - own.top + frame.top, width: frame.width, height: frame.height };
      plot.x = (v) => plot.frame.left + (v - x.start) / (x.end - x.start) * plot.frame.width;
      plot.y = (v) => plot.frame.top + (y.end - v) / (y.end - y.start) * plot.frame.height;
      plot.line.style.height = `${frame.height}px`;
    }
    this.measured = true;
    return true;
  }

  show(row) {
    if (!this.measured && !this.measure()) return;
    for (const plot of this.plots) {
      const across = plot.x(row[plot.rings[0][0][0]]);
      plot.line.style.transform = `translate(${across}px, ${plot.frame.top}px)`;
      for (const [[, y], ring] of plot.rings) ring.style.transform = `translate(${across}px, ${plot.y(row[y])}px)`;
    }
  }
}
