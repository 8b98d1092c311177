// What every script of the bench's pages shares: finding on the page, sending in turn, telling what came of it.
const body = document.body;
const root = body.dataset.root;
const here = body.dataset.engine || "";
/** @type {(what: string, within?: ParentNode) => any} */
const find = (what, within = document) => within.querySelector(what);
/** @type {(what: string, within?: ParentNode) => any[]} */
const all = (what, within = document) => [...within.querySelectorAll(what)];
let seen = Number(body.dataset.seen || 0);
const lastSeen = () => seen;
function sees(version) { seen = Number(version); body.dataset.seen = String(seen); }
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
  if (told.version !== undefined) { sees(told.version); }
  const undo = find("[data-do=undo]"), redo = find("[data-do=redo]");
  if (undo && told.undo !== undefined) { undo.disabled = !told.undo; redo.disabled = !told.redo; }
}

const chosen = () => {
  const forms = all("#choose, form.typed-choices");
  return Object.assign({}, ...forms.map((form) => Object.fromEntries(new FormData(form))));
};

// What a screen takes beside figures of the engine goes to the screen itself.
function take(wish) {
  return send(`${here}${body.dataset.screen}/take`, { file: body.dataset.file, seen, ...wish });
}
