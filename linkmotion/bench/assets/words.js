// The trade's words where they stand: marked, and told with a picture when touched; told when their field is gone to.
const SPOKEN = "label, caption, thead th, h1, h2, h3, .answer, .hint, .said, .aside, .points li";
const PLACE = ".part-of, section, .seen, .glance, #answer, #screen"; // in which a word is marked once
const PLAIN = ["drawing", "wheel", "axle", "cylinder", "slide"]; // that need no mark
const SILENT = "a, button, svg, select, summary, dl, .term, .letter, .rule b, .title-block, .notches, .figure .more";
let spelt = null;

function wordList() {
  if (spelt) { return spelt; }
  const rows = all("[data-word]").filter((own) => !own.dataset.word.includes(",") && !PLAIN.includes(own.dataset.word));
  const names = rows.map((own) => own.dataset.word).sort((one, other) => other.length - one.length);
  if (!names.length) { return null; }
  const safe = names.map((name) => name.replace(/[.*+?^${}()|[\]\\]/g, "\\$&"));
  spelt = { test: new RegExp(`\\b(${safe.join("|")})s?\\b(?!\\.toml|/| from| to | through)`, "gi"), rows: new Map(rows.map((own) => [own.dataset.word, own])) };
  return spelt;
}

// Each word is marked once in its part of the page.
function markWords(within) {
  const list = wordList();
  if (!list) { return; }
  for (const block of all(SPOKEN, within)) {
    const told = new Set(all(".term", block.closest(PLACE)).map((own) => own.dataset.term));
    const walker = document.createTreeWalker(block, NodeFilter.SHOW_TEXT);
    const texts = [];
    while (walker.nextNode()) { texts.push(walker.currentNode); }
    for (let text of texts) {
      if (text.parentElement.closest(SILENT) || text.parentElement.closest(SPOKEN) !== block) { continue; }
      list.test.lastIndex = 0;
      for (let found = list.test.exec(text.data); found; found = list.test.exec(text.data)) {
        const word = found[1].toLowerCase();
        if (told.has(word)) { continue; }
        told.add(word);
        const rest = text.splitText(found.index), mark = document.createElement("span");
        text = rest.splitText(found[0].length);
        list.test.lastIndex = 0;
        mark.className = "term";
        mark.dataset.term = word;
        rest.before(mark);
        mark.append(rest);
      }
    }
  }
}

function meaningOf(word) {
  const row = wordList()?.rows.get(word);
  return row ? find("dd", row).textContent : "";
}

async function explain(word, pictured) {
  const strip = find("#explained"), name = find("#explained b"), place = find("#explained .shown");
  name.textContent = word;
  find("#explained span").textContent = meaningOf(word);
  place.replaceChildren();
  strip.hidden = false;
  if (!pictured || !wordList().rows.get(word).dataset.shown) { return; }
  const asked = new URLSearchParams(location.search);
  asked.set("word", word);
  const answer = await fetch(`${here}word?${asked}`);
  if (!answer.ok || name.textContent !== word) { return; }
  place.innerHTML = await answer.text();
  for (const own of all("pattern", place)) { if (all(`#${own.id}`).length > 1) { own.remove(); } }
}

function explainField(active) {
  const row = active.closest ? active.closest(".figure, .asks label, .typed-choices label, .choose label, .scroll") : null;
  const term = row && find(".term", row);
  if (term) { explain(term.dataset.term, false); } else if (!active.closest?.("#explained")) { find("#explained").hidden = true; }
}

function watchWords() {
  const screen = find("#screen");
  if (!here || !screen || !find("#explained")) { return; }
  let due = 0;
  const again = () => { clearTimeout(due); due = setTimeout(mark, 60); };
  const watch = new MutationObserver(again);
  const mark = () => { markWords(find("#screen") || document); watch.takeRecords(); }; // the marks are no news
  watch.observe(screen.parentElement, { childList: true, subtree: true });
  again();
}
