// Dimensions on the drawing: the letter of each at its place; of the part in hand, and of what was entered, the figure too.
const SVG = "http://www.w3.org/2000/svg";
const SHARES = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9];
const AROUND = [[0, 0], [0, -1], [0, 1], [1, 0], [-1, 0], [1, -1], [-1, -1], [1, 1], [-1, 1], [0, -2], [0, 2], [2, 0], [-2, 0]];
const NARROW = 600; // pixels: below it only the part in hand has its letters

function dimensions(active) {
  const svg = /** @type {SVGSVGElement} */ (document.querySelector("#gear"));
  if (!svg) { return; }
  const view = svg.viewBox.baseVal, box = svg.getBoundingClientRect();
  const px = Math.max(view.width / box.width, view.height / box.height);
  svg.style.setProperty("--px", `${px}px`);
  for (const old of svg.querySelectorAll(".tag")) { old.remove(); }
  const row = active && active.closest ? active.closest(".figure") : null;
  const part = row && row.closest(".part-of");
  const taken = [];
  const wanted = [...svg.querySelectorAll(".dim")].map((dim) => told(dim, row, part));
  wanted.sort((one, other) => other.rank - one.rank);
  for (const own of wanted) {
    own.dim.classList.toggle("near", own.rank > 1);
    own.dim.classList.toggle("in-hand", own.rank > 2);
    if (own.rank === 0 && box.width < NARROW) { continue; }
    const at = placed(own, taken, px, view);
    if (at) { tag(svg, own, at, px); }
  }
}

// Rank: 3 in hand, 2 of the same part, 1 entered, 0 any other.
function told(dim, row, part) {
  const name = dim.dataset.figure;
  const own = document.querySelector(`.figure[data-figure="${CSS.escape(name)}"]`);
  const entered = Boolean(own && own.classList.contains("own"));
  const rank = own && own === row ? 3 : own && part && own.closest(".part-of") === part ? 2 : entered ? 1 : 0;
  const figure = own ? slidTo(own) || own.querySelector("input").value.trim() || own.dataset.stands : "";
  const short = figure.length > 18 ? `${figure.slice(0, 17)}…` : figure;
  const words = rank > 0 && short ? `${dim.dataset.letter} ${short}` : dim.dataset.letter;
  return { dim, name, rank, entered, words };
}

function placed(own, taken, px, view) {
  const path = own.dim.querySelector("path"), long = path.getTotalLength();
  const wide = (own.words.length * 7 + 9) * px, tall = 19 * px;
  for (const [dx, dy] of AROUND) {
    for (const share of SHARES) {
      const point = path.getPointAtLength(share * long);
      const x = point.x + dx * (wide / 2 + 8 * px), y = point.y + dy * 20 * px;
      const box = [x - wide / 2, y - tall / 2, x + wide / 2, y + tall / 2];
      const inside = box[0] > view.x && box[2] < view.x + view.width && box[1] > view.y && box[3] < view.y + view.height;
      if (inside && !taken.some((t) => box[0] < t[2] && t[0] < box[2] && box[1] < t[3] && t[1] < box[3])) {
        taken.push(box);
        return { x, y, wide, tall };
      }
    }
  }
  return null;
}

function tag(svg, own, at, px) {
  const group = document.createElementNS(SVG, "g"), rect = document.createElementNS(SVG, "rect");
  const text = document.createElementNS(SVG, "text");
  group.classList.add("tag");
  group.classList.toggle("entered", own.entered);
  group.classList.toggle("in-hand", own.rank > 2);
  group.dataset.figure = own.name;
  const own_box = { x: at.x - at.wide / 2, y: at.y - at.tall / 2, width: at.wide, height: at.tall, rx: 4 * px };
  for (const [key, value] of Object.entries(own_box)) { rect.setAttribute(key, value); }
  text.setAttribute("x", at.x);
  text.setAttribute("y", at.y);
  text.textContent = own.words;
  group.append(rect, text);
  svg.querySelector(".dims").append(group);
}
