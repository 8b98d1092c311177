// The file to carry back: the form as linkmotion writes it, with what was read in place of each "?".

const NEAR = { within: "lengths", within_percent: "%", within_degrees: "°" };
const nearKeyOf = (unit) => unit === "%" ? "within_percent" : unit === "°" ? "within_degrees" : "within";
const keyOf = ({ line, cell }) => `${line}:${cell}`;
const isDegrees = (text) => /^(?:\d+(?:\.\d*)?|\.\d+)$/.test(text.trim()) && Number(text) >= 0.001 && Number(text) <= 10;

class CarriedBack {
  constructor(kept) {
    this.kept = kept;
    this.marks = new MarksMade(kept);
  }

  figure(key) { return this.kept.all.figures[key]; }

  get got() { return DATA.screens.filter((screen) => isRead(this.figure(keyOf(screen)))); }

  // Of what it is yet to be said how near it was read.
  get nearWanted() {
    const used = new Set(this.got.map((screen) => nearKeyOf(this.figure(keyOf(screen)).unit)));
    return Object.keys(NEAR).filter((key) => used.has(key) && !isRead(this.figure(key)));
  }

  centres() {
    const { centres, front, back } = this.kept.all;
    if (centres === "marks") return quoted("by trammel");
    if (centres !== "tram") return quoted(centres);
    const own = [["front", front], ["back", back]].filter(([, near]) => isDegrees(near)).map(([end, near]) => `${end} = ${quoted(`${near.trim()}°`)}`);
    return own.length ? `{ ${own.join(", ")} }` : quoted("by eye");
  }

  note() {
    const { by, day, tool } = this.kept.all;
    return [by.trim() && `read by ${by.trim()}`, day, tool.trim() && `with ${tool.trim()}`].filter(Boolean).join(", ");
  }

  head(key, line) {
    switch (key) {
      case "within": case "within_percent": return this.near(key);
      case "dead_centres": return [...this.near("within_degrees"), `dead_centres = ${this.centres()}`];
      case "turned": return [`turned = ${quoted(this.kept.all.turned)}`, ...(this.note() ? [`note = ${quoted(this.note())}`] : [])];
    }
    return [line];
  }

  near(key) {
    const figure = this.figure(key);
    return isRead(figure) ? [`${key} = ${quoted(written(figure))}`] : [];
  }

  row(line, number) {
    let any = false;
    for (const cell of ["front", "back", "reads"]) {
      const figure = this.figure(`${number}:${cell}`), read = isRead(figure);
      any = any || read;
      line = line.replace(`, ${cell} = "?"`, () => read ? `, ${cell} = ${quoted(written(figure))}` : "");
    }
    return any ? [line] : [];
  }

  // Readings, then marks: of what there is nothing of, nothing is said.
  text() {
    const { marks } = this;
    return [...(this.got.length || !marks.usable ? [this.readings()] : []), ...(marks.usable ? [marks.text()] : [])].join("\n");
  }

  readings() {
    return DATA.form.flatMap((line, number) => line.startsWith("    { ") ? this.row(line, number)
      : this.head((/^(\w+) = /.exec(line) ?? [])[1], line)).join("\n");
  }

  get name() { return `${DATA.file || "engine"}-readings-${this.kept.all.day || today()}.toml`; }
}
