// The page: three faces, of which one is seen, and the way through them.

const HELD = { by: "by", day: "day", tool: "tool", centres: "centres", front: "near-front", back: "near-back", turned: "turned" };

class Page {
  constructor() {
    this.kept = new Kept();
    this.back = new CarriedBack(this.kept);
    const readings = DATA.screens.map((screen) => ({ ...screen, key: keyOf(screen), screen }));
    this.steps = [{ key: "method" }, ...DATA.marks.steps.map((step) => ({ ...step, mark: true })), ...NEARS.slice(0, 2), ...readings, NEARS[2]];
    this.asking = new Asking(this);
    this.listing = new Listing(this);
    $("next").addEventListener("click", () => this.step(1));
    $("last").addEventListener("click", () => this.step(-1));
    $("list").addEventListener("click", () => this.go(this.face === "all" ? this.before ?? 0 : -1));
    for (const [name, id] of Object.entries(HELD)) $(id).addEventListener("input", () => this.hold(name, $(id).value));
    addEventListener("keydown", (e) => { if (this.face === "ask") this.asking.keys.fromKeyboard(e); });
    addEventListener("resize", () => this.asking.scaled());
    addEventListener("storage", (e) => { if (e.key === KEPT_AS) this.again(); });
    this.again(0);
  }

  // As it was kept, or as another window of the same page has it now.
  again(first) {
    const at = this.kept.all.at;
    this.kept.read();
    if (first === undefined) this.kept.all.at = at;
    this.fill();
    $("unsafe").hidden = this.kept.safe;
    this.go(first === undefined ? at : Math.max(first, this.kept.all.at), false);
  }

  fill() { for (const [name, id] of Object.entries(HELD)) $(id).value = this.kept.all[name]; }

  hold(name, value) {
    this.kept.all[name] = value;
    this.kept.write();
    this.method();
  }

  method() { $("near").hidden = this.kept.all.centres !== "tram"; }

  // To a step by its number; to the list with -1.
  go(number, keep = true) {
    const step = this.steps[number], before = this.face;
    this.face = !step ? "all" : number ? "ask" : "method";
    for (const face of ["method", "ask", "all"]) $(face).hidden = face !== this.face;
    if (this.kept.all.at >= 0) this.before = this.kept.all.at;
    this.kept.all.at = number;
    if (keep) this.kept.write();
    if (this.face === "ask") this.asking.ask(step);
    if (this.face === "all") this.listing.show();
    this.method();
    $("last").disabled = this.face !== "all" && number === 0;
    $("next").disabled = this.face === "all";
    this.count();
    if (before && before !== this.face) scrollTo(0, 0);
  }

  // One step on, or back; past the last stands the list.
  step(by) {
    let to = this.face === "all" ? this.before ?? 0 : Math.max(this.kept.all.at + by, 0);
    while (to < this.steps.length && !this.isAsked(this.steps[to])) to += by;
    this.go(to < this.steps.length ? to : -1);
  }

  // How near degrees are read is asked only where there are some; marks where the dead centres are found by them.
  isAsked(step) {
    return step.mark ? this.back.marks.asked : step.key !== "within_degrees" || this.back.nearWanted.includes("within_degrees");
  }

  count() { $("list").textContent = this.face === "all" ? "Readings" : `List ${this.back.got.length}/${DATA.screens.length}`; }

  // The unit that a reading of this kind was last given, else the first.
  unitFor(step) {
    const alike = this.steps.filter((own) => own.units && own.units.join() === step.units.join() && isTyped(this.kept.all.figures[own.key]));
    return alike.length ? this.kept.all.figures[alike[alike.length - 1].key].unit : step.units[0];
  }
}

new Page();
document.documentElement.dataset.ready = "yes";
