// Controls: every one a plain element of the page, so that keyboard, mouse and finger all work it.

function option(value, text) { return Object.assign(document.createElement("option"), { value, textContent: text }); }

Object.assign(Page.prototype, /** @type {PageControls & ThisType<Page>} */ ({
  controls() {
    const s = this.s, on = (id, event, act) => $(id).addEventListener(event, act);
    on("play", "click", () => this.play(!s.playing));
    on("ahead", "click", () => this.turn(5));
    on("astern", "click", () => this.turn(-5));
    on("next", "click", () => this.toEvent());
    on("way", "click", () => this.run(-s.running));
    on("speed", "input", (e) => { s.rpm = Number(e.target.value); this.speed(); this.sound.follow(); });
    on("reverser", "input", (e) => this.reverse(this.reverserAt(Number(e.target.value))));
    on("notch", "change", (e) => { if (e.target.value !== "") this.reverse(this.kase.notches[e.target.value]); });
    on("state", "change", (e) => { s.state = e.target.value; s.off.clear(); this.choose(); });
    on("side", "change", (e) => { s.side = e.target.value; s.off.clear(); this.choose(); });
    on("ghost-of", "change", (e) => { s.ghost = e.target.value; this.choose(); });
    on("factor", "input", (e) => { s.factor = Math.round(10 ** Number(e.target.value)); this.factor(); this.blendAnew(); this.over.lay(); this.render(); });
    on("afresh", "change", (e) => { s.afresh = e.target.checked; this.blendAnew(); this.render(); });
    addEventListener("beforeprint", () => this.printing());
    document.addEventListener("keydown", (e) => this.key(e));
    this.dragging();
    this.pointing();
    this.touring();
    const sized = new ResizeObserver(() => { if (this.drawing) this.drawing.scaled(); });
    for (const id of ["gear", "section"]) sized.observe($(id));
    new ResizeObserver(() => { if (this.data) this.showTicks(); }).observe($("reversing"));
    this.speed();
    this.factor();
  },

  // On paper each sheet says what it is of and when; the gear keeps the screen's proportions, and what lies over it its place.
  printing() {
    const shown = ["sheet-state", "sheet-side", "place"].map((id) => $(id).textContent).filter(Boolean);
    say("printed", `${[this.data.engine, ...shown].join(", ")}; printed ${new Date().toISOString().slice(0, 10)}`);
    $("gear").parentElement.style.setProperty("--aspect", `${$("gear").clientWidth} / ${$("gear").clientHeight}`);
  },

  // What a slider stands for, beside it and for a reader of the screen.
  tell(slider, place, words) {
    $(place).textContent = words;
    $(slider).setAttribute("aria-valuetext", words);
  },

  speed() {
    $("speed").value = String(this.s.rpm);
    this.tell("speed", "speed-words", `${this.s.rpm} turns a minute`);
  },

  factor() { this.tell("factor", "factor-words", this.s.factor === 1 ? "as it is" : `${this.s.factor} times`); },

  play(on) {
    this.s.playing = on;
    $("play").textContent = on ? "❚❚ Stop" : "▶ Turn";
    $("play").setAttribute("aria-pressed", String(on));
    if (!on) this.render();
    this.sound.follow();
  },

  run(way) {
    this.s.running = way;
    this.s.angle = (360 - this.s.angle) % 360;
    this.notes = [];
    $("notes").replaceChildren();
    $("way").textContent = way > 0 ? "Running forward ⟳" : "Running backward ⟲";
    this.blendAnew();
    this.sound.follow();
    this.render();
  },

  // Turn on to the next event, and tell it.
  toEvent() {
    if (!this.passing.length) return;
    const ahead = this.passing.map((each) => ((each.angle - this.s.angle - 1e-6) % 360 + 360) % 360);
    this.turn(Math.min(...ahead) + 2e-6);
  },

  key(e) {
    const own = /** @type {Element} */ (e.target).closest("input, select, textarea, button, summary, a");
    const typing = own && (!["BUTTON", "SUMMARY"].includes(own.tagName) || e.key === " " || e.key === "Enter");
    if (e.ctrlKey || e.altKey || e.metaKey || typing) return;
    const step = e.shiftKey ? 10 : 1, way = (by) => this.reverse(this.reverserAt(this.reverserPlace() + by * (e.shiftKey ? 20 : 2)));
    const act = { ArrowRight: () => this.turn(step), ArrowLeft: () => this.turn(-step),
      ArrowUp: () => way(1), ArrowDown: () => way(-1), Escape: () => this.leave(),
      " ": () => this.play(!this.s.playing), r: () => this.run(-this.s.running), e: () => this.toEvent(),
      Home: () => this.turn(-this.s.angle), "+": () => this.faster(5), "-": () => this.faster(-5) }[e.key];
    if (!act) return;
    e.preventDefault();
    act();
  },

  faster(by) {
    this.s.rpm = Math.min(Math.max(this.s.rpm + by, 1), 120);
    this.speed();
    this.sound.follow();
  },

  // The wheel is turned by the hand: wherever it is taken, it follows round the axle.
  dragging() {
    const root = $("gear");
    let last = null;
    const place = (e) => {
      const p = new DOMPoint(e.clientX, e.clientY).matrixTransform(this.drawing.up.getScreenCTM().inverse());
      return [Math.atan2(p.y, p.x), Math.hypot(p.x, p.y)];
    };
    root.addEventListener("pointerdown", (e) => {
      this.touch(e);
      const [angle, distance] = place(e);
      if (distance > 1.03 * this.drawing.rim || distance < 0.05 * this.drawing.r) return;
      last = angle;
      this.play(false);
      root.setPointerCapture(e.pointerId);
      root.classList.add("held");
    });
    root.addEventListener("pointermove", (e) => {
      if (last === null) { if (e.pointerType === "mouse") this.touch(e); return; }
      const [angle] = place(e);
      let by = angle - last;
      by -= 2 * Math.PI * Math.round(by / (2 * Math.PI));
      last = angle;
      this.turn(-this.s.running * by * 180 / Math.PI);
    });
    const release = () => { last = null; root.classList.remove("held"); };
    root.addEventListener("pointerup", release);
    root.addEventListener("pointercancel", release);
  },

  fillStates(states) {
    const label = (state) => (state === "drawing" ? "the drawing" : state);
    $("state").replaceChildren(...states.map((state) => option(state, label(state))));
    $("state").value = this.s.state;
    $("ghost-of").replaceChildren(option("", "nothing"), ...states.map((state) => option(state, label(state))));
    $("ghost-of").value = this.s.ghost;
    const { sides } = this.data;
    $("side").replaceChildren(...sides.map((side) => option(side, side)));
    $("side").closest("label").hidden = this.cases.every((kase) => kase.sides.length === sides.length);
    $("sound").hidden = sides.length < 2; // the beats of one cylinder alone are no engine's
    $("compare").hidden = states.length < 2 && !Object.keys(this.data.left_out).length;
    $("left-out").replaceChildren(...Object.entries(this.data.left_out).map(([state, why]) =>
      Object.assign(document.createElement("li"), { textContent: `${state} is not shown: ${why}` })));
  },

  fillItems() {
    const { items } = this.kase, s = this.s;
    const rows = items.map((item, i) => {
      const label = document.createElement("label"), box = Object.assign(document.createElement("input"), { type: "checkbox", checked: s.on[i] });
      box.addEventListener("change", () => {
        s.on[i] = box.checked;
        s.off[box.checked ? "delete" : "add"](item.name);
        this.blendAnew();
        this.render();
      });
      const words = document.createElement("span");
      item.words = words;
      label.append(box, words);
      return label;
    });
    $("items").replaceChildren(...rows);
    $("items-head").textContent = items.length ? "What differs from the drawing: switch off to see the engine without it"
      : this.kase.state === "drawing" ? "" : "This side is as the drawing has it.";
    $("items-head").hidden = !$("items-head").textContent;
    const note = this.data.notes[this.kase.state];
    $("state-note").textContent = note ?? "";
  },

  // What each item does by itself here: greatest movement of the valve, and free movement.
  weighItems() {
    const { data, kase } = this, weights = reverserWeights(data.nodes, this.s.u, data.reverser === "stop");
    for (const item of kase.items) {
      const own = new Blend(kase.layout.quantities, kase.most, data.lost_angles), q = own.index.get("spindle");
      item.table.addTo(own, weights, 1);
      const central = this.s.afresh ? own.afreshAt : own.centralAt;
      let most = 0;
      for (let i = 0; i < 48; i++) most = Math.max(most, Math.abs(own.value(q, i * Math.PI / 24) - central));
      const lost = Math.max(...own.lost), told = [];
      const least = 0.5 * 10 ** -data.digits / data.scale;
      if (most > least) told.push(`moves the valve by up to ${this.length(most)}`);
      if (lost > least) told.push(`lets it move freely by up to ${this.length(lost)}`);
      const by = item.amount === null ? "" : ` ${item.amount > 0 ? "+" : "−"}${item.angle ? `${Math.abs(item.amount).toFixed(2)}°` : this.length(Math.abs(item.amount), 1)}`;
      item.words.textContent = `${item.name}${by}: ${told.join(", ") || "hardly moves the valve"}`;
    }
  },

  // Which way this position of the reverser drives: the way in which steam is let in over more of the stroke.
  driven() {
    const net = (events) => events.reduce((sum, own) => sum + ((own.percent.cutoff ?? 0) - (own.percent.admission ?? 0)) / 2, 0);
    const other = this.eventsAt(-this.s.running);
    const gain = this.s.running * (net(this.events) - net(other));
    say("drives", Math.abs(gain) < 10 ? "Here the reverser is near mid gear: it drives neither way with much force."
      : gain * this.s.running > 0 ? "" : `Here the reverser drives the engine ${gain > 0 ? "forward" : "backward"}: change the running to match.`);
  },

  fillEvents() {
    if (this.data.reverser !== "stop") this.driven();
    this.weighItems();
    const body = $("events"), other = this.other && eventsOf(this.other, this.otherBlend, this.s.running, this.otherValve);
    const rows = this.events.map((own, i) => {
      const row = document.createElement("tr");
      const cell = (tag, text) => row.appendChild(Object.assign(document.createElement(tag), { textContent: text }));
      cell("th", own.end);
      const pair = (mine, theirs) => (theirs === undefined || theirs === null ? mine : `${mine} (${theirs})`);
      cell("td", pair(this.number(own.lead), other && this.number(other[i].lead)));
      for (const event of ["admission", "cutoff", "release", "compression"]) {
        const percent = (o) => (o.percent[event] === undefined ? "never" : o.percent[event].toFixed(1));
        cell("td", pair(percent(own), other && percent(other[i])));
      }
      return row;
    });
    body.replaceChildren(...rows);
    $("lead-head").textContent = `lead, ${this.data.unit}`;
    const toward = this.kase.admission === "outside" ? "back" : "forward";
    $("lead-words").textContent = `Lead is how far the port stands open with the piston at that end. A valve moved ${toward} on its spindle gives the front end more lead and the back end as much less: where the two differ, half the difference makes them alike.`;
    const standing = this.s.afresh ? "Set afresh" : "As it stands";
    $("events-note").textContent = `${standing}.${this.other ? ` In brackets: ${this.other.state === "drawing" ? "the drawing" : this.other.state}.` : ""}${this.s.afresh ? "" : this.data.surely[this.kase.state] ?? ""}`;
  },

  titles() {
    const { data, kase, s } = this;
    $("sheet-state").textContent = kase.state === "drawing" ? "as drawn" : kase.state;
    $("sheet-side").textContent = kase.whose;
    $("engine").textContent = data.engine;
    $("kind").textContent = `${data.gear} gear. ${data.note}`;
    $("side").value = s.side;
    $("state").value = s.state;
    $("ghost-of").value = s.ghost;
    document.title = `${data.engine}: ${data.gear} gear in motion`;
  },
}));
