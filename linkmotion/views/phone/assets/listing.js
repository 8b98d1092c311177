// What is read and what is missing, and the file to carry back.

function made(tag, look, ...inside) {
  const own = document.createElement(tag);
  if (look) own.className = look;
  own.append(...inside);
  return own;
}

class Listing {
  constructor(page) {
    this.page = page;
    $("give").addEventListener("click", () => this.give());
    $("copy").addEventListener("click", () => this.copy());
    $("wipe").addEventListener("click", () => this.wipe());
  }

  show() {
    const { back, kept } = this.page, count = back.got.length, all = DATA.screens.length;
    $("told").textContent = `${count} of ${all} read, ${all - count} missing.`;
    $("faults").replaceChildren(...this.faults().map(([words, number]) => made("li", "", this.going(words, number))));
    $("text").value = back.text();
    $("copied").textContent = "";
    $("wipe").dataset.sure = "";
    $("wipe").textContent = "Wipe all that was typed";
    const groups = new Map();
    this.page.steps.forEach((step, number) => {
      if (!step.screen && !(step.mark && back.marks.asked)) return;
      const of = step.mark ? "Wheel marks" : `${step.screen.whose}, ${step.screen.notch}`;
      groups.set(of, [...(groups.get(of) ?? []), [step, number]]);
    });
    $("readings").replaceChildren(...[...groups].map(([of, own]) => made("section", "", made("h3", "", of),
      made("ul", "", ...own.map(([step, number]) => made("li", "", this.entry(step, number, kept.all.figures[step.key])))))));
  }

  entry(step, number, figure) {
    const own = this.going(step.title, number), read = isRead(figure);
    own.append(made("b", read ? "" : "missing", read ? shownAs(figure) : isTyped(figure) ? `${shownAs(figure)} ?` : "missing"));
    return own;
  }

  going(words, number) {
    const own = made("button", "line", made("span", "", words));
    own.type = "button";
    own.addEventListener("click", () => this.page.go(number));
    return own;
  }

  // What linkmotion would ask for on reading the file, and the step that mends it.
  faults() {
    const { steps, back, kept } = this.page, at = (key) => steps.findIndex((step) => step.key === key);
    const found = back.nearWanted.map((key) => [`Say ${key === "within" ? "how near lengths are read" : `how near readings in ${NEAR[key]} are read`}.`, at(key)]);
    for (const { screen, key, title } of steps) {
      const figure = kept.all.figures[key];
      if (isTyped(figure) && !isFigure(figure)) found.push([`${title}${screen ? `, ${screen.notch}, ${screen.whose}` : ""}: not a figure; it is left out.`, at(key)]);
    }
    const { marks } = back;
    if (marks.asked && marks.whole.length && !isRead(marks.get("tyre"))) found.push(["Wheel marks: the diameter of the tyre is wanted; they are left out.", at("tyre")]);
    if (marks.asked) for (const { end, marks: keys } of marks.half) found.push([`Wheel marks, ${end} dead centre: a pair is two marks; it is left out.`, at(keys[0])]);
    if (marks.usable) for (const { number, end, marks: keys } of marks.unnoted) found.push([`Wheel marks, ${end} dead centre, pair ${number + 1}: not said how the wheel was turned; play may lie either way.`, at(keys[0])]);
    if (kept.all.centres === "tram" && !(isDegrees(kept.all.front) && isDegrees(kept.all.back))) found.push(["Dead centres: say how near each was found, in degrees.", 0]);
    return found;
  }

  give() {
    const { back } = this.page, link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([back.text()], { type: "application/toml" }));
    link.download = back.name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
  }

  copy() {
    const told = (words) => { $("copied").textContent = words; };
    const byHand = () => { $("text").focus(); $("text").select(); told("Marked: copy it by your telephone's own menu."); };
    if (!navigator.clipboard) byHand();
    else navigator.clipboard.writeText($("text").value).then(() => told("Copied."), byHand);
  }

  wipe() {
    if ($("wipe").dataset.sure !== "yes") {
      $("wipe").dataset.sure = "yes";
      $("wipe").textContent = "Touch again: all figures go";
      return;
    }
    this.page.kept.wipe();
    this.page.fill();
    this.page.go(0);
  }
}
