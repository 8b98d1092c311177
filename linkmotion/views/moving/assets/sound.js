// Exhaust beats, heard: each end of both sides lets go its steam at its release. While there is sound the wheel
// follows the sound's own clock, so that beats stand to the sample where the events put them.

class Beats {
  constructor(page) {
    this.page = page;
    this.on = false;
    this.given = []; // [degrees turned since the anchor, seconds of the sound's clock]
    $("sound").addEventListener("click", () => this.turn(!this.on));
  }

  turn(on) {
    this.on = on;
    $("sound").setAttribute("aria-pressed", on);
    $("sound").textContent = on ? "Beats on" : "Beats off";
    if (on && !this.context) {
      this.context = new AudioContext();
      this.burst = this.noise();
    }
    if (on) this.context.resume();
    this.follow();
  }

  // Decaying noise, the same for every beat.
  noise() {
    const rate = this.context.sampleRate, buffer = this.context.createBuffer(1, Math.round(0.22 * rate), rate);
    const samples = buffer.getChannelData(0);
    let seed = 20, slow = 0;
    for (let i = 0; i < samples.length; i++) {
      seed = (seed * 48271) % 2147483647;
      slow += 0.16 * ((seed / 1073741823.5 - 1) - slow);
      samples[i] = 1.7 * slow * Math.exp(-i / (0.05 * rate));
    }
    return buffer;
  }

  // Degrees at which beats fall, crank angle of the side shown, in the direction of running.
  places() {
    const { page } = this, { s, data } = page, ahead = (side) => s.running * (side === "left" ? 0 : data.right_ahead);
    const found = [];
    for (const side of data.sides) {
      const kase = page.caseOf(s.state, side), blend = kase === page.kase ? page.blend : kase.at(page.reverserOn(kase));
      const central = page.s.afresh ? blend.afreshAt : blend.centralAt;
      for (const own of eventsOf(kase, blend, s.running, valveOf(blend, s.running, central)))
        if (own.angle.release !== undefined)
          found.push({ side, end: own.end, angle: (own.angle.release - ahead(side) + ahead(page.shownSide()) + 720) % 360 });
    }
    return found.sort((a, b) => a.angle - b.angle);
  }

  // Begin afresh from where the wheel stands: after a start, a change of speed, of the reverser or of the state.
  follow() {
    if (!this.context) return;
    for (const source of this.sources ?? []) source.stop();
    this.sources = [];
    this.anchor = { angle: this.page.s.angle, time: this.context.currentTime + 0.05 };
    this.until = this.done = 0;
    this.given = [];
    this.beats = null;
  }

  get active() { return this.on && this.page.s.playing && this.context.state === "running"; }

  // Degrees that the wheel should have turned since the anchor.
  turnedBy() { return Math.max(this.context.currentTime - this.anchor.time, 0) * 6 * this.page.s.rpm; }

  // Degrees by which the wheel is to be turned now; the beats of the next quarter second are given to the sound.
  step() {
    if (!this.beats) this.beats = this.places();
    const rate = 6 * this.page.s.rpm, gone = this.turnedBy(), to = gone + 0.25 * rate;
    for (let turn = Math.floor(this.until / 360); turn * 360 < to; turn++) for (const beat of this.beats) {
      const at = turn * 360 + (beat.angle - this.anchor.angle + 360) % 360;
      if (at < this.until || at >= to) continue;
      this.sources.push(this.play(beat, this.anchor.time + at / rate));
      this.given.push([at, this.anchor.time + at / rate, beat.side, beat.end]);
    }
    this.until = to;
    this.sources = this.sources.slice(-12);
    const by = gone - this.done;
    this.done = gone;
    return by;
  }

  play(beat, time) {
    const source = new AudioBufferSourceNode(this.context, { buffer: this.burst });
    source.connect(new StereoPannerNode(this.context, { pan: beat.side === "left" ? -0.45 : 0.45 })).connect(this.context.destination);
    source.start(Math.max(time, this.context.currentTime));
    return source;
  }
}
