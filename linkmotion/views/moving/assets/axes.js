// One pair of axes in an SVG: a frame with its scale, and lines, areas, marks and words in it.

const SHAPES = {
  admission: (x, y) => `M${x - 4.5} ${y}a4.5 4.5 0 1 0 9 0a4.5 4.5 0 1 0 -9 0Z`,
  cutoff: (x, y) => `M${x - 4} ${y - 4}h8v8h-8Z`,
  release: (x, y) => `M${x} ${y - 5}l5 9h-10Z`,
  compression: (x, y) => `M${x} ${y - 5.5}l5 5.5l-5 5.5l-5 -5.5Z`,
};

// Round figures at which a scale is marked.
function ticksOf(least, most, about) {
  const rough = (most - least) / about, ten = 10 ** Math.floor(Math.log10(rough));
  const step = ten * [1, 2, 5, 10].find((by) => ten * by >= rough), found = [];
  for (let i = Math.ceil(least / step); i * step <= most + 1e-9 * step; i++) found.push(Number((i * step).toPrecision(12)));
  return found;
}

class Axes {
  // `x` and `y`: { range, ticks, title }; `box`: [left, top, right, bottom] of the frame, pixels.
  constructor(root, box, x, y) {
    this.box = box;
    this.xs = x.range;
    this.ys = y.range;
    this.size = parseFloat(getComputedStyle(root).fontSize);
    this.g = svg("g", {}, root);
    const [left, top, right, bottom] = box, em = this.size;
    svg("rect", { x: left, y: top, width: right - left, height: bottom - top, class: "frame" }, this.g);
    for (const at of x.ticks) {
      svg("path", { d: `M${this.px(at)} ${top}V${bottom}`, class: "grid" }, this.g);
      if (x.title) this.word(this.px(at), bottom + 1.15 * em, String(at), "middle");
    }
    for (const at of y.ticks) {
      svg("path", { d: `M${left} ${this.py(at)}H${right}`, class: "grid" }, this.g);
      this.word(left - 5, this.py(at) + 0.35 * em, String(at).replace("-", "−"), "end");
    }
    if (x.title) this.word((left + right) / 2, bottom + 2.5 * em, x.title, "middle");
    if (y.title) svg("g", { transform: `translate(${em} ${(top + bottom) / 2}) rotate(-90)` }, this.g).append(this.word(0, 0, y.title, "middle"));
    this.drawn = svg("g", {}, this.g);
  }

  px(x) { const { box, xs } = this; return box[0] + (x - xs[0]) / (xs[1] - xs[0]) * (box[2] - box[0]); }

  py(y) { const { box, ys } = this; return box[3] - (y - ys[0]) / (ys[1] - ys[0]) * (box[3] - box[1]); }

  word(x, y, text, cls, parent = this.g) {
    const made = svg("text", { x, y, class: cls }, parent);
    made.textContent = text;
    return made;
  }

  places(xs, ys) { return xs.map((x, i) => [this.px(x), this.py(ys[i])]); }

  // A line through points of the frame's pixels; closed down to the zero line where it is an area.
  line(places, cls, area = false) {
    let d = "M" + places.map((p) => `${p[0].toFixed(1)} ${p[1].toFixed(1)}`).join("L");
    if (area) d += `V${this.py(0)}H${places[0][0]}Z`;
    svg("path", { d, class: cls }, this.drawn);
  }

  level(y, cls) { svg("path", { d: `M${this.box[0]} ${this.py(y)}H${this.box[2]}`, class: cls }, this.drawn); }

  upright(x, cls) { svg("path", { d: `M${this.px(x)} ${this.box[1]}V${this.box[3]}`, class: cls }, this.drawn); }

  mark(event, end, x, y) {
    const flow = FLOWS.steam.includes(event) ? "steam" : "exhaust";
    svg("path", { d: SHAPES[event](x, y), class: `mark ${flow} ${end}` }, this.drawn);
  }

  // Words beside their points; a fine line leads to what had to stand further off.
  name(labels, points, taken = []) {
    const boxes = placed(labels, this.box, points, this.size, taken);
    labels.forEach((label, i) => {
      const [left, top, right, bottom] = boxes[i], x = Math.min(Math.max(label.x, left), right), y = Math.min(Math.max(label.y, top), bottom);
      if (!label.along && Math.hypot(x - label.x, y - label.y) > 14) svg("path", { d: `M${label.x} ${label.y}L${x} ${y}`, class: "leader" }, this.drawn);
      this.word(left + 2, bottom - 0.3 * this.size, label.text, `said ${label.cls ?? ""}`, this.drawn);
    });
  }
}
