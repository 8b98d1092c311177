// One reading a screen: what is read, where, with the wheel where it should stand, and the figure.

const NEARS = Object.entries(NEAR).map(([key, of]) => ({
  key, title: of === "lengths" ? "How near are lengths read?" : `How near is a reading in ${of} read?`,
  stands: "Either way: 19 readings in 20 should lie as near as that.",
  how: of === "lengths" ? "Of leads, openings and heights." : "Of cutoffs.",
  units: of === "lengths" ? DATA.lengths : [of],
}));

class Asking {
  constructor(page) {
    this.page = page;
    this.keys = new Keys((figure) => this.put(figure), () => page.step(1));
    const { svg: text, box, seen, pins } = DATA.drawn;
    const index = new Map(pins.map((name, number) => [`${name} x`, 2 * number]));
    this.pictures = [new Picture($("gear"), text, box, index, "gear"), new Picture($("section"), text, seen[0][2], index, "chest")];
    $("way").replaceChildren(...DATA.marks.ways.map(([value, words]) => new Option(words, value)));
    $("way").addEventListener("input", () => this.turned($("way").value));
    this.rings = this.pictures.map(({ up }) => svg("g", { class: "rings" }, up));
  }

  // The steps: how it is read, how near, and each reading.
  get steps() { return this.page.steps; }

  ask(step) {
    this.step = step;
    const reading = step.screen, drawn = reading ? DATA.screens.indexOf(reading) : step.drawn;
    $("title").textContent = step.title;
    $("of").textContent = reading ? `${reading.notch}, ${reading.whose}` : step.of ?? "";
    $("stands").textContent = this.stands;
    $("way").hidden = step.turned === undefined;
    if (step.turned) $("way").value = this.page.back.marks.way(step.pair);
    $("how").textContent = step.how;
    $("sign").textContent = reading ? reading.sign : "";
    $("pictures").hidden = drawn === undefined;
    if (drawn !== undefined) this.draw(drawn);
    const figure = this.page.kept.all.figures[step.key] ?? { typed: "", unit: this.page.unitFor(step) };
    this.keys.show(figure, step.units, Boolean(reading && reading.sign));
  }

  // Where the wheel is to stand; of a mark, how it is to be come to as well.
  get stands() {
    const { stands, turned, pair } = this.step;
    return turned ? `${stands} ${turned[this.page.back.marks.way(pair)]}` : stands;
  }

  turned(way) {
    this.page.kept.all.ways[this.step.pair] = way;
    this.page.kept.write();
    this.ask(this.step);
  }

  put(figure) {
    const { all } = this.page.kept;
    if (figure.typed) all.figures[this.step.key] = { ...figure };
    else delete all.figures[this.step.key];
    this.page.kept.write();
    this.page.count();
  }

  draw(number) {
    const [stand, rings, near] = DATA.drawn.seen[number], { at, lag, holds } = DATA.drawn.stands[stand];
    const working = Object.fromEntries(Object.entries(holds).map(([end, look]) => [end, [look]]));
    $("section").setAttribute("viewBox", near);
    this.pictures.forEach((picture, which) => {
      picture.bodies.put(at, lag);
      picture.bodies.fill(working);
      this.rings[which].replaceChildren();
      for (const [cx, cy] of rings) for (const look of ["halo", "ring"]) svg("circle", { cx, cy, class: look }, this.rings[which]);
    });
    $("gear").setAttribute("aria-label", `The engine's side, front to the right, in ${this.step.notch}. ${this.stands} A ring is where it is read.`);
    this.scaled();
  }

  scaled() {
    for (const picture of this.pictures) picture.scaled();
  }
}
