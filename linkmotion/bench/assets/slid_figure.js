// A dimension slid to and fro: the drawing and what follows move with it, and nothing is entered before it is said.
const slid = { row: null, box: null, value: "", busy: false, next: null };

// The field that is in hand: that of the dimension whose slider is.
const inHand = () => (slid.box && slid.box.contains(document.activeElement) ? find(".typed input", slid.row) : document.activeElement);

// The figure at which a dimension stands while it is tried; "" of any other.
const slidTo = (row) => (row === slid.row && slid.value ? `${slid.value} ${find(".unit", row).textContent}` : "");

function slidBox() {
  const made = (tag, more) => Object.assign(document.createElement(tag), more);
  const box = made("div", { className: "slid" }), label = made("label", { textContent: "Slide to try " });
  const range = made("input", { type: "range", min: "-1", max: "1", step: "0.02", value: "0" });
  const words = made("p", { className: "hint" });
  words.setAttribute("role", "status");
  const take = made("button", { type: "button", textContent: "Enter it", hidden: true });
  const back = made("button", { type: "button", textContent: "Put back", hidden: true });
  take.dataset.do = "enter_slid";
  back.dataset.do = "put_back";
  label.append(range);
  box.append(label, words, take, back);
  range.addEventListener("input", () => slide(Number(range.value)));
  return box;
}

// The slider goes with the dimension that is in hand; leaving it puts back what was only tried.
function offerSliding(row) {
  const input = row && find(".typed input", row);
  if (!find("#picture") || !input || input.readOnly || row === slid.row) { return; }
  if (!row.dataset.stands || /^(wear|reversing\.notches)\./.test(row.dataset.figure)) { return; }
  putBack();
  slid.row = row;
  slid.box = slid.box || slidBox();
  find("input", slid.box).setAttribute("aria-label", `Slide to try: ${find("label", row).textContent.trim()}`);
  row.after(slid.box); // beside the row, for what is slid is no entry
}

function slide(share) {
  slid.next = share;
  if (!slid.busy) { slideOn(); }
}

async function slideOn() {
  const share = slid.next, row = slid.row;
  slid.next = null;
  slid.busy = true;
  const at = { ...entryAt(), angle: find("#angle").value, name: row.dataset.figure, share: String(share) };
  try {
    const told = await (await fetch(`${here}tried?${new URLSearchParams(at)}`)).json();
    if (row === slid.row) { showSlid(told, share); }
  } finally { slid.busy = false; }
  if (slid.next !== null) { slideOn(); } else { body.dataset.slid = String(Number(body.dataset.slid || 0) + 1); }
}

function showSlid(told, share) {
  const tried = told.ok && share !== 0;
  slid.value = tried ? told.value : "";
  find("p", slid.box).textContent = !told.ok ? told.said : tried ? `${told.value} ${find(".unit", slid.row).textContent}: tried, not entered.` : "";
  for (const button of all("button", slid.box)) { button.hidden = share === 0 || (!told.ok && button.dataset.do === "enter_slid"); }
  find(".two").classList.toggle("trying", tried);
  if (!told.ok) { return; }
  find("#follows").innerHTML = told.follows;
  if (share === 0) { draw(); return; }
  find("#picture").innerHTML = told.picture;
  marks();
}

function putBack() {
  if (!slid.box) { return; }
  find("input", slid.box).value = "0";
  if (slid.value || find("p", slid.box).textContent) { slide(0); }
}

function enterSlid() {
  const input = find(".typed input", slid.row);
  input.value = slid.value;
  slid.value = "";
  find("input", slid.box).value = "0";
  for (const button of all("button", slid.box)) { button.hidden = true; }
  find("p", slid.box).textContent = "";
  find(".two").classList.remove("trying");
  input.focus();
  enter(input);
}

document.addEventListener("focusin", (event) => offerSliding(event.target.closest(".figure")));
