// The guided tour: five sentences, and in the drawing nothing bright but what is spoken of.

Object.assign(Page.prototype, /** @type {PageTour & ThisType<Page>} */ ({
  touring() {
    $("tour-start").addEventListener("click", () => this.visit(1));
    $("tour-back").addEventListener("click", () => this.visit(this.s.step - 1));
    $("tour-next").addEventListener("click", () => this.visit(this.s.step + 1));
    $("tour-leave").addEventListener("click", () => this.leave());
  },

  // Go to a step, counted from one; beyond the last the tour is over.
  visit(number) {
    const { tour } = this.data, step = tour[number - 1];
    if (!step) { this.leave(); return; }
    const began = !this.s.step;
    this.s.step = number;
    this.play(false);
    $("tip").hidden = $("tour-start").hidden = true;
    $("tour").hidden = false;
    $("stage").classList.add("touring");
    this.light(step.parts);
    if (step.angle !== null) this.turnTo(step.angle);
    say("tour-step", `Step ${number} of ${tour.length}`);
    say("tour-title", step.title);
    say("tour-words", step.words);
    $("tour-back").disabled = number === 1;
    $("tour-next").textContent = number === tour.length ? "End" : "Next";
    if (began) $("tour-title").focus();
    else if (number === 1) $("tour-next").focus();
  },

  leave() {
    this.hush();
    if (!this.s.step) return;
    this.s.step = 0;
    $("tour").hidden = true;
    $("tour-start").hidden = false;
    $("stage").classList.remove("touring");
    this.light([]);
    $("tour-start").focus();
  },
}));
