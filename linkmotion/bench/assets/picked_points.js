// Points put on a picture: which is in hand, where each is, the magnifier, and the gear laid over what they say.
const NEAREST = 6; // pixels of the screen for one of the picture: nearer than that there is nothing more to be seen
const REACH = 33; // pixels of the picture that the magnifier shows
const STILL = 450; // milliseconds without a further move, after which a place goes to the file
const hand = { file: "", name: "", zoom: 0, left: 0, top: 0, by: 0, again: false, saving: 0, at: null };
let picked = null;

const put = (name) => picked.points[name] || [];
const mean = (takings) => [0, 1].map((axis) => takings.reduce((sum, own) => sum + own[axis], 0) / takings.length);
const tenth = (figure) => Math.round(figure * 10) / 10;
const within = ([u, v]) => [Math.min(Math.max(tenth(u), 0), picked.across), Math.min(Math.max(tenth(v), 0), picked.down)];

// The page as it was loaded: what was in hand stays so.
function picking() {
  const place = find(".picking");
  picked = place ? { ...JSON.parse(place.dataset.picking), places: {}, misfit: [] } : null;
  if (!picked) { return undefined; }
  if (hand.file !== picked.file) { Object.assign(hand, { file: picked.file, name: "", zoom: 0, left: 0, top: 0, by: 0 }); }
  const fit = find(".laid-view").clientWidth / picked.across;
  laidAt(hand.zoom || fit);
  find(".laid-view").scrollTo(hand.left, hand.top);
  find(".laid-turn").value = String(hand.by);
  const names = all("[data-point]").map((own) => own.dataset.point);
  hand.again = false;
  listed();
  takeUp(names.includes(hand.name) ? hand.name : names.find((name) => !put(name).length) || names[0], false);
  return follows();
}

// ---- what is seen ----

function laidAt(zoom) {
  const svg = find(".laid-all");
  hand.zoom = zoom;
  svg.setAttribute("width", String(picked.across * zoom));
  svg.setAttribute("height", String(picked.down * zoom));
  crosses();
}

function nearer(by) {
  const view = find(".laid-view"), before = hand.zoom;
  const least = Math.min(view.clientWidth / picked.across, 1);
  const zoom = by === 0 ? least : Math.min(Math.max(before * by, least), NEAREST);
  const middle = [(view.scrollLeft + view.clientWidth / 2) / before, (view.scrollTop + view.clientHeight / 2) / before];
  const about = hand.at && by > 1 ? hand.at : middle;
  laidAt(zoom);
  view.scrollTo(about[0] * zoom - view.clientWidth / 2, about[1] * zoom - view.clientHeight / 2);
}

function crosses() {
  const group = find(".laid-points"), few = find(".laid-view").clientWidth < 600;
  group.replaceChildren();
  const others = Object.keys(picked.points).filter((name) => name !== hand.name && put(name).length);
  for (const name of hand.at ? [...others, hand.name] : others) {
    const held = name === hand.name, at = held ? hand.at : mean(put(name)), misfit = picked.misfit.includes(name);
    const own = made("g", { class: `put${held ? " held" : ""}${misfit ? " misfit" : ""}`, transform: `translate(${at[0]} ${at[1]}) scale(${1 / hand.zoom})` }, group);
    const cross = "M-11 0H-3M3 0H11M0 -11V-3M0 3V11", ring = "M14 0A14 14 0 1 1 -14 0A14 14 0 1 1 14 0";
    for (const look of ["halo", ""]) { made("path", { d: held || misfit ? cross + ring : cross, class: misfit && !look ? "ring" : look }, own); }
    if (held && picked.writes) { made("circle", { r: 22, class: "grip" }, own); }
    if (held || misfit || !(few || name.startsWith("slot "))) { made("text", { x: 9, y: -9 }, own).textContent = name; }
  }
}

function made(kind, how, into) {
  const own = document.createElementNS(SVG, kind);
  for (const [key, value] of Object.entries(how)) { own.setAttribute(key, value); }
  into.append(own);
  return own;
}

function listed() {
  for (const button of all("[data-point]")) {
    const own = put(button.dataset.point);
    button.classList.toggle("is-put", own.length > 0);
    button.setAttribute("aria-pressed", String(button.dataset.point === hand.name));
    find("span", button).textContent = own.length ? mean(own).map(tenth).join(", ") + (own.length > 1 ? `, of ${own.length}` : "") : "to be put";
  }
}

function magnified() {
  find(".in-hand-name").textContent = hand.name;
  const [u, v] = hand.at;
  find(".magnified").setAttribute("viewBox", `${u - REACH / 2} ${v - REACH / 2} ${REACH} ${REACH}`);
  find(".at-left").value = String(tenth(u));
  find(".at-top").value = String(tenth(v));
  find("[data-laid=again]")?.toggleAttribute("disabled", !put(hand.name).length);
  find("[data-laid=out]")?.toggleAttribute("disabled", !put(hand.name).length);
}

// ---- the point in hand ----

function takeUp(name, look = true) {
  settle();
  const view = find(".laid-view"), own = put(name);
  hand.name = name;
  hand.again = false;
  hand.at = own.length ? own[own.length - 1] : picked.places[name]
    || [(view.scrollLeft + view.clientWidth / 2) / hand.zoom, (view.scrollTop + Math.min(view.clientHeight, picked.down * hand.zoom) / 2) / hand.zoom];
  hand.at = within(hand.at);
  if (look) { inSight(); }
  shown();
}

function shown() { listed(); magnified(); crosses(); }

function inSight() {
  const view = find(".laid-view"), [u, v] = hand.at.map((own) => own * hand.zoom);
  const clear = u > view.scrollLeft + 30 && u < view.scrollLeft + view.clientWidth - 30 && v > view.scrollTop + 30 && v < view.scrollTop + view.clientHeight - 30;
  if (!clear) { view.scrollTo(u - view.clientWidth / 2, v - view.clientHeight / 2); }
}

// To a place; it goes to the file once it has stood still.
function moveTo(at) {
  if (!picked.writes) { return; }
  hand.at = within(at);
  const own = put(hand.name);
  picked.points[hand.name] = hand.again || !own.length ? [...own, hand.at] : [...own.slice(0, -1), hand.at];
  hand.again = false;
  clearTimeout(hand.saving);
  hand.saving = setTimeout(settle, STILL);
  shown();
}

const nudge = (u, v) => { moveTo([hand.at[0] + u, hand.at[1] + v]); inSight(); };

function settle() {
  if (!hand.saving) { return undefined; }
  clearTimeout(hand.saving);
  hand.saving = 0;
  return save(hand.name, put(hand.name));
}

async function save(name, takings) {
  const told = await inTurn(() => take({ do: "point", name, takings, like: picked.like }));
  if (!told.ok) {
    tell(told.said);
    if (told.elsewhere) { elsewhere(told.said); }
    return;
  }
  steps(told);
  tell(told.words);
  body.dataset.entered = String(Number(body.dataset.entered || 0) + 1);
  await follows();
}

const laid = {
  nearer: () => nearer(1.6),
  further: () => nearer(1 / 1.6),
  whole: () => nearer(0),
  put: () => {
    if (!put(hand.name).length || hand.again) { moveTo(hand.at); }
    settle();
    const names = all("[data-point]").map((own) => own.dataset.point), from = names.indexOf(hand.name);
    const next = [...names.slice(from + 1), ...names.slice(0, from)].find((name) => !put(name).length);
    if (next) { takeUp(next); }
    find(".magnifier").focus();
  },
  again: () => { // from a little beside, so that it is looked for anew
    settle();
    hand.again = true;
    hand.at = within([hand.at[0] + 11, hand.at[1] - 8]);
    magnified();
    crosses();
    tell(`${hand.name}: put it once more; the mean counts.`);
    find(".magnifier").focus();
  },
  out: () => {
    clearTimeout(hand.saving);
    hand.saving = 0;
    delete picked.points[hand.name];
    shown();
    save(hand.name, []);
  },
};

// ---- what follows ----

let asking = 0;
async function follows() {
  const number = ++asking;
  const told = await take({ do: "follows", file: picked.file, like: picked.like });
  if (number !== asking || !picked) { return; }
  if (!told.ok) { find("#first").textContent = told.said; return; }
  find("#first").innerHTML = told.first;
  find("#rest").innerHTML = told.rest || '<p class="hint">None yet.</p>';
  find(".take-figures").hidden = !told.usable;
  picked.misfit = told.wrong;
  over(told);
  if (hand.by) { await turned(); }
  body.dataset.followed = String(Number(body.dataset.followed || 0) + 1);
}

function over(told) {
  find(".laid-over").innerHTML = told.svg;
  find(".laid-turned").textContent = told.turned || "";
  if (told.first !== undefined) { picked.places = told.places; }
  if (!put(hand.name).length && !hand.saving && picked.places[hand.name]) { hand.at = within(picked.places[hand.name]); magnified(); }
  crosses();
}

let turning = 0;
async function turned() {
  const number = ++turning;
  const told = await take({ do: "turn", file: picked.file, by: hand.by, like: picked.like });
  if (number === turning && picked) { over(told.ok ? told : { svg: "", turned: told.said }); }
}

// ---- by pointer and keyboard ----

const onPicture = (event) => {
  const box = find(".laid-all").getBoundingClientRect();
  return [(event.clientX - box.left) / hand.zoom, (event.clientY - box.top) / hand.zoom];
};
let drag = null;

function seized(event) {
  const grip = event.target.closest(".grip"), glass = event.target.closest(".magnifier");
  if (!picked || (!grip && !glass) || event.button) { return; }
  const share = glass ? -REACH / glass.clientWidth : 1 / hand.zoom;
  drag = { x: event.clientX, y: event.clientY, at: hand.at, share, far: false };
  if (!glass) { event.preventDefault(); }
}

function dragged(event) {
  if (!drag) { return; }
  const u = event.clientX - drag.x, v = event.clientY - drag.y;
  drag.far = drag.far || Math.hypot(u, v) > 3;
  if (drag.far) { moveTo([drag.at[0] + u * drag.share, drag.at[1] + v * drag.share]); }
}

document.addEventListener("pointerdown", seized);
document.addEventListener("pointermove", dragged);
for (const end of ["pointerup", "pointercancel"]) {
  document.addEventListener(end, () => { if (drag?.far) { settle(); } setTimeout(() => { drag = null; }); });
}
document.addEventListener("click", (event) => {
  if (!picked) { return; }
  const own = event.target.closest("[data-laid], [data-point], [data-move], .laid-all");
  if (!own) { return; }
  if (own.dataset.laid) { laid[own.dataset.laid](); }
  else if (own.dataset.point) { takeUp(own.dataset.point); }
  else if (own.dataset.move) { const [u, v] = own.dataset.move.split(" ").map(Number); nudge(u, v); }
  else if (!drag?.far) { moveTo(onPicture(event)); settle(); }
});
const ARROWS = { ArrowUp: [0, -1], ArrowDown: [0, 1], ArrowLeft: [-1, 0], ArrowRight: [1, 0] };
document.addEventListener("keydown", (event) => {
  if (!picked || !event.target.closest(".magnifier") || event.ctrlKey || event.altKey || event.metaKey) { return; }
  const arrow = ARROWS[event.key], by = event.shiftKey ? 10 : 1;
  if (arrow) { event.preventDefault(); nudge(arrow[0] * by, arrow[1] * by); }
  if (event.key === "Enter") { event.preventDefault(); laid.put(); }
});
document.addEventListener("change", (event) => {
  const own = event.target;
  if (!picked) { return; }
  if (own.matches(".laid-show")) { find(".laid-over").toggleAttribute("hidden", !own.checked); }
  if (own.matches(".at-left, .at-top")) {
    const at = [find(".at-left").value, find(".at-top").value].map((typed) => Number(typed.replace(",", ".")));
    if (at.every(Number.isFinite)) { moveTo(at); settle(); } else { magnified(); }
  }
});
document.addEventListener("input", (event) => {
  if (!picked || !event.target.matches(".laid-turn")) { return; }
  hand.by = Number(event.target.value);
  event.target.setAttribute("aria-valuetext", hand.by ? `on by ${hand.by} degrees` : "as in the picture");
  turned();
});
document.addEventListener("scroll", (event) => {
  if (picked && event.target.matches?.(".laid-view")) { hand.left = event.target.scrollLeft; hand.top = event.target.scrollTop; }
}, true);
