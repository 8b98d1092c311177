// Bodies of the drawing, as views/elevation_svg.py makes them: drawn once, and only placed anew.

const SVG = "http://www.w3.org/2000/svg";

function svg(tag, attributes, parent) {
  const made = document.createElementNS(SVG, tag);
  for (const [name, value] of Object.entries(attributes)) made.setAttribute(name, value);
  if (parent) parent.appendChild(made);
  return made;
}

const pairs = (text) => (text ?? "").split(" ").filter(Boolean).map((pair) => pair.split(",").map(Number));

// The turn and the origin that bring points a and b of a body to places p and q.
function carried([ax, ay], [bx, by], [px, py], [qx, qy]) {
  const x = bx - ax, y = by - ay, u = qx - px, v = qy - py, long = x * x + y * y;
  const re = (u * x + v * y) / long, im = (v * x - u * y) / long;
  return [re, im, px - re * ax + im * ay, py - im * ax - re * ay];
}

class Bodies {
  // `root` is the drawing's own group; `index` says where a pin's place is found among the values.
  constructor(root, index) {
    this.index = index;
    this.own = new Map();
    this.spindle = root.dataset.spindle;
    this.along = pairs(root.dataset.along)[0];
    this.riders = [...root.querySelectorAll(".rider")].map((g) => ({ name: g.dataset.rider, pins: g.dataset.pins.split("|"),
      at: pairs(g.dataset.at), own: pairs(g.dataset.own)[0] }));
    this.movers = [...root.querySelectorAll("[data-follows]:not(.rider)")].filter((g) => g.dataset.follows !== "frame")
      .map((g) => ({ g, how: g.dataset.follows, pins: g.dataset.pins.split("|"), at: pairs(g.dataset.at), turn: pairs(g.dataset.turn)[0] }));
    this.spaces = [...root.querySelectorAll("[data-space=front], [data-space=back]")];
  }

  place(name) {
    const own = this.own.get(name);
    if (own) return own;
    const q = this.index.get(`${name} x`);
    return q === undefined ? null : [this.values[q], this.values[q + 1]];
  }

  // Put every body where the pins are; the valve stands `lag` ahead of its spindle pin.
  put(values, lag) {
    this.values = values;
    this.own.clear();
    for (const { name, pins, at, own } of this.riders) {
      const [re, im, x, y] = carried(at[0], at[1], this.place(pins[0]), this.place(pins[1]));
      this.own.set(name, [x + re * own[0] - im * own[1], y + im * own[0] + re * own[1]]);
    }
    const [x, y] = this.place(this.spindle);
    this.own.set("valve", [x + lag * this.along[0], y + lag * this.along[1]]);
    for (const body of this.movers) {
      const [re, im, a, b] = this.pose(body);
      body.g.setAttribute("transform", `matrix(${re} ${im} ${-im} ${re} ${a} ${b})`);
    }
  }

  pose({ how, pins, at, turn }) {
    const first = this.place(pins[0]);
    if (how === "pins") return carried(at[0], at[1], first, this.place(pins[1]));
    if (how === "pin") return [...turn, ...first];
    const [p, q] = this.place(pins[1]), [s, t] = this.place(pins[2]), u = s - p, v = t - q;
    const re = u * turn[0] - v * turn[1], im = u * turn[1] + v * turn[0], long = Math.hypot(re, im);
    return [re / long, im / long, ...first];
  }

  // What is in each end of the cylinder.
  fill(working) {
    for (const space of this.spaces) {
      const look = `space ${working[space.dataset.space][0]}`;
      if (space.getAttribute("class") !== look) space.setAttribute("class", look);
    }
  }
}
