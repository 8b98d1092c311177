// The drawing twice: the whole side, and its chest nearer by; in both another state as an outline.

const CONTENTS = ["live-steam", "exhaust", "shut"];

// One picture of the drawing: `box` is what is seen of it.
class Picture {
  constructor(root, text, box, index, prefix) {
    this.root = root;
    root.setAttribute("viewBox", box);
    root.innerHTML = text.replaceAll("side-bore", `${prefix}-bore`);
    this.patterns = CONTENTS.map((name) => this.pattern(`${prefix}-${name}`, name));
    this.up = /** @type {SVGGElement} */ (root.querySelector(".elevation"));
    this.bodies = new Bodies(this.up, index);
    this.outline = svg("g", { class: "outline" }, this.up);
  }

  // What is in a space is told by its pattern too: dots, hatching, crosses.
  pattern(id, name) {
    const made = svg("pattern", { id, width: 7, height: 7, patternUnits: "userSpaceOnUse" }, this.root);
    svg("rect", { width: 7, height: 7, class: `${name} ground` }, made);
    if (name === "exhaust") svg("path", { d: "M-1 8L8 -1M-1 1L1 -1M6 8L8 6", class: "exhaust line" }, made);
    else if (name === "shut") svg("path", { d: "M1.5 3.5h4M3.5 1.5v4", class: "shut line" }, made);
    else for (const at of [1.7, 5.2]) svg("circle", { cx: at, cy: at, r: 0.95, class: "live-steam spot" }, made);
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
    for (const g of this.outline.querySelectorAll(".space, .opening, .hidden, .centre-line")) g.remove();
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
    const wheel = this.up.querySelector(".wheel");
    const rim = Math.max(...[...wheel.querySelectorAll("circle")].map((circle) => circle.r.baseVal.value));
    svg("circle", { cx: 0.86 * Math.max(rim, 1.2 * r), cy: 0, r: 0.09 * r, class: "grip" }, wheel);
    this.rim = Math.max(rim, 1.2 * r);
    svg("circle", { cx: 0, cy: 0, r: this.rim, class: "handle" }, this.up);
    this.scaled();
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
