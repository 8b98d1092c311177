// The drawing of the engine's side: drawn anew as figures change, and what is in hand lit on it.
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
