// A file carried back: read here, looked at by the bench beside what is there, kept on a word.
const carried = {
  look: async () => {
    const place = find(".carried"), text = find(".carried-text").value;
    dropped();
    if (text.length > Number(place.dataset.largest)) { refused(place, "This is larger than any readings file: is it the right one?"); return; }
    const told = await inTurn(() => take({ do: "look", text, beside: place.dataset.beside }));
    if (!told.ok) { refused(place, told.said); return; }
    find(".carried-met").innerHTML = told.met;
    find(".carried-yes").hidden = !told.good;
    if (told.good) { find("[data-carried=keep]").focus(); }
  },
  keep: async () => {
    const told = await inTurn(() => take({ do: "keep", text: find(".carried-text").value }));
    if (told.ok) { location.assign(`${here}${told.to}`); } else { refused(find(".carried"), told.said); }
  },
  drop: () => {
    dropped();
    find(".carried-file").value = "";
    find(".carried-text").value = "";
    tell("Left: nothing was kept.");
  },
};

function dropped() {
  refused(find(".carried"), "");
  find(".carried-met").replaceChildren();
  find(".carried-yes").hidden = true;
}

async function carriedFile(input) {
  const [file] = input.files, place = find(".carried");
  dropped();
  if (!file) { return; }
  if (file.size > 4 * Number(place.dataset.largest)) { refused(place, "This is larger than any readings file: is it the right one?"); return; }
  try {
    find(".carried-text").value = new TextDecoder("utf-8", { fatal: true }).decode(await file.arrayBuffer());
  } catch { refused(place, "This is no text: choose the file that the telephone gave."); return; }
  await carried.look();
}

document.addEventListener("change", (event) => { if (event.target.matches(".carried-file")) { carriedFile(event.target); } });
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-carried]");
  if (button) { carried[button.dataset.carried](); }
});
