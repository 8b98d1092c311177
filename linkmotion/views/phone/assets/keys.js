// The keys under the thumb, and those of a keyboard where there is one.

class Keys {
  // `typed` is told what stands in the figure now, and its unit; `done` that it is finished.
  constructor(typed, done) {
    this.typed = typed;
    this.done = done;
    $("keys").addEventListener("click", (e) => this.press(e.target.closest("button")?.dataset.key));
    $("units").addEventListener("click", (e) => { const unit = e.target.closest("button")?.dataset.unit; if (unit) this.inUnit(unit); });
  }

  show(figure, units, signed) {
    this.figure = { ...figure };
    this.signed = signed;
    $("units").replaceChildren(...units.map((unit) => {
      const button = document.createElement("button");
      Object.assign(button, { type: "button", textContent: unit });
      button.dataset.unit = unit;
      return button;
    }));
    this.shown();
  }

  shown() {
    const { typed, unit } = this.figure;
    $("figure").textContent = typed.replace("-", "−");
    $("unit").textContent = unit;
    $("keys").classList.toggle("plain", !hasFractions(unit));
    $("minus").disabled = !this.signed;
    for (const button of $("units").children) button.setAttribute("aria-pressed", String(button.dataset.unit === unit));
    $("wrong").textContent = isTyped(this.figure) && !isFigure(this.figure) ? "Not a figure yet." : "";
  }

  inUnit(unit) {
    this.figure.unit = unit;
    this.changed(this.figure.typed);
  }

  press(key) {
    if (!key) return;
    const now = this.figure.typed;
    if (key === "back") this.changed(now.slice(0, -1));
    else if (key === "wipe") this.changed("");
    else if (key === "minus") { if (this.signed) this.changed(now.startsWith("-") ? now.slice(1) : `-${now}`); }
    else if (key === "and") this.changed(/\d$/.test(now) ? `${now} ` : now);
    else this.changed(now.length + key.length > LONGEST ? now : now + key);
  }

  changed(typed) {
    this.figure.typed = typed;
    this.shown();
    this.typed(this.figure);
  }

  fromKeyboard(e) {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const own = { Backspace: "back", "-": "minus", " ": "and", ",": "." }[e.key] ?? (/^[\d./]$/.test(e.key) ? e.key : "");
    if (e.key === "Enter" && e.target.tagName !== "BUTTON") { e.preventDefault(); this.done(); }
    if (!own || (e.key === " " && e.target.tagName === "BUTTON")) return;
    if ("/ ".includes(e.key) && !hasFractions(this.figure.unit)) return;
    e.preventDefault();
    this.press(own);
  }
}
