// The reverser: forward to the right, backward to the left, mid in the middle, whatever the gear's own figures are.

Object.assign(Page.prototype, /** @type {PageReverser & ThisType<Page>} */ ({
  reverse(u) {
    this.s.u = Math.min(Math.max(u, this.range[0]), this.range[1]);
    this.blendAnew();
    this.fillNotches();
    this.render();
    this.sound.follow();
  },

  // Where the reverser stands on its scale, −100 (backward) to 100 (forward); and back from there.
  reverserPlace(at) {
    const { span } = this.kase, u = at ?? this.s.u;
    if (!span) return 0;
    const ahead = (u - span.mid) * (span.forward - span.mid) >= 0;
    return 100 * (ahead ? (u - span.mid) / (span.forward - span.mid) : -(u - span.mid) / (span.backward - span.mid));
  },

  reverserAt(place, kase) {
    const { span } = kase ?? this.kase;
    return span ? span.mid + Math.abs(place) / 100 * ((place > 0 ? span.forward : span.backward) - span.mid) : this.s.u;
  },

  // Where the reverser of another side stands with this one's: it may be drawn the other way round.
  reverserOn(kase) {
    if (!kase.span || kase.span.forward === this.kase.span.forward) return this.s.u;
    return kase.notches[this.inNotch()] ?? this.reverserAt(this.reverserPlace(), kase);
  },

  showReverser() { $("reverser").value = String(this.reverserPlace()); },

  fillNotches() {
    const names = Object.keys(this.kase.notches), near = this.inNotch(), { span } = this.kase, stop = this.data.reverser === "stop";
    $("notch").replaceChildren(...(near ? [] : [option("", "between notches")]), ...names.map((name) => option(name, name)));
    $("notch").value = near ?? "";
    $("reversing").hidden = $("reverser-keys").hidden = !span;
    $("stops").hidden = !stop || names.length < 2;
    if (this.ticked !== this.kase) { this.ticked = this.kase; this.showTicks(); }
  },

  // A tick for every notch, named where there is room: the ends and the middle first.
  showTicks() {
    const root = $("ticks"), width = root.clientWidth, size = parseFloat(getComputedStyle(root).fontSize);
    if (!this.kase.span || !width) return;
    const all = Object.entries(this.kase.notches).map(([name, u]) => ({ name, place: this.reverserPlace(u) }))
      .sort((a, b) => Number(Math.abs(Math.abs(b.place) - 50)) - Number(Math.abs(Math.abs(a.place) - 50)));
    const rows = [[], []], lower = []; // names in two rows; and where a tick reaches down through the upper
    root.replaceChildren(...all.map(({ name, place }) => {
      const x = (place + 100) / 200 * width, half = widthOf(name, size) / 2 + 5, middle = Math.min(Math.max(x, half), width - half);
      const row = rows.findIndex((taken, i) => taken.every(([a, b]) => middle + half < a || b < middle - half)
        && (i ? rows[0].every(([a, b]) => x < a || b < x) : lower.every((at) => at < middle - half || middle + half < at)));
      const tick = document.createElement("i"), words = document.createElement("span");
      tick.style.left = `${x}px`;
      if (row < 0) { tick.className = "nameless"; return tick; }
      rows[row].push([middle - half, middle + half]);
      if (row) lower.push(x);
      words.textContent = name;
      words.style.transform = `translateX(calc(-50% + ${middle - x}px))`;
      tick.className = row ? "lower" : "";
      tick.append(words);
      return tick;
    }));
  },
}));
