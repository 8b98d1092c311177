// Another state laid over the gear as outlines.

// Points given in the link's own axes, where the link stands.
function carried(slot, points, at) {
  const [x, y] = at(slot.pins[0]), [p, q] = at(slot.pins[1]), [a, b] = slot.places;
  const base = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2;
  const re = ((p - x) * (b[0] - a[0]) + (q - y) * (b[1] - a[1])) / base;
  const im = ((q - y) * (b[0] - a[0]) - (p - x) * (b[1] - a[1])) / base;
  return points.map(([u, v]) => [x + re * (u - a[0]) - im * (v - a[1]), y + im * (u - a[0]) + re * (v - a[1])]);
}

Object.assign(Drawing.prototype, /** @type {Pick<DrawingGhost, "ghost"> & ThisType<Drawing>} */ ({
  // Another state as outlines, its difference from this one made larger.
  ghost(other, blend, t, factor) {
    if (!other) { this.ghosts.replaceChildren(); return; }
    if (this.ghostOf !== other || !this.ghosts.childElementCount) {
      this.ghostOf = other;
      this.ghosts.replaceChildren();
      this.outlines = other.layout.parts.filter((part) => !["fixed", "guide", "circle", "die", "block"].includes(part.kind))
        .map((part) => /** @type {[PartOfGear, SVGElement]} */ ([part, svg("path", {}, this.ghosts)]));
    }
    const values = this.ghostValues = blend.all(t, this.ghostValues?.length === blend.counts.length
      ? this.ghostValues : new Float64Array(blend.counts.length));
    const at = (pin) => {
      const q = blend.index.get(`${pin} x`), own = this.at(pin) ?? [values[q], values[q + 1]];
      return [own[0] + factor * (values[q] - own[0]), own[1] + factor * (values[q + 1] - own[1])];
    };
    for (const [part, path] of this.outlines) {
      let d = "M" + part.pins.map((pin) => at(pin).join(" ")).join("L");
      if (part.kind === "link") d += "M" + carried(other.layout.slot, other.layout.slot.line, at).map((p) => p.join(" ")).join("L");
      path.setAttribute("d", d);
    }
  },
}));
