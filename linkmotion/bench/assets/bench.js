// The bench's own script: what is looked at, steps back and forth, long studies and forms; then who is listened to.
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
  sees(made.body.dataset.seen);
  body.dataset.file = made.body.dataset.file;
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
    if (told.version !== lastSeen()) { elsewhere(`Changed elsewhere: ${told.words}.`); }
  } catch { elsewhere("The bench does not answer: what you enter now is not kept. Start it again."); }
}

// ---- steps back and forth, long studies, forms ----

const done = {
  undo: () => step({ do: "undo", seen: lastSeen() }),
  redo: () => step({ do: "redo", seen: lastSeen() }),
  back: (button) => step({ do: "back", seen: lastSeen(), number: Number(button.dataset.number) }),
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
    ? await inTurn(() => send(`${here}change`, { do: to, seen: lastSeen(), ...given }))
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
