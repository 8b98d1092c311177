// Wheel marks by the trammel: asked for where the dead centres are to be found by them, and carried back behind the readings.

class MarksMade {
  constructor(kept) { this.kept = kept; }

  get asked() { return this.kept.all.centres === "marks"; }

  get(key) { return this.kept.all.figures[key]; }

  // Pairs of which both marks are made; those of which only one is.
  get whole() { return DATA.marks.pairs.filter(({ marks }) => marks.every((key) => isRead(this.get(key)))); }

  get half() { return DATA.marks.pairs.filter((pair) => pair.marks.some((key) => isRead(this.get(key))) && !this.whole.includes(pair)); }

  // How the wheel was turned to a pair: as it was said, else that it was not noted.
  way(number) { return this.kept.all.ways[number] ?? DATA.marks.ways[0][0]; }

  get unnoted() { return this.whole.filter(({ number }) => this.way(number) === DATA.marks.ways[0][0]); }

  get usable() { return this.asked && this.whole.length > 0 && isRead(this.get("tyre")); }

  text() {
    const pairs = this.whole.flatMap(({ number, end, marks }) => ["", "[[pair]]", `end = ${quoted(end)}`,
      `marks = [${marks.map((key) => quoted(written(this.get(key)))).join(", ")}]`, `turned = ${quoted(this.way(number))}`]);
    return ["[tram]", `unit = ${quoted(DATA.unit)}`, `tyre_diameter = ${quoted(written(this.get("tyre")))}`, ...pairs, ""].join("\n");
  }
}
