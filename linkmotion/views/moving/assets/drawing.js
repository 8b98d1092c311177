// The drawing twice: the whole side, and its chest nearer by; in both another state as an outline.

// What is in a space is told by its pattern too, and what is cut is hatched, neighbours opposite ways: the marks on a
// square of eight pixels.
const PATTERNS = {
  "live-steam": "M2 1v2M1 2h2M6 5v2M5 6h2", "exhaust": "M0 2H8M0 6H8", "expanding": "M2 1.5v1M1.5 2h1M6 5.5v1M5.5 6h1",
  "compressing": "M1 1l2 2M3 1l-2 2M5 5l2 2M7 5l-2 2", "cut": "M-1 9L9 -1M-1 1L1 -1M7 9L9 7", "cut-across": "M-1 -1L9 9M-1 7L1 9M7 -1L9 1",
};

// One picture of the drawing: `box` is what is seen of it.
class Picture {
  constructor(root, text, box, index, prefix) {
    this.root = root;
    root.setAttribute("viewBox", box);
    root.innerHTML = text.replaceAll("side-bore", `${prefix}-bore`);
    this.patterns = Object.keys(PATTERNS).map((name) => this.pattern(`${prefix}-${name}`, name));
    this.up = /** @type {SVGGElement} */ (root.querySelector(".elevation"));
    this.bodies = new Bodies(this.up, index);
    this.outline = svg("g", { class: "outline" }, this.up);
  }

  pattern(id, name) {
    const made = svg("pattern", { id, width: 8, height: 8, patternUnits: "userSpaceOnUse", class: name.replace("-across", "") }, this.root);
    svg("rect", { width: 8, height: 8, class: "ground" }, made);
    svg("path", { d: PATTERNS[name], class: "drawn" }, made);
    return made;
  }

  // Line widths and patterns of the same size on every screen: --px is a pixel of it in millimetres.
  scaled() {
    const [, , width, height] = this.root.getAttribute("viewBox").split(" ").map(Number);
    const px = Math.max(width / Math.max(this.root.clientWidth, 50), height / Math.max(this.root.clientHeight, 30));
    this.root.style.setProperty("--px", `${px}px`);
    for (const pattern of this.patterns) pattern.setAttribute("patternTransform", `scale(${px})`);
  }

  // The bodies of another state, or none, as lines alone.
  outlined(kinds) {
    this.outline.replaceChildren();
    this.other = null;
    if (!kinds) return;
    for (const g of this.up.querySelectorAll(`:scope > :is(${kinds}), :scope > [clip-path] > :is(${kinds})`)) this.outline.append(g.cloneNode(true));
    for (const g of this.outline.querySelectorAll("[data-part]")) g.removeAttribute("data-part");
    for (const g of this.outline.querySelectorAll(".space, .opening, .hidden, .centre-line, .edge, .mark, .tie, .pin")) g.remove();
  }
}

class Drawing {
  constructor(page) {
    const { kase, blend } = page, { svg: text, box, valve_box, r, central } = kase.drawn;
    this.page = page;
    this.r = r;
    this.central = central;
    this.values = new Float64Array(blend.counts.length);
    this.between = new Float64Array(blend.counts.length);
    this.gear = new Picture($("gear"), text, box, blend.index, "gear");
    this.chest = new Picture($("section"), text, valve_box, blend.index, "chest");
    this.up = this.gear.up;
    const wheel = /** @type {SVGGElement} */ (this.up.querySelector(".wheel"));
    this.rim = wheel.getBBox().width / 2;
    svg("circle", { cx: -0.86 * this.rim, cy: 0, r: 0.045 * this.rim, class: "grip" }, wheel);
    svg("circle", { cx: 0, cy: 0, r: this.rim, class: "handle" }, this.up);
    this.legend();
    this.scaled();
  }

  // What the patterns mean, in the patterns themselves.
  legend() {
    const words = { "live-steam": "live steam", "expanding": "expanding", "exhaust": "exhaust", "compressing": "compressing" };
    for (const list of document.querySelectorAll(".legend")) list.replaceChildren(...Object.entries(words).map(([name, text]) => {
      const item = document.createElement("li"), swatch = svg("svg", { viewBox: "0 0 26 14" });
      const ground = svg("g", { class: name }, swatch);
      svg("rect", { width: 26, height: 14, class: "ground" }, ground);
      for (let x = 0; x < 26; x += 8) for (const y of [0, 8]) svg("path", { d: PATTERNS[name], class: "drawn", transform: `translate(${x} ${y})` }, ground);
      item.append(swatch, text);
      return item;
    }));
  }

  get pictures() { return [this.gear, this.chest]; }

  scaled() { for (const picture of this.pictures) picture.scaled(); }

  at(pin) { return this.gear.bodies.place(pin); }

  show(blend, t, v, working) {
    blend.all(t, this.values);
    const lag = v - blend.value(blend.index.get("spindle"), t) + this.central;
    for (const { bodies } of this.pictures) {
      bodies.put(this.values, lag);
      bodies.fill(working);
    }
  }

  // Another state's bodies as outlines, its difference from this one made larger.
  ghost(other, blend, t, v, factor) {
    if (this.ghostOf !== other) {
      this.ghostOf = other;
      this.gear.outlined(other && ".main-rod, .rod, .lever, .arm, .link, .die, .block, .yoke, .crosshead, .eccentric");
      this.chest.outlined(other && ".valve");
      if (other) for (const picture of this.pictures) {
        picture.outline.dataset.spindle = picture.up.dataset.spindle;
        picture.outline.dataset.along = picture.up.dataset.along;
        picture.other = new Bodies(picture.outline, this.gear.bodies.index);
        picture.other.riders = picture.bodies.riders;
      }
    }
    if (!other) return;
    const found = blend.all(t, new Float64Array(blend.counts.length)), values = this.between;
    for (const [name, q] of this.gear.bodies.index) {
      const theirs = found[blend.index.get(name)];
      values[q] = theirs === undefined ? this.values[q] : this.values[q] + factor * (theirs - this.values[q]);
    }
    const lag = v - values[this.gear.bodies.index.get("spindle")] + this.central;
    for (const picture of this.pictures) picture.other.put(values, lag);
  }
}

// What each end of the cylinder is doing: what is in it, and words.
function workingOf(kase, blend, v, pistonRate) {
  const told = {};
  for (const end of ENDS) {
    const steam = opening(kase, blend, "steam", end, v), exhaust = opening(kase, blend, "exhaust", end, v);
    const growing = end === "front" ? pistonRate > 0 : pistonRate < 0;
    told[end] = steam > 0 && exhaust > 0 ? ["live-steam", "steam blows through"] : steam > 0 ? ["live-steam", "steam coming in"]
      : exhaust > 0 ? ["exhaust", "to exhaust"] : growing ? ["expanding", "shut: expanding"] : ["compressing", "shut: compressing"];
  }
  return told;
}
