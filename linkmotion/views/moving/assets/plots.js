// Three plots of one turn: the valve, the ports' openings end by end, and the valve against the piston. Their curves
// are drawn when these change; from frame to frame only the ring and the hair are moved.

const TURN = { range: [0, 360], ticks: [0, 90, 180, 270, 360], title: "crank angle, degrees" };
const STROKE = { range: [-4, 104], ticks: [0, 25, 50, 75, 100], title: "piston from its front end, % of the stroke" };

class Plots {
  constructor(page) {
    this.page = page;
    this.plots = ["valve", "openings", "ellipse"].map((name) => {
      const figure = $(`plot-${name}`), root = /** @type {SVGSVGElement} */ (figure.querySelector("svg"));
      const plot = { name, figure, root, reading: figure.querySelector(".reading"), axes: /** @type {Axes[]} */ ([]), rings: [], hair: null };
      root.addEventListener("pointermove", (e) => this.point(plot, e));
      root.addEventListener("pointerdown", (e) => { root.setPointerCapture(e.pointerId); this.point(plot, e, true); });
      root.addEventListener("pointerleave", () => this.show(this.row));
      return plot;
    });
    new ResizeObserver(() => this.draw()).observe($("plot-valve"));
    this.seen = new Set();
    const watch = new IntersectionObserver((rows) => {
      for (const row of rows) this.seen[row.isIntersecting ? "add" : "delete"](row.target);
      if (this.row) this.show(this.row);
    });
    for (const plot of this.plots) watch.observe(plot.figure);
  }

  // What is drawn: columns over the turn, another state's, events, and displacements at which the edges open.
  give(curve, ghost, passing, edges, reach, port) {
    this.curve = curve;
    this.ghost = ghost;
    this.passing = passing;
    this.edges = edges;
    this.reach = reach;
    this.port = port;
    this.draw();
  }

  draw() {
    if (!this.curve) return;
    for (const plot of this.plots) {
      const { root } = plot, width = root.clientWidth, height = root.clientHeight, em = parseFloat(getComputedStyle(root).fontSize);
      if (!width) continue;
      root.setAttribute("viewBox", `0 0 ${width} ${height}`);
      root.replaceChildren();
      const box = [4.4 * em, 0.6 * em, width - 0.9 * em, height - 3 * em];
      plot.axes = plot.name === "openings" ? this.openings(root, box) : [this.valve(root, box, plot.name === "ellipse")];
      plot.hair = svg("path", { class: "hair" }, root);
      plot.rings = Array.from({ length: plot.name === "openings" ? 4 : 1 }, () => svg("circle", { r: 5.5, class: "ring" }, root));
      root.setAttribute("aria-label", this.words(plot.name));
    }
    if (this.row) this.show(this.row);
  }

  valve(root, box, ellipse) {
    const { curve, ghost, reach, page } = this, x = ellipse ? "piston" : "angle";
    const axes = new Axes(root, box, ellipse ? STROKE : TURN,
      { range: [-reach, reach], ticks: ticksOf(-reach, reach, 5), title: `valve from central, ${page.data.unit}` });
    if (!ellipse) axes.upright(page.backDeadCentre(), "dead");
    for (const [name, at] of Object.entries(this.edges)) axes.level(at, `edge ${name}`);
    if (ghost) axes.line(axes.places(ghost[x], ghost.valve), "other");
    const line = axes.places(curve[x], curve.valve);
    axes.line(line, "valve-line");
    const labels = this.passing.map((each) => {
      const at = [axes.px(each.at[x]), axes.py(each.at.valve)];
      axes.mark(each.event, each.end, ...at);
      return { x: at[0], y: at[1], text: `${each.end} ${each.event}` };
    });
    if (ghost) {
      const top = ghost.valve.indexOf(Math.max(...ghost.valve));
      labels.push({ x: axes.px(ghost[x][top]), y: axes.py(ghost.valve[top]), text: page.outlineWords(), cls: "flag" });
    }
    axes.name([...labels, ...this.edgeNames(axes)], [...line, ...labels.map(({ x: a, y: b }) => [a, b])]);
    return axes;
  }

  // Each edge is named somewhere along its line; lines that lie on one another are named once.
  edgeNames(axes) {
    const [left, , right] = axes.box, name = (y, text) => ({ text, cls: "faint",
      along: [0.02, 0.2, 0.35, 0.5, 0.65, 0.8, 0.98].map((share) => [left + share * (right - left), y]) });
    return ["steam", "exhaust"].flatMap((flow) => {
      const own = ENDS.map((end) => ({ end, y: axes.py(this.edges[`${flow}_${end}`]) }));
      return Math.abs(own[0].y - own[1].y) < 4 ? [name(own[0].y, `${flow} edges`)] : own.map(({ end, y }) => name(y, `${end} ${flow} edge`));
    });
  }

  // The front end above, the back end below: how far its port is open to steam and to exhaust.
  openings(root, box) {
    const [left, top, right, bottom] = box, { curve, ghost, port, page } = this, half = (bottom - top) / 2, gap = 5;
    return ENDS.map((end, i) => {
      const own = [left, top + i * (half + gap / 2), right, top + half - gap / 2 + i * (half + gap / 2)];
      const axes = new Axes(root, own, i ? TURN : { ...TURN, title: "" },
        { range: [0, 1.4 * port], ticks: ticksOf(0, port, 3), title: "" });
      for (const flow of ["exhaust", "steam"]) {
        const line = axes.places(curve.angle, curve[`${flow}_${end}`]);
        axes.line(line, `area ${flow}`, true);
        if (ghost) axes.line(axes.places(ghost.angle, ghost[`${flow}_${end}`]), "other");
        axes.line(line, `open ${flow}`);
      }
      axes.upright(page.backDeadCentre(), "dead");
      const labels = this.passing.filter((each) => each.end === end).map((each) => {
        const at = [axes.px(each.angle), axes.py(0)];
        axes.mark(each.event, end, ...at);
        return { x: at[0], y: at[1], text: each.event };
      });
      for (const flow of ["steam", "exhaust"]) {
        const column = curve[`${flow}_${end}`], most = Math.max(...column);
        const across = column.map((v, k) => (v > 0.98 * most ? k : -1)).filter((k) => k >= 0);
        if (most > 0) labels.push({ x: axes.px(curve.angle[across[across.length >> 1]]), y: axes.py(most) - 2, text: flow, cls: flow });
      }
      const title = `${end} end: port open, ${page.data.unit}`;
      axes.word(left + 5, own[1] + 1.05 * axes.size, title, "said faint", axes.drawn);
      axes.name(labels, labels.map((l) => [l.x, l.y]), [[left, own[1], left + 10 + widthOf(title, axes.size), own[1] + 1.3 * axes.size]]);
      return axes;
    });
  }

  // The marks that move: where the wheel stands, or where a pointer asks.
  show(row, asked = null) {
    if (!asked) this.row = row;
    for (const plot of this.plots) {
      if (!plot.hair || (this.page.s.playing && !this.seen.has(plot.figure)) || (asked && asked !== plot)) continue;
      const x = plot.axes[0].px(plot.name === "ellipse" ? row.piston : row.angle), { axes } = plot;
      plot.hair.setAttribute("d", `M${x.toFixed(1)} ${axes[0].box[1]}V${axes[axes.length - 1].box[3]}`);
      plot.rings.forEach((ring, i) => {
        const own = axes[i >> 1] ?? axes[0], value = plot.name === "openings" ? row[`${i % 2 ? "exhaust" : "steam"}_${ENDS[i >> 1]}`] : row.valve;
        ring.setAttribute("transform", `translate(${x.toFixed(1)} ${own.py(value).toFixed(1)})`);
      });
      plot.reading.textContent = this.reading(plot.name, row);
    }
  }

  reading(name, row) {
    const { page } = this, length = (v) => page.length(v / page.data.scale);
    if (name !== "openings") return `${row.angle.toFixed(0)}°, piston ${row.piston.toFixed(1)} %: valve ${length(Math.abs(row.valve))} ${row.valve >= 0 ? "forward" : "back"}`;
    const open = ENDS.map((end) => {
      const flow = ["steam", "exhaust"].find((own) => row[`${own}_${end}`] > 0);
      return `${end} ${flow ? `${flow} ${length(row[`${flow}_${end}`])}` : "shut"}`;
    });
    return `${row.angle.toFixed(0)}°: ${open.join(", ")}`;
  }

  // A pointer reads the curve; pressed, it takes the wheel there.
  point(plot, e, pressed = false) {
    const [axes] = plot.axes, own = plot.root.getBoundingClientRect(), x = e.clientX - own.left, y = e.clientY - own.top;
    let angle = (x - axes.box[0]) / (axes.box[2] - axes.box[0]) * 360;
    if (plot.name === "ellipse") {
      const far = this.curve.piston.map((p, i) => Math.hypot(axes.px(p) - x, axes.py(this.curve.valve[i]) - y));
      angle = this.curve.angle[far.indexOf(Math.min(...far))];
    }
    angle = Math.min(Math.max(angle, 0), 359.9);
    if (pressed || e.buttons & 1) this.page.turnTo(angle);
    else this.show({ angle, ...this.page.point(angle) }, plot);
  }

  words(name) {
    const { curve, page, passing } = this, span = (column) => [Math.min(...column), Math.max(...column)].map((v) => page.number(v / page.data.scale));
    const events = passing.map((each) => `${each.end} ${each.event} at ${each.angle.toFixed(0)}°, ${each.percent.toFixed(1)} %`).join("; ");
    if (name === "openings") return `How far the ports are open over one turn, ${page.data.unit}: front to steam up to ${span(curve.steam_front)[1]}, ` +
      `back up to ${span(curve.steam_back)[1]}. ${events}.`;
    const [least, most] = span(curve.valve);
    return `The valve from central against ${name === "valve" ? "the crank angle" : "the piston"}: from ${least} to ${most} ${page.data.unit}. ${events}.`;
  }
}
