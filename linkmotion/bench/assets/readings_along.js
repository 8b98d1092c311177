// Readings typed along a slot: they go to the file together, each as soon as it is whole; the answer follows.
const cells = (row) => all("input", row);
const typedIn = (row) => Object.fromEntries(cells(row).map((cell) => [cell.dataset.key, cell.value.trim()]));
const filledIn = (row) => cells(row).filter((cell) => cell.value.trim()).length;

async function enterReadings(input) {
  const table = input.closest("[data-readings]"), rows = all(".reading", table);
  for (const cell of all("[aria-invalid]", table)) { cell.removeAttribute("aria-invalid"); cell.removeAttribute("aria-describedby"); }
  refusedReading(null, "");
  const half = rows.find((row) => row.dataset.whole && filledIn(row) > 0 && filledIn(row) < 3);
  if (half) {
    refusedReading(cells(half).find((cell) => !cell.value.trim()), "Place, front and back are wanted; clear all three to take the reading out.");
    return;
  }
  const whole = rows.filter((row) => filledIn(row) === 3);
  if (!whole.includes(input.closest(".reading")) && !input.closest(".reading").dataset.whole) { return; }
  const given = JSON.stringify(whole.map(typedIn));
  if (given === table.dataset.given) { return; } // Enter has taken it already; leaving the field is no other entry
  table.dataset.given = given;
  const told = await inTurn(() => send(`${here}change`, {
    do: "slot", seen: lastSeen(), state: table.dataset.state, side: table.dataset.side, rows: whole.map(typedIn),
  }));
  if (!told.ok) {
    delete table.dataset.given;
    const [, row, key] = (told.field || "").match(/^slot\.(\d+)\.(\w+)$/) || [];
    refusedReading(row ? find(`[data-key=${key}]`, whole[Number(row)]) : input, told.said);
    if (told.elsewhere) { elsewhere("This file was changed elsewhere meanwhile."); }
    return;
  }
  for (const row of rows) { if (whole.includes(row)) { row.dataset.whole = "yes"; } else { delete row.dataset.whole; } }
  openRow(table);
  steps(told);
  tell(told.words);
  body.dataset.entered = String(Number(body.dataset.entered || 0) + 1);
  answerAnew();
}

function refusedReading(cell, words) {
  const place = find("#wrong-reading");
  place.textContent = words;
  place.hidden = words === "";
  if (cell) { cell.setAttribute("aria-invalid", "true"); cell.setAttribute("aria-describedby", "wrong-reading"); }
}

// There is always a row left open at the end.
function openRow(table) {
  const rows = all(".reading", table), last = rows[rows.length - 1];
  if (!filledIn(last)) { return; }
  const next = last.cloneNode(true), number = rows.length + 1;
  delete next.dataset.whole;
  find("th", next).textContent = String(number);
  for (const cell of cells(next)) {
    cell.value = "";
    cell.setAttribute("aria-label", cell.getAttribute("aria-label").replace(/\d+$/, String(number)));
  }
  last.after(next);
}

// The answer once nothing has been entered for a moment; what is being worked out for figures that are past is stopped.
let pause = 0;
function answerAnew() {
  clearTimeout(pause);
  pause = setTimeout(async () => {
    const old = find("[data-later]");
    if (old) { done.stop(); }
    const answer = await fetch(location.href);
    if (!answer.ok) { return; }
    find("#answer").replaceWith(find("#answer", new DOMParser().parseFromString(await answer.text(), "text/html")));
    await later();
  }, 700);
}
