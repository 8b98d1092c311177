// A figure that is typed: it goes to the file as its field is left; what follows is put in its place.
async function enter(input) {
  const row = input.closest(".figure");
  const value = input.value.trim();
  if (value === input.dataset.was) { refused(row, ""); input.removeAttribute("aria-invalid"); return; }
  const filling = Boolean(input.closest("[data-filling]")), where = row.dataset.where;
  row.classList.add("going");
  const told = await inTurn(() => where ? take({ ...JSON.parse(where), was: input.dataset.was, value })
    : send(`${here}change`, filling ? { do: "fill", seen: lastSeen(), name: row.dataset.figure, value }
      : { do: "figure", seen: lastSeen(), name: row.dataset.figure, value, ...entryAt() }));
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
  if ("ofTable" in row.dataset) { row.classList.toggle("own", value !== "" && input.localName === "input"); }
  for (const [name, words] of Object.entries(told.beside || {})) { besideFigure(name, words); }
  if (told.answer_anew) { answerAnew(); }
  if (told.anew) { await anew(told.anew); }
  if (told.follows) { followed(row, told); await draw(); }
  const verdict = find("#follows .answer, #status .answer"); // on a phone it is out of sight
  tell(verdict ? `${told.words}. ${verdict.textContent}` : told.words);
  body.dataset.entered = String(Number(body.dataset.entered || 0) + 1);
}

// What holds where nothing is written follows from what was entered elsewhere.
function besideFigure(name, words) {
  const place = find(`.figure[data-figure="${CSS.escape(name)}"] .more`);
  if (place) { place.textContent = words; }
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
  const { own, drawn, stands, whence, of_side, worked } = told.figure;
  row.dataset.stands = stands;
  const more = find(".more", row), is_drawing = find("#picture").dataset.state === "drawing";
  row.classList.toggle("own", Boolean(own) && !is_drawing);
  row.classList.toggle("by-rule", stands === "by rule");
  const comes = worked ? `that is ${worked}` : "";
  if (is_drawing) { more.textContent = [of_side ? whence : "", comes].filter(Boolean).join("; "); } else {
    const from = own ? (drawn ? `drawn ${drawn}` : "not on the drawing") : stands ? `${whence}: ${stands}` : "not given";
    more.textContent = comes ? `${from}; ${comes}` : from;
    const summary = find(":scope > summary", row.closest(".part-of"));
    let small = find("small", summary);
    if (!small) { small = document.createElement("small"); summary.append(" ", small); }
    small.textContent = told.part.changed ? `${told.part.changed} entered` : "";
  }
}
