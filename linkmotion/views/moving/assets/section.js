// Cylinder, ports and valve in section. Along the valve all is to one scale; the piston's stroke is shortened.

const FACE = 46, FLOOR = 62, BED = 118;

class Section {
  constructor(root, kase, most, blend) {
    this.root = root;
    root.replaceChildren(this.patterns());
    this.kase = kase;
    const w = blend.port, laps = ENDS.map((end) => blend.lap("steam", end)), inside = kase.admission === "inside";
    this.inside = inside;
    this.inner = Math.max(1.2 * w, most + 0.45 * w);
    this.half = Math.min(0.75 * w, this.inner - 0.4 * w);
    this.scale = 100 / (1.04 * (this.inner + w + Math.max(...laps, 0) + most));
    root.setAttribute("viewBox", "-124 -6 248 142");
    this.build(w * this.scale);
  }

  patterns() {
    const defs = svg("defs", {});
    const pattern = (id, size, children, turn) => {
      const made = svg("pattern", { id, width: size, height: size, patternUnits: "userSpaceOnUse" }, defs);
      if (turn) made.setAttribute("patternTransform", `rotate(${turn})`);
      for (const [tag, attributes] of children) svg(tag, attributes, made);
    };
    pattern("live", 5, [["rect", { width: 5, height: 5, class: "live-tint" }], ["circle", { cx: 1.3, cy: 1.3, r: 0.8, class: "live-mark" }],
      ["circle", { cx: 3.8, cy: 3.8, r: 0.8, class: "live-mark" }]]);
    pattern("spent", 4.5, [["rect", { width: 4.5, height: 4.5, class: "spent-tint" }], ["path", { d: "M0 0V4.5", class: "spent-mark" }]], 45);
    pattern("shut", 7, [["rect", { width: 7, height: 7, class: "shut-tint" }], ["path", { d: "M1.5 3.5h4M3.5 1.5v4", class: "shut-mark" }]]);
    pattern("iron", 3, [["rect", { width: 3, height: 3, class: "iron-tint" }], ["path", { d: "M0 0V3", class: "iron-mark" }]], -45);
    return defs;
  }

  build(w) {
    const root = this.root, xi = this.inner * this.scale, xo = xi + w, e = this.half * this.scale;
    svg("path", { d: `M-118 -2H118V${BED + 6}H-118Z`, fill: "url(#iron)", class: "ink" }, root);
    this.chest = svg("path", { d: `M-104 4H104V${FACE}H-104Z`, class: "ink", fill: this.inside ? "url(#spent)" : "url(#live)" }, root);
    this.space = {};
    for (const [end, s] of /** @type {[End, number][]} */ ([["front", 1], ["back", -1]])) {
      const x = (v) => s * v;
      this.space[end] = svg("path", { class: "ink", d:
        `M${x(xi)} ${FACE}L${x(xo)} ${FACE}L${x(xo)} ${FACE + 4}L${x(101)} ${FLOOR}V${FLOOR + 4}H${x(91)}V${FLOOR}` +
        `L${x(xi)} ${FACE + 6}Z` }, root);
    }
    if (!this.inside) svg("path", { d: `M${-e} ${FACE}H${e}V${FLOOR - 3}H${-e}Z`, class: "ink", fill: "url(#spent)" }, root);
    this.rooms = { front: svg("rect", { y: FLOOR + 4, height: BED - FLOOR - 4, class: "ink" }, root),
      back: svg("rect", { y: FLOOR + 4, height: BED - FLOOR - 4, class: "ink" }, root) };
    this.piston = svg("g", {}, root);
    svg("rect", { x: -300, y: 88, width: 294, height: 5, class: "metal" }, this.piston);
    svg("rect", { x: -7, y: FLOOR + 4, width: 14, height: BED - FLOOR - 4, fill: "url(#iron)", class: "metal-edge" }, this.piston);
    if (this.inside) this.between = svg("rect", { y: 4, height: FACE - 4, class: "ink", fill: "url(#live)" }, root);
    else this.cavity = svg("path", { class: "ink", fill: "url(#spent)" }, root);
    this.valve = svg("path", { class: "metal valve" }, root);
    this.outline = svg("path", { class: "ghost" }, root);
    const say = (x, y, text, cls = "") => Object.assign(svg("text", { x, y, class: cls }, root), { textContent: text });
    this.say = { front: say(0, 82, "", "room"), back: say(0, 82, "", "room") };
    say(-112, 134, "back", "end"); say(112, 134, "front", "end right");
    this.chestWords = this.inside ? [say(-101, 12, "exhaust", "small"), say(101, 12, "exhaust", "small right")]
      : [say(-101, 12, "live steam", "small"), say(101, 12, "live steam", "small right")];
    if (!this.inside) say(0, FLOOR + 1.5, "exhaust", "small middle");
    this.filled = {};
    this.arrows = {};
    for (const end of ENDS) this.arrows[end] = svg("path", { class: "arrow" }, root);
  }

  // Outer and inner edges of the valve's two soles (or heads), units of the drawing.
  edges(blend, v) {
    const lap = (flow, end) => blend.lap(flow, end), w = blend.port, k = this.scale;
    const [outer, inner] = this.inside ? ["exhaust", "steam"] : ["steam", "exhaust"];
    return { front: [(this.inner - lap(inner, "front") + v) * k, (this.inner + w + lap(outer, "front") + v) * k],
      back: [(-this.inner + lap(inner, "back") + v) * k, (-this.inner - w - lap(outer, "back") + v) * k] };
  }

  /** @param {Record<End, Point>} edges */
  shape({ front: [fi, fo], back: [bi, bo] }) {
    if (this.inside) {
      const rod = `M${bi} 22H${fi}V28H${bi}Z`, tail = `M-124 22.5H${bo}V27.5H-124Z`;
      return `M${fi} 4H${fo}V${FACE}H${fi}ZM${bo} 4H${bi}V${FACE}H${bo}Z${rod}${tail}`;
    }
    const lip = 8, top = 16, r = 4;
    return `M${bo} ${FACE}V${FACE - lip}H${bi - r}V${top + r}q0 ${-r} ${r} ${-r}H${fi}q${r} 0 ${r} ${r}V${FACE - lip}H${fo}V${FACE}H${fi}` +
      `V${top + 10}q0 ${-r} ${-r} ${-r}H${bi + r}q${-r} 0 ${-r} ${r}V${FACE}ZM-124 19.5H${bi - r}V24.5H-124Z`;
  }

  show(blend, v, piston, opening, working, ghost) {
    const edges = this.edges(blend, v), { front: [fi], back: [bi] } = edges;
    this.valve.setAttribute("d", this.shape(edges));
    if (this.inside) { this.between.setAttribute("x", bi); this.between.setAttribute("width", Math.max(fi - bi, 0)); }
    else this.cavity.setAttribute("d", `M${bi} ${FACE}V26H${fi}V${FACE}Z`);
    if (ghost) this.outline.setAttribute("d", this.shape(this.edges(ghost.blend, ghost.v)));
    else this.outline.removeAttribute("d");
    const x = 89 - 178 * piston;
    this.piston.setAttribute("transform", `translate(${x} 0)`);
    this.rooms.front.setAttribute("x", x + 7); this.rooms.front.setAttribute("width", Math.max(101 - x - 7, 0));
    this.rooms.back.setAttribute("x", -101); this.rooms.back.setAttribute("width", Math.max(x - 7 + 101, 0));
    for (const end of ENDS) {
      const [fill, words] = working[end], s = end === "front" ? 1 : -1;
      if (this.filled[end] !== fill) {
        for (const shape of [this.rooms[end], this.space[end]]) shape.setAttribute("fill", `url(#${fill})`);
        this.arrows[end].setAttribute("class", `arrow ${fill}`);
        this.filled[end] = fill;
      }
      const room = end === "front" ? 101 - x - 7 : x - 7 + 101, middle = end === "front" ? 101 - room / 2 : -101 + room / 2;
      this.say[end].setAttribute("x", Math.min(Math.max(middle, -70), 70));
      const told = room > 62 ? words : "";
      if (this.say[end].textContent !== told) this.say[end].textContent = told;
      const port = (this.inner + blend.port / 2) * this.scale * s, flow = fill === "live" ? 1 : fill === "spent" ? -1 : 0;
      const tip = FACE + 9, size = 3.4;
      this.arrows[end].setAttribute("d", flow === 0 ? "" : `M${port - size} ${tip - flow * size}H${port + size}L${port} ${tip + flow * size * 1.3}Z`);
    }
  }
}

// What each end of the cylinder is doing: pattern and words.
function workingOf(kase, blend, v, pistonRate) {
  const told = {};
  for (const end of ENDS) {
    const steam = opening(kase, blend, "steam", end, v), exhaust = opening(kase, blend, "exhaust", end, v);
    const growing = end === "front" ? pistonRate > 0 : pistonRate < 0;
    told[end] = steam > 0 && exhaust > 0 ? ["live", "steam blows through"] : steam > 0 ? ["live", "steam coming in"]
      : exhaust > 0 ? ["spent", "to exhaust"] : ["shut", growing ? "shut: expanding" : "shut: compressing"];
  }
  return told;
}
