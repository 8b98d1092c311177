// The gear in side elevation, to scale: each part a group that is only moved from frame to frame.

const SVG = "http://www.w3.org/2000/svg";

function svg(tag, attributes, parent) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  if (parent) parent.appendChild(made);
  return made;
}

const RANK = ["fixed", "guide", "carried", "link", "rod", "abreast", "slide", "plate", "arm", "die"];

class Drawing {
  constructor(root, kase, blend, { box, travels }) {
    this.root = root;
    root.replaceChildren();
    this.kase = kase;
    this.index = blend.index;
    this.values = new Float64Array(blend.counts.length);
    blend.all(0.7, this.values);
    this.r = this.length("axle", "crank pin");
    this.extent = box;
    this.travels = travels;
    const [left, low, right, high] = box;
    root.setAttribute("viewBox", `${left} ${-high} ${right - left} ${high - low}`);
    this.up = svg("g", { transform: "scale(1,-1)" }, root);
    this.parts = [];
    this.wheel();
    const rank = (part) => RANK.indexOf(part.kind) + (part.name === "connecting rod" ? -1.5 : 0);
    for (const part of [...kase.layout.parts].sort((a, b) => rank(a) - rank(b))) this.add(part);
    this.pins();
    this.ghosts = svg("g", { class: "ghost" }, this.up);
    this.handle = svg("circle", { cx: 0, cy: 0, r: 1.75 * this.r, class: "handle" }, this.up);
    this.scaled();
  }

  // Line widths that hold on a small screen: --o is the outline, --px one pixel of the screen, both in millimetres.
  scaled() {
    const px = (this.extent[2] - this.extent[0]) / Math.max(this.root.clientWidth, 50);
    this.root.style.setProperty("--px", `${px}px`);
    this.root.style.setProperty("--o", `${Math.max(0.7 * px, 0.006 * this.r)}px`);
  }

  at(pin, values = this.values) {
    const q = this.index.get(`${pin} x`);
    return q === undefined ? null : [values[q], values[q + 1]];
  }

  length(a, b) {
    const [x, y] = this.at(a), [p, q] = this.at(b);
    return Math.hypot(p - x, q - y);
  }

  group(part, kind) {
    const g = svg("g", { class: `part ${kind}`, "data-part": part.name }, this.up);
    return Object.assign(g, { edge: svg("g", { class: "edge" }, g), body: svg("g", { class: "body" }, g) });
  }

  // A bar along a path, as an ink line with a narrower one over it, and a wide unseen one to be touched.
  bar(g, path, width) {
    svg("path", { d: path, style: `stroke-width: calc(${width}px + 2 * var(--o))` }, g.edge);
    svg("path", { d: path, style: `stroke-width: ${width}px` }, g.body);
    svg("path", { d: path, class: "touch", style: `stroke-width: max(${width}px, 16 * var(--px))` }, g);
  }

  eye(g, x, y, radius) {
    svg("circle", { cx: x, cy: y, r: radius, style: "stroke-width: calc(2 * var(--o))" }, g.edge);
    svg("circle", { cx: x, cy: y, r: radius }, g.body);
  }

  add(part) {
    const draw = this[`${part.kind}Part`];
    if (draw) draw.call(this, part);
  }

  // Keep a group's own points a and b on the pins named.
  follow(g, pins, a, b) {
    const base = (b[0] - a[0]) ** 2 + (b[1] - a[1]) ** 2;
    this.parts.push(() => {
      const [x, y] = this.at(pins[0]), [p, q] = this.at(pins[1]);
      const re = ((p - x) * (b[0] - a[0]) + (q - y) * (b[1] - a[1])) / base;
      const im = ((q - y) * (b[0] - a[0]) - (p - x) * (b[1] - a[1])) / base;
      g.setAttribute("transform", `matrix(${re} ${im} ${-im} ${re} ${x - re * a[0] + im * a[1]} ${y - im * a[0] - re * a[1]})`);
    });
  }

  width(name) {
    return this.r * (name === "connecting rod" ? 0.13 : /lifting|suspension|hanger|union/.test(name) ? 0.06 : 0.08);
  }

  rodPart(part) {
    const g = this.group(part, "rod"), w = this.width(part.name), long = this.length(...part.pins);
    this.bar(g, `M0 0H${long}`, w);
    for (const x of [0, long]) this.eye(g, x, 0, 0.85 * w);
    this.follow(g, part.pins, [0, 0], [long, 0]);
  }

  armPart(part) {
    const g = this.group(part, "arm"), w = this.r * (part.name === "crank" ? 0.2 : 0.1), long = this.length(...part.pins);
    this.bar(g, `M0 0H${long}`, w);
    for (const x of [0, long]) this.eye(g, x, 0, 0.62 * w);
    this.follow(g, part.pins, [0, 0], [long, 0]);
  }

  eccentricPart(part) {
    const g = this.group(part, "eccentric"), long = this.length(...part.pins), size = long + 0.13 * this.r;
    this.eye(g, long, 0, size);
    svg("circle", { cx: long, cy: 0, r: 0.86 * size, class: "sheave" }, g);
    svg("circle", { cx: long, cy: 0, r: size, class: "touch solid" }, g);
    this.follow(g, part.pins, [0, 0], [long, 0]);
    this.up.insertBefore(g, this.up.querySelector(".rod, .link"));
  }

  // A rigid part: the longest distance between its pins as a bar, the other pins on branches from it.
  branches(g, places, width) {
    let best = [0, 1], far = -1;
    places.forEach((a, i) => places.forEach((b, j) => {
      const d = Math.hypot(a[0] - b[0], a[1] - b[1]);
      if (d > far) { far = d; best = [i, j]; }
    }));
    const [a, b] = best.map((i) => places[i]);
    this.bar(g, `M${a}L${b}`, width);
    for (const p of places) {
      const share = ((p[0] - a[0]) * (b[0] - a[0]) + (p[1] - a[1]) * (b[1] - a[1])) / (far * far);
      const s = Math.min(Math.max(share, 0), 1);
      this.bar(g, `M${a[0] + s * (b[0] - a[0])} ${a[1] + s * (b[1] - a[1])}L${p}`, width);
      this.eye(g, p[0], p[1], 0.8 * width);
    }
    return best;
  }

  platePart(part) {
    const g = this.group(part, "rod"), best = this.branches(g, part.places, this.width(part.name) * 1.1);
    this.follow(g, best.map((i) => part.pins[i]), ...best.map((i) => part.places[i]));
  }

  linkPart(part) {
    const slot = this.kase.layout.slot, g = this.group(part, "link"), w = 0.11 * this.r;
    const line = (points) => "M" + points.map((p) => p.join(" ")).join("L");
    for (const p of part.places) {
      const near = slot.body.reduce((a, b) => (Math.hypot(b[0] - p[0], b[1] - p[1]) < Math.hypot(a[0] - p[0], a[1] - p[1]) ? b : a));
      this.bar(g, `M${near}L${p}`, 0.11 * this.r);
      this.eye(g, p[0], p[1], 0.09 * this.r);
    }
    this.bar(g, line(slot.body), 2.1 * w);
    const along = (points) => { const [a, b] = points; const d = Math.hypot(b[0] - a[0], b[1] - a[1]);
      return [a[0] - (b[0] - a[0]) / d * w * 0.5, a[1] - (b[1] - a[1]) / d * w * 0.5]; };
    const open = [along(slot.line), ...slot.line, along([...slot.line].reverse())];
    svg("path", { d: line(open), class: "slot-edge", style: `stroke-width: calc(${w}px + 2 * var(--o))` }, g);
    svg("path", { d: line(open), class: "slot-open", style: `stroke-width: ${w}px` }, g);
    this.follow(g, slot.pins, ...slot.places);
  }

  diePart(part) {
    const slot = this.kase.layout.slot, g = this.group(part, "die"), w = 0.105 * this.r;
    svg("rect", { x: -w / 2, y: -w, width: w, height: 2 * w, style: "stroke-width: calc(1.4 * var(--o))" }, g);
    svg("rect", { x: -w, y: -1.5 * w, width: 2 * w, height: 3 * w, class: "touch solid" }, g);
    const [a, b] = slot.places, base = Math.atan2(b[1] - a[1], b[0] - a[0]);
    const long = this.kase.layout.quantities.indexOf("die");
    const up = (place) => { // slope of the slot's line at the die's place, in the link's own axes
      const i = Math.min(Math.max(Math.round((place + slot.bottom) / (slot.top + slot.bottom) * 24), 1), 23);
      return Math.atan2(slot.line[i + 1][1] - slot.line[i - 1][1], slot.line[i + 1][0] - slot.line[i - 1][0]);
    };
    this.parts.push(() => {
      const [x, y] = this.at(slot.die), [p, q] = this.at(slot.pins[0]), [s, t] = this.at(slot.pins[1]);
      const turn = Math.atan2(t - q, s - p) - base + up(this.values[long]) - Math.PI / 2;
      g.setAttribute("transform", `translate(${x} ${y}) rotate(${turn * 180 / Math.PI})`);
    });
  }

  carriedPart(part) {
    const g = this.group(part, "rod"), [x, y] = this.at(part.pins[0]), [p, q] = this.at(part.pins[1]);
    this.bar(g, `M0 0L${p - x} ${q - y}`, 0.13 * this.r);
    this.eye(g, p - x, q - y, 0.09 * this.r);
    this.parts.push(() => g.setAttribute("transform", `translate(${this.at(part.pins[0]).join(" ")})`));
  }

  // A guided pin: for the crosshead its bars and block, for the valve its spindle.
  guidePart(part) {
    const main = part.name === "slidebars", angle = part.direction * 180 / Math.PI, r = this.r;
    const wide = main ? 0.2 * r : 0.07 * r, travel = this.travels.get(part.pins[0]);
    if (main) {
      const bars = this.group(part, "rails");
      for (const s of [-1, 1])
        this.bar(bars, `M${travel[0] - 0.42 * r} ${s * 1.35 * wide}H${travel[1] + 0.42 * r}`, 0.06 * r);
      bars.setAttribute("transform", `translate(${travel[2]} ${travel[3]}) rotate(${angle})`);
    }
    const g = this.group(main ? { name: "crosshead" } : part, main ? "block" : "spindle");
    this.bar(g, `M0 0H${main ? 1.0 * r : 1.25 * r}`, main ? 0.07 * r : 0.045 * r);
    if (main) {
      const half = 0.26 * r;
      svg("rect", { x: -half, y: -wide, width: 2 * half, height: 2 * wide, style: "stroke-width: calc(2 * var(--o))" }, g.edge);
      svg("rect", { x: -half, y: -wide, width: 2 * half, height: 2 * wide }, g.body);
    } else this.eye(g, 0, 0, 0.06 * r);
    const end = main ? 1.0 * r : 1.25 * r, size = 0.05 * r;
    svg("path", { d: `M${end} ${-1.6 * size}l${size} ${1.1 * size}l${-size} ${size}l${size} ${1.1 * size}`, class: "break" }, g);
    this.parts.push(() => g.setAttribute("transform", `translate(${this.at(part.pins[0]).join(" ")}) rotate(${angle})`));
  }

  slidePart(part) {
    const rod = this.group(part, "rod"), g = this.group(part, "block"), r = this.r;
    svg("rect", { x: -0.13 * r, y: -0.075 * r, width: 0.26 * r, height: 0.15 * r, style: "stroke-width: calc(2 * var(--o))" }, g.edge);
    svg("rect", { x: -0.13 * r, y: -0.075 * r, width: 0.26 * r, height: 0.15 * r }, g.body);
    const far = Math.max(this.length(part.pins[0], part.pins[1]), 1);
    this.bar(rod, `M${-far - 0.35 * r} 0H0`, 0.05 * r);
    this.parts.push(() => {
      const [x, y] = this.at(part.pins[0]), [a, b] = this.at(part.pins[1]), [p, q] = this.at(part.pins[2]);
      const turn = Math.atan2(q - b, p - a) * 180 / Math.PI;
      g.setAttribute("transform", `translate(${x} ${y}) rotate(${turn})`);
      rod.setAttribute("transform", `translate(${a} ${b}) rotate(${turn})`);
    });
  }

  abreastPart(part) {
    const g = this.group(part, "rod"), [x, y] = this.at(part.pins[0]), [p, q] = this.at(part.pins[1]), r = this.r;
    const tall = Math.hypot(p - x, q - y);
    this.bar(g, `M0 ${-0.16 * r}V${0.16 * r}`, 0.12 * r);
    if (tall > 0.2 * r) this.bar(g, `M0 0V${q - y}`, 0.05 * r);
    this.parts.push(() => g.setAttribute("transform",
      `translate(${this.at(part.pins[0]).join(" ")}) rotate(${part.direction * 180 / Math.PI})`));
  }

  // A place on the frame: hatched ground under the pin.
  fixedPart(part) {
    const s = 0.1 * this.r;
    if (part.name === "axle") return;
    const g = svg("g", { class: "part ground", "data-part": part.name }, this.up);
    const arm = /arm pin/.test(part.name);
    if (!arm) svg("path", { d: `M${-s} ${-1.3 * s}L0 0L${s} ${-1.3 * s}ZM${-1.5 * s} ${-1.3 * s}H${1.5 * s}` +
      [-1.2, -0.5, 0.2, 0.9].map((k) => `M${k * s} ${-1.3 * s}l${-0.4 * s} ${-0.5 * s}`).join("") }, g);
    svg("circle", { cx: 0, cy: 0, r: 1.4 * s, class: "touch solid" }, g);
    this.parts.push(() => g.setAttribute("transform", `translate(${this.at(part.pins[0]).join(" ")})`));
  }

  wheel() {
    const g = svg("g", { class: "wheel" }, this.up), r = this.r, rim = 1.6 * r;
    svg("circle", { cx: 0, cy: 0, r: rim, class: "tyre", style: `stroke-width: ${0.13 * r}px` }, g);
    for (let i = 0; i < 12; i++) {
      const a = (i + 0.5) * Math.PI / 6;
      svg("path", { d: `M${0.3 * r * Math.cos(a)} ${0.3 * r * Math.sin(a)}L${1.53 * r * Math.cos(a)} ${1.53 * r * Math.sin(a)}`, class: "spoke" }, g);
    }
    svg("circle", { cx: 0, cy: 0, r: 0.3 * r, class: "boss" }, g);
    svg("circle", { cx: rim, cy: 0, r: 0.11 * r, class: "grip" }, g);
    this.parts.push(() => {
      const [x, y] = this.at("crank pin");
      g.setAttribute("transform", `rotate(${Math.atan2(y, x) * 180 / Math.PI})`);
    });
  }

  pins() {
    const g = svg("g", { class: "pins" }, this.up);
    for (const pin of this.kase.layout.pins) {
      if (pin.startsWith("slot ")) continue;
      const dot = svg("circle", { r: (pin === "axle" ? 0.11 : pin === "crank pin" ? 0.06 : 0.032) * this.r }, g);
      this.parts.push(() => {
        const [x, y] = this.at(pin);
        dot.setAttribute("cx", x);
        dot.setAttribute("cy", y);
      });
    }
  }

  show(blend, t) {
    blend.all(t, this.values);
    for (const move of this.parts) move();
  }
}
