// The page: what is chosen, what follows from it, and the controls.

/** @type {<Id extends string>(id: Id) => ElementOf<Id>} */
const $ = (id) => /** @type {any} */ (document.getElementById(id));

// What is told to those who listen is told once, not whenever it is found again.
function say(id, words) { if ($(id).textContent !== words) $(id).textContent = words; }

class Page {
  constructor(data) {
    this.s = { state: "drawing", side: "left", ghost: "", factor: 1, u: 0, angle: 45, running: 1, playing: false,
      rpm: matchMedia("(prefers-reduced-motion: reduce)").matches ? 6 : 20, on: null, off: new Set(), afresh: false };
    this.notes = [];
    this.values = { curve: {}, ghost: {} };
    this.plots = new Plots();
    this.sound = new Beats(this);
    this.controls();
    this.load(data);
    this.last = performance.now();
    requestAnimationFrame((now) => this.tick(now));
  }

  // Take new figures, keeping what is chosen where it still can be.
  load(data) {
    this.data = data;
    this.cases = data.cases.map((raw) => new Case(raw, data));
    const states = [...new Set(this.cases.map((kase) => kase.state))];
    if (!states.includes(this.s.state)) this.s.state = states[0];
    if (!states.includes(this.s.ghost)) this.s.ghost = "";
    const range = [Math.min(...data.nodes), Math.max(...data.nodes)];
    this.range = range;
    if (!this.loaded) this.s.u = Object.values(this.cases[0].notches)[0];
    this.s.u = Math.min(Math.max(this.s.u, range[0]), range[1]);
    this.fillStates(states);
    this.extent = extentOf(this.cases[0], data);
    this.loaded = true;
    this.choose();
  }

  caseOf(state, side) {
    return this.cases.find((kase) => kase.state === state && kase.sides.includes(side)) ?? this.cases.find((k) => k.state === state);
  }

  shownSide() { return this.kase.sides.includes(this.s.side) ? this.s.side : this.kase.sides[0]; }

  // State, side or ghost chosen anew.
  choose() {
    const s = this.s;
    this.kase = this.caseOf(s.state, s.side);
    this.other = s.ghost && s.ghost !== s.state ? this.caseOf(s.ghost, s.side) : null;
    s.on = this.kase.items.map((item) => !s.off.has(item.name));
    this.fillItems();
    this.fillNotches();
    this.blendAnew();
    const most = 1.05 * Math.max(...this.curve("curve", this.blend, this.kase, this.valve).valve.map(Math.abs)) / this.data.scale;
    const reach = Math.max(...this.data.nodes.map((u) => {
      const blend = this.kase.at(u);
      return Math.max(...Array.from({ length: 48 }, (_, i) => Math.abs(blend.displacement(i * Math.PI / 24))));
    }), most);
    if ($("bench")) this.plots.reach = 1.12 * reach * this.data.scale;
    this.drawing = new Drawing($("gear"), this.kase, this.blend, this.extent);
    this.section = new Section($("section"), this.kase, reach, this.blend);
    this.fillParts();
    this.titles();
    this.sound.follow();
    this.render();
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
      ({ event, end: own.end, angle, percent: own.percent[event],
        early: event === "admission" && own.lead > 0 && own.percent[event] < 10 }))).sort((a, b) => a.angle - b.angle);
    this.plots.give("curve", this.curve("curve", this.blend, this.kase, this.valve));
    this.plots.give("ghost", this.other ? this.curve("ghost", this.otherBlend, this.other, this.otherValve) : null);
    this.plots.events(this, this.passing);
    this.plots.edges(this);
    this.fillEvents();
    $("afresh-row").hidden = !this.kase.moves;
    $("reverser").value = String(s.u);
    this.tell("reverser", "place", this.reverserWords());
  }

  // Events running one way: as the program sent them, where the state is shown as it stands in one of its notches.
  eventsAt(running) {
    const { s, kase, blend } = this, notch = this.inNotch();
    if (notch && !s.afresh && s.on.every(Boolean)) return sentEvents(kase, blend, notch, running);
    const central = s.afresh ? blend.afreshAt : blend.centralAt;
    return eventsOf(kase, blend, running, valveOf(blend, running, central));
  }

  // Everything the plots show at one crank angle in the direction of running, in the engine's unit.
  point(blend, kase, valve, angle) { return this.shown(blend, kase, this.s.running * angle, valve(angle)); }

  shown(blend, kase, t, v) {
    const k = this.data.scale, port = blend.port;
    const open = (flow, end) => k * Math.min(Math.max(opening(kase, blend, flow, end, v), 0), port);
    return { piston: 100 * blend.piston(t), valve: k * v, steam_front: open("steam", "front"), steam_back: open("steam", "back"),
      exhaust_front: open("exhaust", "front"), exhaust_back: open("exhaust", "back") };
  }

  curve(name, blend, kase, valve) {
    const columns = { angle: [], piston: [], valve: [], steam_front: [], steam_back: [], exhaust_front: [], exhaust_back: [] };
    const factor = name === "ghost" ? this.s.factor : 1;
    for (let i = 0; i <= 240; i++) {
      const angle = 1.5 * i, turn = angle * Math.PI / 180;
      const v = valve(turn), own = factor === 1 ? v : this.valve(turn);
      const p = this.shown(blend, kase, this.s.running * turn, own + factor * (v - own));
      columns.angle.push(angle);
      for (const [key, value] of Object.entries(p)) columns[key].push(value);
    }
    return columns;
  }

  get t() { return this.s.running * this.s.angle * Math.PI / 180; }

  render() {
    const { s, blend, kase } = this, t = this.t;
    this.drawing.show(blend, t);
    this.drawing.ghost(this.other, this.otherBlend, t, s.factor);
    const values = this.drawing.values;
    const turn = s.angle * Math.PI / 180, v = this.valve(turn), piston = blend.piston(t);
    const rate = s.running * (blend.piston(t + 1e-4) - blend.piston(t - 1e-4));
    const working = workingOf(kase, blend, v, rate);
    let ghost = null;
    if (this.other) {
      const w = this.otherValve(turn);
      ghost = { blend: this.otherBlend, v: v + s.factor * (w - v) };
    }
    this.section.show(blend, v, piston, opening, working, ghost);
    this.now = { v, piston, working };
    this.read(v, piston, working, values);
    this.plots.now({ angle: s.angle, ...this.shown(blend, kase, t, v) });
  }

  tick(now) {
    const dt = Math.min((now - this.last) / 1000, 0.1);
    this.last = now;
    if (this.s.playing) this.turn(this.sound.active ? this.sound.step() : dt * this.s.rpm * 6);
    this.plots.flush(now);
    requestAnimationFrame((next) => this.tick(next));
  }

  // Turn the wheel by so many degrees in the direction of running; events passed on the way are told.
  turn(by) {
    const from = this.s.angle, to = from + by;
    if (by > 0) for (const each of this.passing) {
      const ahead = (each.angle - from + 360) % 360;
      if (ahead > 1e-9 && ahead <= by) this.note(each);
    }
    this.s.angle = ((to % 360) + 360) % 360;
    this.render();
  }

  note(each) {
    const words = `${each.end === "front" ? "Front" : "Back"} end, ${each.event} at ${each.percent.toFixed(1)} % of the stroke: ` +
      `${this.data.events[each.event]}${each.early ? ", a little before the piston turns" : ""}.`;
    this.notes = [[each, words], ...this.notes].slice(0, 4);
    const list = $("notes");
    list.replaceChildren(...this.notes.map(([event, text]) => {
      const item = document.createElement("li");
      item.dataset.event = event.event;
      item.textContent = text;
      return item;
    }));
    if (!this.s.playing) say("told", words); // a wheel that runs would never let a reader of the screen finish
  }

  // A length in the engine's unit, with so many more decimals than it is usually given.
  number(mm, more = 0) {
    const text = (mm * this.data.scale).toFixed(this.data.digits + more);
    return Number(text) === 0 ? text.replace("-", "") : text.replace("-", "−");
  }

  length(mm, more = 0) { return `${this.number(mm, more)} ${this.data.unit}`; }

  // The notch in which the reverser stands, if it stands in one.
  inNotch() {
    const near = Object.entries(this.kase.notches).find(([, at]) => Math.abs(at - this.s.u) < 1e-6 * Math.max(1, this.range[1] - this.range[0]));
    return near && near[0];
  }

  reverserWords() {
    const notches = Object.entries(this.kase.notches), u = this.s.u, notch = this.inNotch();
    if (notch) return notch;
    const sorted = [...notches].sort((a, b) => a[1] - b[1]);
    const above = sorted.find(([, at]) => at > u), below = sorted.reverse().find(([, at]) => at < u);
    return above && below ? `between ${below[0]} and ${above[0]}` : (above ?? below ?? ["fixed"])[0];
  }

  read(v, piston, working, values) {
    const { blend, kase, s } = this, lost = blend.lostAt(this.t);
    const set = (id, text, exact) => {
      say(id, text);
      if (exact !== undefined) $(id).dataset.exact = exact;
    };
    set("r-angle", `${s.angle.toFixed(1)}°`, s.angle);
    set("r-piston", `${(100 * piston).toFixed(1)} % from front`, 100 * piston);
    set("r-valve", `${this.length(Math.abs(v))} ${v >= 0 ? "forward" : "back"}`, v);
    for (const end of ENDS) {
      const steam = opening(kase, blend, "steam", end, v), exhaust = opening(kase, blend, "exhaust", end, v);
      const open = Math.min(Math.max(steam, exhaust), blend.port);
      const words = working[end][1];
      set(`r-${end}`, open > 0 ? `${words}, port open ${this.length(open)}` : words, steam);
    }
    const die = blend.index.get("die");
    $("row-die").hidden = die === undefined;
    if (die !== undefined) {
      const { top, bottom } = kase.layout.slot, place = values[die];
      const beyond = Math.max(place - top, -bottom - place);
      set("r-die", beyond > 0.005 ? `${this.length(beyond)} beyond the slot's end` :
        `${this.length(Math.abs(place))} ${place >= 0 ? "above" : "below"} the middle`, place);
      set("r-link", `${Math.abs(values[die + 1]).toFixed(1)}° ${values[die + 1] >= 0 ? "top leaning back" : "top leaning forward"}`, values[die + 1]);
    }
    $("row-link").hidden = die === undefined;
    $("row-lost").hidden = !(lost > 1e-6);
    set("r-lost", this.length(lost), lost);
    if (s.playing) return;
    $("gear").setAttribute("aria-valuenow", s.angle.toFixed(0));
    $("gear").setAttribute("aria-valuetext", `crank ${s.angle.toFixed(0)} degrees; front: ${working.front[1]}; back: ${working.back[1]}`);
  }
}
