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
  pixel(at) { return [this.scale * at[0] + this.left, this.top - this.scale * at[1]]; }

  lay() {
    const { page, root } = this, { drawing, s } = page;
    root.replaceChildren();
    say("key", "");
    this.names = this.joints = [];
    if (!drawing || !root.clientWidth) return;
    const at = drawing.up.getScreenCTM(), own = root.getBoundingClientRect();
    this.scale = at.a;
    this.left = at.e - own.left;
    this.top = at.f - own.top;
    root.setAttribute("viewBox", `0 0 ${root.clientWidth} ${root.clientHeight}`);
    if (page.other) this.foot(6, `dashed: ${page.outlineWords()}`, "");
    this.layJoints();
    if (s.names) this.layNames();
  }

  // Names stand where there is room with the wheel as it is; while it turns they go with their parts. On a small screen
  // there are numbers, and a key below.
  layNames() {
    const { page, root } = this, size = parseFloat(getComputedStyle(root).fontSize);
    const anchors = [...page.drawing.up.querySelectorAll("[data-name-at]")].map((g) => /** @type {SVGGElement} */ (g))
      .filter((g) => page.named.has(g.dataset.part)).map((g) => ({ g, own: pairs(g.dataset.nameAt)[0], part: g.dataset.part }));
    const pixels = anchors.map((anchor) => this.pixel(this.standing(anchor))), frame = [2, 2, root.clientWidth - 2, root.clientHeight - 2];
    const small = root.clientWidth < 560;
    const labels = anchors.map(({ part }, i) => ({ x: pixels[i][0], y: pixels[i][1], text: small ? String(i + 1) : part }));
    say("key", small ? anchors.map(({ part }, i) => `${i + 1}\u00a0${part.replaceAll(" ", "\u00a0")}`).join(", ") : "");
    const boxes = placed(labels, frame, pixels, size);
    this.names = anchors.map((anchor, i) => {
      const g = svg("g", { class: "name" }, root), [left, top, right, bottom] = boxes[i], [x, y] = pixels[i];
      svg("path", { d: `M${x} ${y}L${Math.min(Math.max(x, left), right)} ${Math.min(Math.max(y, top), bottom)}` }, g);
      svg("text", { x: left + 2, y: bottom - 0.28 * size }, g).textContent = labels[i].text;
      return { g, anchor, from: pixels[i] };
    });
  }

  // Where a body's name points, as it stands.
  standing({ g, own: [x, y] }) {
    const at = g.transform.baseVal.consolidate().matrix;
    return [at.a * x + at.c * y + at.e, at.b * x + at.d * y + at.f];
  }

  // A ring for each worn hole, so much larger than its pin that the play can be seen; by how much is written.
  layJoints() {
    const { page, root } = this, play = Object.entries(page.kase.play);
    if (!play.length) return;
    const most = Math.max(...play.map(([, clearance]) => clearance / 2 * this.scale));
    this.factor = ENLARGED.filter((by) => by * most <= Math.min(13, root.clientWidth / 60)).at(-1) ?? 1;
    this.joints = play.map(([pin, clearance]) => {
      const g = svg("g", { class: "joint" }, root), gap = this.factor * clearance / 2 * this.scale;
      svg("circle", { r: 4 + gap, class: "hole" }, g);
      return { pin, g, gap, dot: svg("circle", { r: 4, class: "journal" }, g) };
    });
    this.foot(root.clientWidth - 6, `play in the joints drawn ${this.factor} times`, "factor");
  }

  foot(x, words, cls) {
    const y = this.root.clientHeight - (cls && this.page.other && this.root.clientWidth < 560 ? 22 : 6);
    svg("text", { x, y, class: cls }, this.root).textContent = words;
  }

  show() {
    const { page } = this;
    for (const { g, anchor, from } of this.names) {
      const [x, y] = this.pixel(this.standing(anchor));
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
