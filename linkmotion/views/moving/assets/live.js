// The bench: figures that can be typed or slid. Each change is asked of the server, one at a time, the latest last;
// what is asked while it is busy waits, and only the last of it is sent.

class Live {
  constructor(page) {
    this.page = page;
    this.rows = new Map();
    this.number = 0;
    this.take(page.data.bench);
    if (page.data.bench.state !== "drawing") {
      page.s.state = page.data.bench.state;
      page.choose();
    }
    $("work-state").addEventListener("change", () => this.choose());
    $("work-side").addEventListener("change", () => this.choose());
    $("put-back").addEventListener("click", () => this.ask({ do: "back" }));
    $("keep").addEventListener("click", () => this.keep());
    document.documentElement.dataset.live = "yes";
    if ($("work-state").value !== "drawing") this.rest();
  }

  choose() { this.ask({ do: "choose", state: $("work-state").value, side: $("work-side").value }); }

  ask(wish) {
    this.next = wish;
    if (!this.busy) this.send();
  }

  async send() {
    if (!this.next) return;
    clearTimeout(this.resting);
    const wish = JSON.stringify({ number: ++this.number, ...this.next });
    this.next = null;
    this.busy = true;
    const answer = await this.told(wish);
    this.busy = false;
    if (answer) this.show(answer);
    if (this.next) this.send();
    else if (answer) this.rest();
  }

  // Words to the server, and its answer; null where there is none.
  async told(words) {
    try {
      const reply = await fetch(this.page.window, { method: "POST", body: words });
      if (reply.status === 204) return null;
      if (reply.ok) return await reply.json();
      say("message", await reply.text());
    } catch {
      say("message", "nobody answers: is linkmotion live still running?");
    }
    return null;
  }

  // When nothing is asked for a while, have it weighed what each difference does alone.
  rest() {
    this.resting = setTimeout(async () => {
      const number = this.number, answer = await this.told("weigh");
      if (answer && number === this.number) this.show(answer);
    }, 350);
  }

  show(answer) {
    const { page } = this, first = page.s.state !== answer.bench.state;
    page.s.state = answer.bench.state;
    if (answer.bench.side !== "both") page.s.side = answer.bench.side;
    if (first) page.loaded = false;
    if (first) page.s.off.clear();
    if (answer.bench.changed && !this.changed) page.s.ghost = answer.before;
    this.changed = answer.bench.changed;
    page.load(answer);
    this.take(answer.bench);
  }

  // Show the figures as they stand; the one being typed is left to the one who types.
  take(bench) {
    const keys = bench.rows.map((row) => row.key).join();
    $("work-state").replaceChildren(...bench.states.map((state) => option(state, state === "drawing" ? "the drawing" : state)));
    $("work-state").value = bench.state;
    $("work-side").value = bench.side;
    $("work-side").closest("label").hidden = bench.state === "drawing";
    say("message", bench.message);
    this.file = bench.file;
    this.name = bench.name;
    if (keys !== this.keys) this.lay(bench.rows, keys);
    for (const row of bench.rows) {
      const { text, slide, box } = this.rows.get(row.key), shown = row.value === null ? "" : String(Number(row.value.toPrecision(9)));
      const mine = document.activeElement === text;
      box.classList.toggle("changed", this.first.get(row.key) !== row.value);
      box.classList.toggle("bad", Boolean(bench.message) && this.tried === row.key);
      if (bench.message && this.tried === row.key) continue;
      if (!mine) text.value = shown;
      if (document.activeElement !== slide) slide.value = row.value ?? 0;
    }
  }

  lay(rows, keys) {
    this.keys = keys;
    this.rows.clear();
    this.first = new Map(rows.map((row) => [row.key, row.value]));
    const groups = new Map();
    for (const row of rows) {
      if (!groups.has(row.table)) groups.set(row.table, []);
      groups.get(row.table).push(this.row(row));
    }
    $("rows").replaceChildren(...[...groups].map(([name, boxes]) => {
      const group = document.createElement("details"), figures = document.createElement("div");
      figures.className = "figures";
      figures.append(...boxes);
      group.append(Object.assign(document.createElement("summary"), { textContent: name }), figures);
      return group;
    }));
  }

  row(row) {
    const box = document.createElement("div"), made = (tag, more) => Object.assign(document.createElement(tag), more);
    const words = made("label", { className: "words", textContent: row.words, htmlFor: `figure ${row.key}` });
    const text = made("input", { type: "text", id: `figure ${row.key}`, autocomplete: "off", spellcheck: false });
    const slide = made("input", { type: "range", step: "any", min: row.least, max: row.most });
    slide.setAttribute("aria-label", row.words);
    box.className = "figure";
    box.dataset.key = row.key;
    const change = (value) => { this.tried = row.key; this.ask({ do: "change", key: row.key, value }); };
    text.addEventListener("input", () => {
      clearTimeout(this.later);
      if (text.value.trim() !== "") this.later = setTimeout(() => change(text.value), 60);
    });
    slide.addEventListener("input", () => { text.value = String(Number(Number(slide.value).toPrecision(6))); change(text.value); });
    box.append(words, text, made("span", { textContent: row.unit }), slide);
    this.rows.set(row.key, { text, slide, box });
    return box;
  }

  // The changed engine, comments and all, as a file of the browser's own.
  keep() {
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([this.file], { type: "application/toml" }));
    link.download = this.name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 1000);
  }
}
