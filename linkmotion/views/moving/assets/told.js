// What the page says in words and figures of where the wheel, the valve and the reverser stand.

Object.assign(Page.prototype, /** @type {PageTold & ThisType<Page>} */ ({
  note(each, back) {
    const end = `${each.end} end`, begins = back ? `Turned back over ${end}` : end[0].toUpperCase() + end.slice(1);
    const words = `${begins}, ${each.event} at ${each.percent.toFixed(1)} % of the stroke: ` +
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
  },

  // A length in the engine's unit, with so many more decimals than it is usually given.
  number(mm, more = 0) {
    const text = (mm * this.data.scale).toFixed(this.data.digits + more);
    return Number(text) === 0 ? text.replace("-", "") : text.replace("-", "−");
  },

  length(mm, more = 0) { return `${this.number(mm, more)} ${this.data.unit}`; },

  // What the outline is of, and by how much its difference is enlarged.
  outlineWords() {
    const state = this.other.state === "drawing" ? "the drawing" : this.other.state;
    return this.s.factor === 1 ? state : `${state}, difference ${this.s.factor} times`;
  },

  // The notch in which the reverser stands, if it stands in one.
  inNotch() {
    const near = Object.entries(this.kase.notches).find(([, at]) => Math.abs(at - this.s.u) < 1e-6 * Math.max(1, this.range[1] - this.range[0]));
    return near && near[0];
  },

  reverserWords() {
    const notches = Object.entries(this.kase.notches), u = this.s.u, notch = this.inNotch();
    if (notch) return notch;
    const sorted = [...notches].sort((a, b) => a[1] - b[1]);
    const above = sorted.find(([, at]) => at > u), below = sorted.reverse().find(([, at]) => at < u);
    return above && below ? `between ${below[0]} and ${above[0]}` : (above ?? below ?? ["fixed"])[0];
  },

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
      say(`w-${end}`, words);
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
}));
