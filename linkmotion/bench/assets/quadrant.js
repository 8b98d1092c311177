// State, side or notch touched on the drawing: the same as chosen in the row over it.
function chooseOnIt(radio) {
  find(`#choose [name="${radio.dataset.choose}"]`).value = radio.dataset.said;
  show(`?${new URLSearchParams(chosen())}`);
}

// Where there is little room what else can be asked is one line until it is touched.
function narrow() {
  const folded = find(".asked");
  if (folded && matchMedia("(max-width: 62rem)").matches) { folded.open = false; }
}
