// The page: what is chosen, what follows from it, and the controls.

/** @type {<Id extends string>(id: Id) => ElementOf<Id>} */
const $ = (id) => /** @type {any} */ (document.getElementById(id));

// What is told to those who listen is told once, not whenever it is found again.
function say(id, words) { if ($(id).textContent !== words) $(id).textContent = words; }

class Page {
  constructor(data) {
    this.still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.s = { state: "drawing", side: "", ghost: "", factor: 1, u: 0, angle: 45, running: 1, playing: false, step: 0, names: false,
      rpm: this.still ? 6 : 20, on: null, off: new Set(), afresh: false };
    this.notes = [];
    this.plots = new Plots(this);
    this.sound = new Beats(this);
    this.controls();
    this.data = data;
    this.s.side = data.sides[0];
    this.cases = data.cases.map((raw) => new Case(raw, data));
    this.range = [Math.min(...data.nodes), Math.max(...data.nodes)];
    this.s.u = Object.values(this.cases[0].notches)[0];
    this.fillStates([...new Set(this.cases.map((kase) => kase.state))]);
    this.choose();
    this.last = performance.now();
    requestAnimationFrame((now) => this.tick(now));
  }

  caseOf(state, side) {
    return this.cases.find((kase) => kase.state === state && kase.sides.includes(side)) ?? this.cases.find((k) => k.state === state);
  }

  shownSide() { return this.kase.sides.includes(this.s.side) ? this.s.side : this.kase.sides[0]; }

  // State, side or ghost chosen anew.
  choose() {
    const s = this.s;
    const kase = this.caseOf(s.state, s.side);
    if (this.kase) s.u = this.reverserOn(kase);
    this.kase = kase;
    this.reach = this.farthest();
    this.other = s.ghost && s.ghost !== s.state ? this.caseOf(s.ghost, s.side) : null;
    s.on = this.kase.items.map((item) => !s.off.has(item.name));
    this.fillItems();
    this.fillNotches();
    this.blendAnew();
    this.drawing = new Drawing(this);
    this.fillParts();
    this.titles();
    this.sound.follow();
    this.over ??= new Over(this);
    this.render();
    this.over.lay();
    this.over.show();
    if (s.step) this.light(this.lit);
  }

  // Farthest that the valve goes from central anywhere, mm.
  farthest() {
    return Math.max(...this.data.nodes.map((u) => {
      const blend = this.kase.at(u);
      return Math.max(...Array.from({ length: 48 }, (_, i) => Math.abs(blend.displacement(i * Math.PI / 24)))) + Math.max(...blend.lost) / 2;
    }));
  }

  // The reverser moved, or an item switched: series, curves and events follow.
  blendAnew() {
    const s = this.s;
    if (this.data.reverser === "stop") {
      const names = Object.keys(this.kase.notches);
      if (names.length > 1) s.u = this.kase.notches[s.running > 0 ? "forward" : "backward"] ?? s.u;
    }
    this.blend = this.kase.at(s.u, s.on);
    this.otherBlend = this.other && this.other.at(s.u);
    this.central = s.afresh ? this.blend.afreshAt : this.blend.centralAt;
    this.valve = valveOf(this.blend, s.running, this.central);
    this.events = this.eventsAt(s.running);
    if (this.other) this.otherValve = valveOf(this.otherBlend, s.running, s.afresh ? this.otherBlend.afreshAt : this.otherBlend.centralAt);
    this.passing = this.events.flatMap((own) => Object.entries(own.angle).map(([event, angle]) =>
      ({ event, end: own.end, angle, percent: own.percent[event], at: this.point(angle),
        early: event === "admission" && own.lead > 0 && own.percent[event] < 10 }))).sort((a, b) => a.angle - b.angle);
    const k = this.data.scale, edges = {};
    for (const flow of ["steam", "exhaust"]) for (const end of ENDS)
      edges[`${flow}_${end}`] = k * edgeSign(this.kase.admission, flow, end) * this.blend.lap(flow, end);
    this.plots.give(this.curve(this.blend, this.kase, this.valve, 1),
      this.other && this.curve(this.otherBlend, this.other, this.otherValve, s.factor), this.passing, edges,
      1.12 * k * this.reach, k * this.blend.port);
    this.fillEvents();
    $("afresh-row").hidden = !this.kase.moves;
    this.showReverser();
    this.tell("reverser", "place", this.reverserWords());
  }

  // Events running one way: as the program sent them, where the state is shown as it stands in one of its notches.
  eventsAt(running) {
    const { s, kase, blend } = this, notch = this.inNotch();
    if (notch && !s.afresh && s.on.every(Boolean)) return sentEvents(kase, blend, notch, running);
    const central = s.afresh ? blend.afreshAt : blend.centralAt;
    return eventsOf(kase, blend, running, valveOf(blend, running, central));
  }

  // Everything the plots show at one crank angle in the direction of running, degrees, in the engine's unit.
  point(angle) {
    const turn = angle * Math.PI / 180;
    return { angle, ...this.shown(this.blend, this.kase, this.s.running * turn, this.valve(turn)) };
  }

  shown(blend, kase, t, v) {
    const k = this.data.scale, port = blend.port;
    const open = (flow, end) => k * Math.min(Math.max(opening(kase, blend, flow, end, v), 0), port);
    return { piston: 100 * blend.piston(t), valve: k * v, steam_front: open("steam", "front"), steam_back: open("steam", "back"),
      exhaust_front: open("exhaust", "front"), exhaust_back: open("exhaust", "back") };
  }

  // Columns over the turn; another state's with its difference from this one made larger.
  curve(blend, kase, valve, factor) {
    const columns = { angle: [], piston: [], valve: [], steam_front: [], steam_back: [], exhaust_front: [], exhaust_back: [] };
    for (let i = 0; i <= 240; i++) {
      const angle = 1.5 * i, turn = angle * Math.PI / 180;
      const v = valve(turn), own = factor === 1 ? v : this.valve(turn);
      const p = this.shown(blend, kase, this.s.running * turn, own + factor * (v - own));
      columns.angle.push(angle);
      for (const [key, value] of Object.entries(p)) columns[key].push(value);
    }
    return columns;
  }

  backDeadCentre() { return turned(this.s.running > 0 ? this.blend.back : -this.blend.back); }

  get t() { return this.s.running * this.s.angle * Math.PI / 180; }

  render() {
    const { s, blend, kase } = this, t = this.t;
    const turn = s.angle * Math.PI / 180, v = this.valve(turn), piston = blend.piston(t);
    const rate = s.running * (blend.piston(t + 1e-4) - blend.piston(t - 1e-4));
    const working = workingOf(kase, blend, v, rate);
    this.drawing.show(blend, t, v, working);
    this.drawing.ghost(this.other, this.otherBlend, t, this.other && v + s.factor * (this.otherValve(turn) - v), s.factor);
    this.now = { v, piston, working };
    this.over.show();
    this.read(v, piston, working, this.drawing.values);
    this.plots.show({ angle: s.angle, ...this.shown(blend, kase, t, v) });
  }

  tick(now) {
    const dt = Math.min((now - this.last) / 1000, 0.1);
    this.last = now;
    if (this.s.playing) this.turn(this.sound.active ? this.sound.step() : dt * this.s.rpm * 6);
    requestAnimationFrame((next) => this.tick(next));
  }

  // Turn the wheel by so many degrees in the direction of running, or back; events passed on the way are told.
  turn(by) {
    const from = this.s.angle, to = from + by, way = Math.sign(by);
    const passed = this.passing.map((each) => ({ each, after: (way * (each.angle - from) + 360) % 360 }))
      .filter(({ after }) => after > 1e-9 && after <= Math.abs(by) + 1e-9).sort((a, b) => a.after - b.after);
    for (const { each } of passed) this.note(each, by < 0);
    this.s.angle = ((to % 360) + 360) % 360;
    this.render();
  }

  // The shorter way round to an angle.
  turnTo(angle) { this.turn((angle - this.s.angle + 540) % 360 - 180); }
}
