// Motion: Chebyshev series over the reverser of Fourier series over the wheel, blended and evaluated.

// Whole numbers as views/moving/packed_motion.py packs them: bytes of seven bits, least first, the sign in the first bit.
function unpacked(text) {
  const raw = atob(text), found = [];
  let value = 0, place = 1;
  for (let i = 0; i < raw.length; i++) {
    const byte = raw.charCodeAt(i);
    value += (byte & 127) * place;
    place *= 128;
    if (byte & 128) continue;
    found.push(value % 2 ? -(value + 1) / 2 : value / 2);
    value = 0;
    place = 1;
  }
  return found;
}

// One table: a state's motion, or the difference that one item makes.
class Table {
  constructor(raw, data, quantities) {
    const { fine, coarse, free } = data.steps, numbers = unpacked(raw.series);
    const told = new Set(["spindle", "die", "link", "crosshead pin x", "crosshead pin y"]);
    let next = 0;
    this.rows = quantities.map((name) => Array.from({ length: numbers[next++] }, () => {
      const count = numbers[next++], step = told.has(name) ? fine : coarse;
      return Float64Array.from({ length: 2 * count }, () => step * numbers[next++]);
    }));
    this.figures = raw.figures;
    if (raw.lost) {
      let sum = 0;
      this.lost = unpacked(raw.lost).map((by, i) => free * (sum = i % data.lost_angles ? sum + by : by));
    }
    this.most = Math.max(0, ...this.rows.flat().map((row) => row.length / 2));
  }

  // Add share × this table, at the reverser weights given, to a blend.
  addTo(blend, weights, share) {
    this.rows.forEach((rows, q) => rows.forEach((row, n) => {
      const w = weights[n] * share, to = q * blend.stride;
      if (w === 0) return;
      for (let i = 0; i < row.length; i++) blend.c[to + i] += w * row[i];
      blend.counts[q] = Math.max(blend.counts[q], row.length / 2);
    }));
    for (let i = 0; i < this.figures.length; i++) blend.figures[i] += share * this.figures[i];
    if (!this.lost) return;
    const count = blend.lost.length;
    weights.forEach((weight, n) => { for (let i = 0; i < count; i++) blend.lost[i] += weight * share * this.lost[n * count + i]; });
  }
}

// Motion at one place of the reverser: every quantity as a Fourier series in the forward crank angle.
class Blend {
  constructor(quantities, most, lostAngles) {
    this.stride = 2 * most;
    this.c = new Float64Array(quantities.length * this.stride);
    this.counts = new Int32Array(quantities.length);
    this.figures = new Float64Array(9);
    this.lost = new Float64Array(lostAngles);
    this.index = new Map(quantities.map((name, i) => [name, i]));
    this.most = most;
    this.cos = new Float64Array(most);
    this.sin = new Float64Array(most);
  }

  value(q, t) {
    let total = 0;
    const at = q * this.stride;
    for (let k = 0; k < this.counts[q]; k++)
      total += this.c[at + 2 * k] * Math.cos(k * t) - this.c[at + 2 * k + 1] * Math.sin(k * t);
    return total;
  }

  // All quantities at one angle, into out.
  all(t, out) {
    for (let k = 0; k < this.most; k++) {
      this.cos[k] = Math.cos(k * t);
      this.sin[k] = Math.sin(k * t);
    }
    for (let q = 0; q < this.counts.length; q++) {
      let total = 0;
      const at = q * this.stride;
      for (let k = 0; k < this.counts[q]; k++)
        total += this.c[at + 2 * k] * this.cos[k] - this.c[at + 2 * k + 1] * this.sin[k];
      out[q] = total;
    }
    return out;
  }

  get centralAt() { return this.figures[0]; }
  get back() { return this.figures[1]; }
  lap(flow, end) { return this.figures[(flow === "steam" ? 2 : 4) + (end === "front" ? 0 : 1)]; }
  get port() { return this.figures[6]; }
  get slope() { return this.figures[7] * Math.PI / 180; }
  get afreshAt() { return this.figures[8]; }

  displacement(t) { return this.value(this.index.get("spindle"), t) - this.centralAt; }

  crosshead(t) {
    const x = this.value(this.index.get("crosshead pin x"), t), y = this.value(this.index.get("crosshead pin y"), t);
    return x * Math.cos(this.slope) + y * Math.sin(this.slope);
  }

  // Piston's distance from its front limit, as a part of the stroke.
  piston(t) {
    this.limits ??= [this.crosshead(0), this.crosshead(this.back)];
    return (this.limits[0] - this.crosshead(t)) / (this.limits[0] - this.limits[1]);
  }

  lostAt(t) {
    const n = this.lost.length, at = ((t / (2 * Math.PI)) % 1 + 1) % 1 * n, i = Math.floor(at);
    return this.lost[i % n] + (at - i) * (this.lost[(i + 1) % n] - this.lost[i % n]);
  }
}

// Chebyshev polynomials at a place of the reverser; of an eccentric the stop that is nearest.
function reverserWeights(nodes, u, stops) {
  if (nodes.length === 1) return [1];
  if (stops) return nodes.map((node) => (Math.abs(node - u) <= 0.5 ? 1 : 0));
  const [first, last] = [nodes[0], nodes[nodes.length - 1]];
  const angle = Math.acos(Math.min(Math.max((2 * u - first - last) / (first - last), -1), 1));
  return nodes.map((_, n) => Math.cos(n * angle));
}

class Case {
  constructor(raw, data) {
    Object.assign(this, { state: raw.state, sides: raw.sides, whose: raw.whose, admission: raw.admission, notches: raw.notches,
      span: raw.span, moves: raw.moves, events: raw.events, play: raw.play, layout: data.layouts[raw.layout],
      drawn: data.drawings[raw.drawing] });
    this.data = data;
    const table = (own) => new Table(own, data, this.layout.quantities);
    this.table = table(raw);
    this.items = raw.items.map((item) => ({ name: item.name, amount: item.amount, angle: item.angle, table: table(item) }));
    this.rest = raw.rest && table(raw.rest);
    this.most = Math.max(1, ...[this.table, this.rest, ...this.items.map((i) => i.table)].filter(Boolean).map((t) => t.most));
  }

  // Motion with the reverser at u and only some items left in (all: the state itself). What the items do to one
  // another is left in by the share of their pairs that is: none with one item alone, all with all of them.
  at(u, on) {
    const weights = reverserWeights(this.data.nodes, u, this.data.reverser === "stop");
    const blend = new Blend(this.layout.quantities, this.most, this.data.lost_angles);
    this.table.addTo(blend, weights, 1);
    const n = this.items.length, left = on ? on.filter(Boolean).length : n;
    if (on) this.items.forEach((item, i) => { if (!on[i]) item.table.addTo(blend, weights, -1); });
    if (this.rest && left < n) this.rest.addTo(blend, weights, (left * (left - 1)) / (n * (n - 1)) - 1);
    return blend;
  }
}

const ENDS = ["front", "back"];
const FLOWS = { steam: ["admission", "cutoff"], exhaust: ["release", "compression"] };

// +1 when the valve, moving forward, opens that edge.
function edgeSign(admission, flow, end) {
  return (admission === "outside" ? -1 : 1) * (end === "front" ? 1 : -1) * (flow === "steam" ? 1 : -1);
}

function opening(kase, blend, flow, end, v) { return edgeSign(kase.admission, flow, end) * v - blend.lap(flow, end); }

// Where the valve is, from central, at an angle in the direction of running: play drags it behind the gear, and it
// stops where it is left until the other face takes it along.
function valveOf(blend, running, centralAt) {
  const q = blend.index.get("spindle"), alone = (t) => blend.value(q, running * t) - centralAt;
  if (!blend.lost.some((free) => free > 1e-9)) return alone;
  const count = 1440, step = 2 * Math.PI / count, low = [], high = [], place = new Float64Array(count);
  for (let i = 0; i < count; i++) {
    const v = alone(i * step), half = blend.lostAt(running * i * step) / 2;
    low.push(v - half);
    high.push(v + half);
  }
  let last = (low[0] + high[0]) / 2;
  for (let turn = 0; turn < 2; turn++)
    for (let i = 0; i < count; i++) place[i] = last = Math.min(Math.max(last, low[i]), high[i]);
  return (t) => {
    const at = turnedRad(t) / step, i = Math.floor(at);
    return place[i % count] + (at - i) * (place[(i + 1) % count] - place[i % count]);
  };
}

// Events of both ends running one way (+1 forward, −1 backward); angles in the direction of running, degrees.
function eventsOf(kase, blend, running, valve) {
  const found = [], count = 360, step = 2 * Math.PI / count;
  const samples = Array.from({ length: count + 1 }, (_, i) => valve(i * step));
  for (const end of ENDS) {
    const dead = end === "front" ? 0 : running * blend.back;
    const own = { end, dead: turned(dead), lead: opening(kase, blend, "steam", end, valve(dead)), angle: {}, percent: {} };
    for (const [flow, [opens, closes]] of Object.entries(FLOWS)) {
      const f = (v) => opening(kase, blend, flow, end, v), rises = [], falls = [];
      for (let i = 0; i < count; i++) {
        const a = f(samples[i]), b = f(samples[i + 1]);
        if ((a > 0) === (b > 0)) continue;
        let low = i * step, high = low + step;
        for (let n = 0; n < 40; n++) {
          const middle = (low + high) / 2;
          if ((f(valve(middle)) > 0) === (a > 0)) low = middle; else high = middle;
        }
        (b > 0 ? rises : falls).push((low + high) / 2);
      }
      const lengths = rises.map((rise) => Math.min(...falls.map((fall) => turnedRad(fall - rise))));
      const longest = lengths.indexOf(Math.max(...lengths));
      if (longest < 0) continue;
      for (const [event, t] of [[opens, rises[longest]], [closes, rises[longest] + lengths[longest]]]) {
        const gone = blend.piston(running * t);
        own.angle[event] = turned(t);
        own.percent[event] = 100 * (end === "front" ? gone : 1 - gone);
      }
    }
    found.push(own);
  }
  return found;
}

// Events of a notch as the program sent them; where each end's dead centre is goes with them.
function sentEvents(kase, blend, notch, running) {
  return kase.events[notch][running > 0 ? "forward" : "backward"].map((own) =>
    ({ ...own, dead: turned(own.end === "front" ? 0 : running * blend.back) }));
}

function turnedRad(t) { const whole = 2 * Math.PI; return ((t % whole) + whole) % whole; }
function turned(t) { return turnedRad(t) * 180 / Math.PI; }
