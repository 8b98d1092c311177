// A drawing that is filled in: how much is left, step by step, and what the rules of the trade propose.
function wanted(row, told) {
  if (told.wanted === 0) { show(location.href); return; }
  find("#screen > .answer").textContent = `${told.wanted} figure${told.wanted === 1 ? "" : "s"} still to be filled in.`;
  all(".step").forEach((step, number) => {
    find("summary small", step).textContent = told.steps[number] ? `${told.steps[number]} to fill in` : "filled in";
  });
  row.classList.toggle("by-rule", find("input, select", row).value === "by rule");
  for (const place of all("[data-proposed]")) {
    const own = place.closest(".figure"), words = told.proposed[place.dataset.proposed];
    if (words) { place.textContent = words; }
    find("[data-do=by_rule]", own).disabled = !words || find("input", own).value !== "";
  }
}

function byRule(button) {
  const input = find("input", button.closest(".figure"));
  input.value = "by rule";
  input.focus();
  enter(input);
}

function nextStep(button) {
  const next = button.closest(".step").nextElementSibling;
  next.open = true;
  find("summary", next).focus();
  next.scrollIntoView({ block: "start" });
}

// Places of the page that follow from what was entered, as they are now; what is being typed stays as it is.
async function anew(places) {
  const made = new DOMParser().parseFromString(await (await fetch(location.href)).text(), "text/html");
  for (const place of places) { find(`#${place}`).replaceWith(find(`#${place}`, made)); }
}
