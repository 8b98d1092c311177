// The bench's own script: entries go to the file as each field is left; what follows is put in its place.
const body = document.body;
const root = body.dataset.root;
const here = body.dataset.engine || "";
/** @type {(what: string, within?: ParentNode) => any} */
const find = (what, within = document) => within.querySelector(what);
/** @type {(what: string, within?: ParentNode) => any[]} */
const all = (what, within = document) => [...within.querySelectorAll(what)];
let seen = Number(body.dataset.seen || 0);
const lastSeen = () => seen;
let waiting = Promise.resolve();

let silent = 0;
function tell(words) {
  find("#told").textContent = words;
  clearTimeout(silent);
  silent = setTimeout(() => { find("#told").textContent = ""; }, 9000);
}

/** @returns {Promise<Told>} */
async function send(path, wish) {
  const answer = await fetch(path, {
    method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(wish),
  });
  const type = answer.headers.get("content-type") || "";
  if (!type.startsWith("application/json")) { return { ok: false, said: await answer.text() }; }
  return answer.json();
}

// One entry after another, in the order in which they were made.
/** @type {(work: () => Promise<Told>) => Promise<Told>} */
function inTurn(work) {
  const next = waiting.then(work).catch(() => ({ ok: false, said: "The bench does not answer: is it still running?" }));
  waiting = next.then(() => undefined);
  return next;
}

function refused(within, words) {
  const place = find(".wrong", within);
  place.textContent = words;
  place.hidden = words === "";
}

function steps(told) {
  if (told.version !== undefined) { seen = told.version; body.dataset.seen = String(seen); }
  const undo = find("[data-do=undo]"), redo = find("[data-do=redo]");
  if (undo && told.undo !== undefined) { undo.disabled = !told.undo; redo.disabled = !told.redo; }
}

const chosen = () => {
  const forms = all("#choose, form.typed-choices");
  return Object.assign({}, ...forms.map((form) => Object.fromEntries(new FormData(form))));
};

// ---- a figure ----

async function enter(input) {
  const row = input.closest(".figure");
  const value = input.value.trim();
  if (value === input.dataset.was) { refused(row, ""); input.removeAttribute("aria-invalid"); return; }
  const filling = Boolean(input.closest("[data-filling]")), where = row.dataset.where;
  const way = input.closest("[data-entering]")?.dataset.entering;
  row.classList.add("going");
  const told = await inTurn(() => where ? take({ ...JSON.parse(where), was: input.dataset.was, value })
    : send(`${here}change`, filling ? { do: "fill", seen, name: row.dataset.figure, value }
    : way ? { do: way, seen, name: row.dataset.figure, value }
      : { do: "figure", seen, name: row.dataset.figure, value, ...entryAt() }));
  row.classList.remove("going");
  if (!told.ok) {
    refused(row, told.said);
    input.setAttribute("aria-invalid", "true");
    if (told.elsewhere) { elsewhere("This file was changed elsewhere meanwhile."); }
    return;
  }
  input.dataset.was = value;
  input.removeAttribute("aria-invalid");
  refused(row, "");
  steps(told);
  if (told.whole) { location.assign(here); return; }
  if (filling) { wanted(row, told); }
  if (told.status) { find("#status").innerHTML = told.status; }
  if (way) { answerAnew(); }
  if (told.anew) { await anew(told.anew); }
  if (told.follows) { followed(row, told); await draw(); }
  const verdict = find("#follows .answer, #status .answer"); // on a phone it is out of sight
  tell(verdict ? `${told.words}. ${verdict.textContent}` : told.words);
  body.dataset.entered = String(Number(body.dataset.entered || 0) + 1);
}

// What a screen takes beside figures of the engine goes to the screen itself.
function take(wish) {
  return send(`${here}${body.dataset.screen}/take`, { file: body.dataset.file, seen, ...wish });
}

async function tick(box) {
  const told = await inTurn(() => take({ ...JSON.parse(box.dataset.tick), on: box.checked }));
  if (!told.ok) { box.checked = !box.checked; tell(told.said); return; }
  if (told.status) { find("#status").innerHTML = told.status; }
  tell(told.words);
  body.dataset.entered = String(Number(body.dataset.entered || 0) + 1);
}

function entryAt() {
  const picture = find("#picture").dataset;
  return { state: picture.state, side: picture.side, notch: picture.notch };
}

function followed(row, told) {
  find("#follows").innerHTML = told.follows;
  if (!told.figure) { return; }
  const { own, drawn, stands, whence, worked } = told.figure;
  row.dataset.stands = stands;
  const more = find(".more", row), is_drawing = find("#picture").dataset.state === "drawing";
  row.classList.toggle("own", Boolean(own) && !is_drawing);
  row.classList.toggle("by-rule", stands === "by rule");
  const comes = worked ? `that is ${worked}` : "";
  if (is_drawing) { more.textContent = comes; } else {
    const from = own ? (drawn ? `drawn ${drawn}` : "not on the drawing") : stands ? `${whence}: ${stands}` : "not given";
    more.textContent = comes ? `${from}; ${comes}` : from;
    const summary = find(":scope > summary", row.closest(".part-of"));
    let small = find("small", summary);
    if (!small) { small = document.createElement("small"); summary.append(" ", small); }
    small.textContent = told.part.changed ? `${told.part.changed} entered` : "";
  }
}

// ---- the drawing ----

let drawing = 0;
async function draw() {
  const picture = find("#picture");
  if (!picture) { return; }
  if (picture.dataset.bare) { marks(); return; }
  const number = ++drawing;
  const angle = find("#angle").value;
  const answer = await fetch(`${here}picture?${new URLSearchParams({ ...entryAt(), angle })}`);
  const text = await answer.text();
  if (number !== drawing) { return; }
  picture.innerHTML = answer.ok ? text : "";
  marks();
  body.dataset.drawn = String(number);
}

function marks() {
  const field = inHand();
  dimensions(field);
  const lit = field && field.closest && field.closest(".figure");
  for (const part of all("#picture .part.lit")) { part.classList.remove("lit"); }
  if (!lit) { return; }
  const names = [lit.dataset.rod, find("summary", lit.closest(".part-of") || lit)?.firstChild?.textContent.trim().toLowerCase()];
  const own = all("#picture > svg > .elevation .part").filter((part) => names.includes(part.dataset.part));
  for (const part of own) { part.classList.add("lit"); }
}

function openAt(name) {
  const lever = name === "notches" && find(".quadrant :checked");
  if (lever) { lever.focus(); lever.scrollIntoView({ block: "nearest" }); return; }
  const rod = find(`.figure[data-rod="${CSS.escape(name)}"] input`);
  const words = name.split(" ");
  const group = all(".part-of").find((own) => own.dataset.partOf === name)
    || all(".part-of").find((own) => words.some((word) => word.length > 3 && own.dataset.partOf.includes(word)));
  const input = rod || (group && find("input", group));
  if (input) { goTo(input.closest(".figure").dataset.figure); }
}

function goTo(name) {
  const input = find(`.figure[data-figure="${CSS.escape(name)}"] input`);
  if (!input) { return; }
  for (let own = input.closest("details"); own; own = own.parentElement.closest("details")) { own.open = true; }
  input.focus();
  input.scrollIntoView({ block: "center" });
}

// ---- choosing what is looked at ----

async function show(address) {
  const answer = await fetch(address);
  if (!answer.ok) { location.assign(address); return; }
  const made = new DOMParser().parseFromString(await answer.text(), "text/html");
  const { choose, said } = document.activeElement.dataset; // chosen on the drawing: it stays in hand
  const opened = all("details[data-part-of][open]").map((own) => own.dataset.partOf);
  find("#screen").replaceWith(find("#screen", made));
  if (choose) { (find(`[data-choose="${choose}"][data-said="${CSS.escape(said)}"]`) || body).focus(); }
  for (const own of all("details[data-part-of]")) { own.open ||= opened.includes(own.dataset.partOf); }
  for (const select of all("#choose select")) {
    const other = find(`#choose [name="${select.name}"]`, made);
    if (other) { select.innerHTML = other.innerHTML; }
  }
  if (find("nav")) { find("nav").replaceWith(find("nav", made)); narrow(); }
  document.title = made.title;
  body.dataset.seen = made.body.dataset.seen;
  body.dataset.file = made.body.dataset.file;
  seen = Number(body.dataset.seen);
  steps({ undo: !find("[data-do=undo]", made).disabled, redo: !find("[data-do=redo]", made).disabled });
  history.replaceState(null, "", address);
  elsewhere("");
  await begin();
}

// ---- another window, another program ----

function elsewhere(words) {
  const strip = find("#elsewhere");
  if (!strip) { return; }
  strip.hidden = words === "";
  find("p", strip).textContent = words;
}

async function look() {
  if (!here || document.hidden) { return; }
  try {
    const told = await (await fetch(`${here}seen?file=${encodeURIComponent(body.dataset.file)}`)).json();
    if (told.version !== seen) { elsewhere(`Changed elsewhere: ${told.words}.`); }
  } catch { elsewhere("The bench does not answer: what you enter now is not kept. Start it again."); }
}

// ---- steps back and forth, long studies, forms ----

const done = {
  undo: () => step({ do: "undo", seen }),
  redo: () => step({ do: "redo", seen }),
  back: (button) => step({ do: "back", seen, number: Number(button.dataset.number) }),
  wish: async (button) => {
    const told = await inTurn(() => take(JSON.parse(button.dataset.wish)));
    if (!told.ok) { tell(told.said); return; }
    if (told.to) { location.assign(`${here}${told.to}`); return; }
    await show(location.href);
    tell(told.words);
  },
  look: () => show(location.href),
  print: () => window.print(),
  by_rule: byRule,
  next_step: nextStep,
  unexplain: () => { find("#explained").hidden = true; },
  enter_slid: enterSlid,
  put_back: putBack,
  stop: () => send(`${root}stop`, { word: new URL(find("[data-later]").dataset.later, location.href).searchParams.get("word") }),
};

async function step(wish) {
  const told = await inTurn(() => send(`${here}change`, { ...wish, file: body.dataset.file }));
  if (!told.ok) { tell(told.said); elsewhere(told.said); return; }
  await show(location.href);
  tell(told.words);
  body.dataset.stepped = String(Number(body.dataset.stepped || 0) + 1);
}

const said = (words) => Object.assign(document.createElement("p"), { className: "said", textContent: words });

// Long work: the page asks for it, shows how far it is, and puts the answer in its place or gives way to what was made.
async function later() {
  const place = find("[data-later]");
  if (!place) { return; }
  const address = place.dataset.later, bar = find("progress", place);
  const word = new URL(address, location.href).searchParams.get("word");
  const timer = setInterval(async () => {
    const far = await (await fetch(`${root}far?word=${encodeURIComponent(word)}`)).json();
    if (far.total) { bar.max = far.total; bar.value = far.done; }
  }, 400);
  try {
    const answer = await fetch(address);
    if (!answer.ok) { place.replaceChildren(said(await answer.text())); }
    else if (place.dataset.opens) { location.replace(address); place.replaceChildren(said("Made.")); }
    else { place.innerHTML = await answer.text(); }
    place.removeAttribute("data-later");
  } finally { clearInterval(timer); }
  body.dataset.answered = "yes";
}

async function begun(own) {
  const given = Object.fromEntries(new FormData(own));
  const to = own.dataset.to;
  const told = to === "state" || to === "notch"
    ? await inTurn(() => send(`${here}change`, { do: to, seen, ...given }))
    : await inTurn(() => to === "take" ? take(given) : send(`${root}${to}`, given));
  if (!told.ok) { refused(own, told.said); return; }
  if (told.to) { location.assign(to === "take" ? `${here}${told.to}` : told.to); return; }
  if (to === "take" || to === "notch") { await show(location.href); tell(told.words); return; }
  const at = new URLSearchParams({ ...chosen(), state: String(given.state).trim().replace(/\s+/g, " ") });
  location.assign(`${here}side?${at}`);
}

// What was typed to be looked at; whoever typed it is told the answer, and stays where they were.
async function asked(form) {
  await show(`?${new URLSearchParams(chosen())}`);
  if (!form.matches(".typed-choices")) { return; }
  const wrong = find(".typed-choices [aria-invalid]"), answer = find("#bush .answer") || find("#answer .answer");
  (wrong || find(".typed-choices button")).focus();
  if (!wrong && answer) { tell(answer.textContent); }
}

async function begin() {
  await Promise.all([draw(), later(), picking()]);
  body.dataset.ready = "yes";
}

document.addEventListener("change", (event) => {
  const own = event.target;
  if (own.matches(".figure :is(input, select)")) { enter(own); }
  if (own.matches("[data-tick]")) { tick(own); }
  if (own.matches(".reading input")) { enterReadings(own); }
  if (own.closest("[data-choose]")) { chooseOnIt(own.closest("[data-choose]")); }
  if (own.closest("#choose")) { show(`?${new URLSearchParams(chosen())}`); }
});
document.addEventListener("input", (event) => {
  if (event.target.id === "angle") { event.target.setAttribute("aria-valuetext", `${event.target.value} degrees`); draw(); }
});
document.addEventListener("keydown", (event) => {
  if (event.key !== "Enter") { return; }
  if (event.target.matches(".figure :is(input, select)")) { event.preventDefault(); enter(event.target); }
  if (event.target.matches(".reading input")) { event.preventDefault(); enterReadings(event.target); }
});
document.addEventListener("focusin", (event) => { marks(); if (find("#explained")) { explainField(event.target); } });
window.addEventListener("resize", marks);
document.addEventListener("submit", (event) => {
  event.preventDefault();
  if (event.target.matches("#choose, .typed-choices")) { asked(event.target); } else { begun(event.target); }
});
document.addEventListener("click", (event) => {
  const term = event.target.closest(".term");
  if (term) { explain(term.dataset.term, true); return; }
  const button = event.target.closest("[data-do]");
  if (button) { done[button.dataset.do](button); return; }
  const dim = event.target.closest("#picture .tag"), part = event.target.closest("#picture .part[data-part]");
  if (dim) { goTo(dim.dataset.figure); } else if (part) { openAt(part.dataset.part); }
});
setInterval(look, 3000);
narrow();
watchWords();
begin();
