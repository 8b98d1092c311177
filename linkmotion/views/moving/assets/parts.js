// The parts by name: pointed at in the drawing, chosen from the list, or all named at once.

Object.assign(Page.prototype, /** @type {Omit<PageParts, "named"> & ThisType<Page>} */ ({
  pointing() {
    $("names").addEventListener("click", () => {
      this.s.names = !this.s.names;
      $("names").setAttribute("aria-pressed", String(this.s.names));
      this.over.lay();
      this.over.show();
    });
    $("stage").addEventListener("pointerleave", (e) => { if (e.pointerType === "mouse") this.hush(); });
    document.addEventListener("pointerdown", (e) => { if (!$("stage").contains(/** @type {Node} */ (e.target))) this.hush(); });
    $("section").addEventListener("pointerdown", (e) => this.touch(e));
    $("section").addEventListener("pointermove", (e) => { if (e.pointerType === "mouse") this.touch(e); });
  },

  // The part under a pointer is told beside it; a finger need not be nearer than it is wide.
  touch(e) {
    const part = [0, ...(e.pointerType === "touch" ? [7, 14, 20] : [6])].flatMap((far) => far
      ? Array.from({ length: 8 }, (_, i) => [e.clientX + far * Math.cos(i * Math.PI / 4), e.clientY + far * Math.sin(i * Math.PI / 4)])
      : [[e.clientX, e.clientY]]).map(([x, y]) => this.partAt(x, y)).find((found) => found && found !== "wheel") ?? this.partAt(e.clientX, e.clientY);
    if (!part) { this.hush(); return; }
    this.name(part);
    this.beside(e.clientX, e.clientY, e.pointerType === "touch");
  },

  partAt(x, y) {
    const found = document.elementsFromPoint(x, y).map((node) => /** @type {HTMLElement} */ (node.closest("#stage [data-part]")))
      .find((g) => g && this.named.has(g.dataset.part));
    return found && found.dataset.part;
  },

  // Put the words near a place of the window, clear of the finger that hides what is under it.
  beside(x, y, finger) {
    const tip = $("tip"), stage = $("stage").getBoundingClientRect(), found = this.named.get(this.told);
    $("tip-name").textContent = found.title;
    $("tip-does").textContent = found.does;
    tip.hidden = false;
    const { width, height } = tip.getBoundingClientRect(), off = finger ? 34 : 18;
    const left = Math.min(Math.max(x - width / 2, 6), innerWidth - width - 6);
    const below = y + off + height < innerHeight - 6 || y - off - height < 6;
    tip.style.transform = `translate(${left - stage.left}px, ${(below ? y + off : y - off - height) - stage.top}px)`;
  },

  hush() {
    $("tip").hidden = true;
    if (!this.s.step) this.light([]);
  },

  // Light some parts, and only these.
  light(parts) {
    this.lit = parts;
    document.querySelectorAll("#stage [data-part]").forEach((g) => g.classList.toggle("lit", parts.includes(g.dataset.part)));
    document.querySelectorAll("#parts button").forEach((b) => b.classList.toggle("lit", parts.includes(b.dataset.part)));
  },

  name(part) {
    const found = this.named.get(part);
    if (!found) return;
    this.told = part;
    say("part-name", found.title);
    say("part-does", found.does);
    if (!this.s.step) this.light([part]);
    const button = /** @type {HTMLElement} */ ([...$("parts").children].find((b) => b.dataset.part === part));
    if (button) $("card").style.order = button.style.order;
  },

  fillParts() {
    this.named = new Map(Object.entries(this.kase.drawn.named).map(([name, does]) =>
      [name, { title: name[0].toUpperCase() + name.slice(1), does }]));
    const buttons = [...this.named].map(([name, { title }], i) => {
      const button = Object.assign(document.createElement("button"), { type: "button", textContent: title });
      button.dataset.part = name;
      button.style.order = String(i);
      for (const event of ["focus", "click"]) button.addEventListener(event, () => { $("tip").hidden = true; this.name(name); });
      return button;
    });
    const card = $("card");
    card.style.order = "-1";
    $("parts").replaceChildren(card, ...buttons);
    say("part-name", "Point at a part");
    say("part-does", "Touch it in the drawing, or choose it here, to be told what it does.");
  },
}));
