// Words laid over the gear in the screen's own pixels, so that they can be read however small the drawing is: the
// parts' names where they are asked for, and the play in the joints, enlarged.

const ENLARGED = [1, 2, 5, 10, 20, 50, 100, 200, 500];

class Over {
  constructor(page) {
    this.page = page;
    this.root = $("over");
    this.lay();
    new ResizeObserver(() => { this.lay(); this.show(); }).observe(this.root);
  }

  // A place of the gear's plane, mm, in pixels of the layer.
  pixel([x, y]) { return [this.scale * x + this.left, this.top - this.scale * y]; }

  lay() {
    const { page, root } = this, { drawing, s } = page;
    root.replaceChildren();
    this.names = this.joints = [];
    if (!drawing || !root.clientWidth) return;
    const at = drawing.up.getScreenCTM(), own = root.getBoundingClientRect();
    this.scale = at.a;
    this.left = at.e - own.left;
    this.top = at.f - own.top;
    root.setAttribute("viewBox", `0 0 ${root.clientWidth} ${root.clientHeight}`);
    this.layJoints();
    if (s.names) this.layNames();
  }

  // Names stand where there is room with the wheel as it is; while it turns they go with their parts.
  layNames() {
    const { page, root } = this, size = parseFloat(getComputedStyle(root).fontSize);
    const anchors = page.kase.layout.parts.filter((part) => page.named.has(part.name) && part.kind !== "fixed")
      .map((part) => ({ part, at: this.anchor(part) })).filter(({ at }) => at);
    const pixels = anchors.map(({ at }) => this.pixel(at())), frame = [2, 2, root.clientWidth - 2, root.clientHeight - 2];
    const labels = anchors.map(({ part }, i) => ({ x: pixels[i][0], y: pixels[i][1], text: part.name }));
    const boxes = placed(labels, frame, page.kase.layout.pins.map((pin) => this.pixel(page.drawing.at(pin))), size);
    this.names = anchors.map(({ at }, i) => {
      const g = svg("g", { class: "name" }, root), [left, top, right, bottom] = boxes[i], [x, y] = pixels[i];
      svg("path", { d: `M${x} ${y}L${Math.min(Math.max(x, left), right)} ${Math.min(Math.max(y, top), bottom)}` }, g);
      svg("text", { x: left + 2, y: bottom - 0.28 * size }, g).textContent = labels[i].text;
      return { g, at, from: pixels[i] };
    });
  }

  // Where a part's name points: the middle of its pins.
  anchor(part) {
    const pins = part.pins.filter((pin) => this.page.drawing.at(pin));
    return pins.length ? () => {
      const all = pins.map((pin) => this.page.drawing.at(pin));
      return [0, 1].map((i) => all.reduce((sum, p) => sum + p[i], 0) / all.length);
    } : null;
  }

  // A ring for each worn hole, so much larger than its pin that the play can be seen; by how much is written.
  layJoints() {
    const { page, root } = this, play = Object.entries(page.kase.play);
    if (!play.length) return;
    const most = Math.max(...play.map(([, clearance]) => clearance / 2 * this.scale));
    this.factor = ENLARGED.filter((by) => by * most <= 13).at(-1) ?? 1;
    this.joints = play.map(([pin, clearance]) => {
      const g = svg("g", { class: "joint" }, root), gap = this.factor * clearance / 2 * this.scale;
      svg("circle", { r: 4 + gap, class: "hole" }, g);
      return { pin, g, gap, dot: svg("circle", { r: 4, class: "journal" }, g) };
    });
    svg("text", { x: root.clientWidth - 6, y: root.clientHeight - 8, class: "factor" }, root).textContent =
      `play in the joints drawn ${this.factor} times`;
  }

  show() {
    const { page } = this;
    for (const { g, at, from } of this.names) {
      const [x, y] = this.pixel(at());
      g.setAttribute("transform", `translate(${x - from[0]} ${y - from[1]})`);
    }
    if (!this.joints.length) return;
    const { blend } = page, t = page.t, half = blend.lostAt(t) / 2, values = page.drawing.values;
    // how far through its free movement the valve stands: −1 pulled back in it, +1 pushed forward
    const share = half > 1e-9 ? Math.min(Math.max((page.now.v - (blend.value(blend.index.get("spindle"), t) - page.central)) / half, -1), 1) : 0;
    for (const { pin, g, gap, dot } of this.joints) {
      const q = blend.index.get(`${pin} play x`), way = Math.hypot(values[q], values[q + 1]);
      g.style.display = way > 1e-4 ? "" : "none";
      const [x, y] = this.pixel(page.drawing.at(pin));
      g.setAttribute("transform", `translate(${x} ${y})`);
      dot.setAttribute("transform", `translate(${share * gap * values[q] / way} ${-share * gap * values[q + 1] / way})`);
    }
  }
}
