// What was typed, kept by the browser itself, so that neither sleep nor a closed page loses it.

const DATA = JSON.parse(document.getElementById("data").textContent);
const KEPT_AS = `linkmotion readings: ${DATA.engine}, ${DATA.made}`;
const $ = (id) => /** @type {any} */ (document.getElementById(id));

// The day here, as a date field has it.
function today() {
  const now = new Date(), two = (number) => String(number).padStart(2, "0");
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

// Figures by "line:cell" of the form, or by what they are near to: { typed, unit }.
const blank = () => ({ by: "", day: today(), tool: "", centres: "by eye", front: "", back: "", turned: $("turned").dataset.none, figures: {}, ways: {}, at: -1 });

class Kept {
  constructor() {
    this.safe = true;
    this.read();
  }

  read() {
    this.all = blank();
    try {
      const text = localStorage.getItem(KEPT_AS);
      if (text) this.all = { ...this.all, ...JSON.parse(text) };
      localStorage.setItem(KEPT_AS, JSON.stringify(this.all));
    } catch {
      this.safe = false; // no room is given, or none may be: told on the page
    }
  }

  write() {
    try {
      localStorage.setItem(KEPT_AS, JSON.stringify(this.all));
      this.safe = true;
    } catch {
      this.safe = false;
    }
    $("unsafe").hidden = this.safe;
  }

  wipe() {
    this.all = blank();
    this.write();
  }
}
