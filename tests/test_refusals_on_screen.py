"""Wrong things typed into every field of every screen: each refusal is told in the words of the screen."""

from __future__ import annotations

import html
import re
import shutil
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlencode

import pytest

from tests.bench_at import EXAMPLES, Answer, Wire, laid_out, on_the_wire
from tests.typed_fields import Field, fields_of, wishes

OF_A_FILE = re.compile(
    r"[=\[\]{}]|\bTOML\b|\b(?:table|key|string)s?\b|\b[a-z]+_[a-z_]+\b|(?<![\w.])[a-z_]+\.(?:[a-z_]+\b|\")",
    re.IGNORECASE,
)
"""What a person on the bench has not before them: signs of a file's syntax, its words, keys."""
WRONG = (
    "wrong", "-4", "nan", "1e400", "[ 1, 2 ]", "[", "{ over = 1 }", "{ bush = 3 }", '"x" = 1', "?", "3 parsecs",
    "31 31 in", "= 4", "true", "33,3", "{}", "1e9", "0", "{ greatest = 1, least = 2 }", "1 mm - 3 mm", "4 ± 9 in",
    "by rule", "1/0 in", '[ "1 mm", "x" ]', "{ within = -1 }", "9" * 40, "die x", "a]b", "12°",
    "{ chord = 3, rise = 0 }", "3 mm; x", "die 7 apples",
)  # fmt: skip
SCREENS = (
    ("side", "state=as+found&side=left"), ("side", "state=drawing&correct=yes"), ("check", ""),
    ("hold", "state=as+found"), ("repairs", ""), ("pins", ""), ("setting", ""), ("slot", "state=as+found"),
    ("dead_centres", "marks=marks.toml"), ("read", "readings=readings.toml"), ("record", ""),
)  # fmt: skip


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Wire]:
    """A folder with everything in it that has a screen."""
    folder = tmp_path_factory.mktemp("own") / "own"
    shutil.copytree(EXAMPLES / "winkle", folder)
    for own in (EXAMPLES / "pictures").iterdir():
        shutil.copy(own, folder)
    with on_the_wire(laid_out(folder)) as wire:
        yield wire


def of_a_file(said: str, typed: str, label: str) -> str:
    """What a refusal says as a file has it; what was typed is the reader's own, and the field's label the screen's."""
    for own in (label, label.partition(" ")[2]):  # a letter may stand at its head
        said = said.replace(own, "") if own else said
    told = said.replace(repr(typed), "").replace(typed, "") if typed.strip() else said
    for part in re.findall(r"'[^']*'", told):
        told = told.replace(part, "") if part[1:-1].strip("…") in typed else told
    found = OF_A_FILE.search(told)
    return found[0] if found else ""


def typed_into(bench: Wire, engine: str, screen: str, own: Field, value: str, seen: int, file: str) -> tuple[str, Any]:
    """A value sent as the page would: what refuses it, or "", and the answer where there is one."""
    to, wish = wishes(own, value, seen, file)
    if to == "look":
        page = bench.ask(f"e/{engine}/{screen}/answer?{urlencode(dict(wish))}" if screen == "repairs"
                         else f"e/{engine}/{screen}?{urlencode(dict(wish))}").text  # fmt: skip
        told = re.findall(r'class="wrong"[^>]*>([^<]+)<', page)
        return html.unescape(" ".join(told)), {}
    answer = bench.ask({"new": "new"}.get(to, f"e/{engine}/{'change' if to == 'change' else f'{screen}/take'}"), wish)
    assert answer.code in (200, 409, 422), answer.text
    return (answer.read["said"] if not answer.read["ok"] else ""), answer.read


def refusals(bench: Wire, engine: str, screen: str, query: str) -> list[tuple[str, str, str]]:
    """Every field given something wrong, one after another of :data:`WRONG`; what was taken is undone."""
    fields, seen, file = fields_of(bench.ask(f"e/{engine}/{screen}?{query}").text)
    found = []
    for number, own in enumerate(fields):
        value = WRONG[number % len(WRONG)]
        said, told = typed_into(bench, engine, screen, own, value, seen, file)
        seen = told.get("version", seen)
        if said:
            found.append((own.words, value, said))
        elif told.get("ok") and told.get("words") != "nothing was changed" and "to" not in told:
            undone = bench.ask(f"e/{engine}/change", {"do": "undo", "seen": seen, "file": file}).read
            assert undone["ok"], (own, value, undone)
            seen = undone["version"]
    return found


def in_words(found: list[tuple[str, str, str]]) -> None:
    for words, value, said in found:
        assert of_a_file(said, value, words) == "", (words, value, said)
        assert said == said.strip()
        assert said.endswith((".", "?", "!")) or ";" in said, (words, value, said)


@pytest.mark.parametrize(("screen", "query"), SCREENS)
def test_no_refusal_speaks_as_a_file_has_it(bench: Wire, screen: str, query: str) -> None:
    found = refusals(bench, "winkle", screen, query)
    assert len(found) >= 5, "the screen lets things be typed, and refuses what is wrong"
    in_words(found)


def test_nor_of_points_on_a_picture_and_of_a_drawing_filled_in(bench: Wire) -> None:
    found = refusals(bench, "dock_shunter", "traced", "points=dock_arrangement-picks.toml")
    new = {"engine": "New one", "file": "new one", "gear": "stephenson", "unit": "in"}
    assert bench.ask("new", new).code == 200
    found += refusals(bench, "new%20one", "side", "")
    assert len(found) > 20
    in_words(found)


def test_nor_of_a_new_engine(bench: Wire) -> None:
    for own in fields_of(bench.ask("").text)[0]:
        for value in ("", "a/b", "..", "x" * 200, "[engine]", "winkle", "\u200b"):
            answer = bench.ask("new", wishes(own, value, 0, "")[1])
            assert answer.code in (200, 422)
            if answer.code == 422:
                in_words([(own.words, value, answer.read["said"])])


@pytest.mark.parametrize("value", WRONG)
def test_nor_of_readings_along_a_slot(bench: Wire, value: str) -> None:
    rows = [{"at": "1 in", "front": "1 thou", "back": value}]
    wish = {"do": "slot", "seen": bench.seen("winkle"), "state": "as found", "side": "right", "rows": rows}
    answer = bench.ask("e/winkle/change", wish)
    if answer.code == 200:
        assert bench.ask("e/winkle/change", {"do": "undo", "seen": answer.read["version"]}).code == 200
    else:
        in_words([("back", value, answer.read["said"])])


def carried(bench: Wire, text: str) -> Answer:
    return bench.ask("e/winkle/carried/take", {"do": "look", "text": text, "beside": ""})


def test_nor_of_a_file_carried_back(bench: Wire) -> None:
    own, marks = ((EXAMPLES / "winkle" / name).read_text("utf-8") for name in ("readings.toml", "marks.toml"))
    wrong = ["", "x", "[readings]\n", "[readings]\nengine = 5\n", "[tram]\n", "[left]\nx = 1\n", own[:300],
             own.replace("lead", "lid"), own.replace('= "', "= [", 1), marks.replace("front", "fore"),
             marks.replace("marks = [", "marks = [ 5, ", 1)]  # fmt: skip
    for text in wrong:
        answer = carried(bench, text)
        assert answer.code == 422, text
        in_words([("text", text, answer.read["said"])])


def test_the_words_say_what_to_do(bench: Wire) -> None:
    """A few as they are read."""
    seen = bench.seen("winkle")
    wish = {"do": "figure", "seen": seen, "state": "as found", "side": "left", "name": "cylinder.crank_radius"}
    for value, wanted in (
        ("-4", "-4 is negative; a length that is not below nothing is wanted. Is it 4? Else correct this figure."),
        ("nan", "'nan' is not a finite length; write it like 33.3 mm, 1 5/16 in, 3' 6 1/2\" or 5 thou. "
                "Correct this figure."),
        ("{ over = 1 }", "What stands in brackets says nothing here. Write one plain figure, such as 33.3 mm or 1 5/16 "
                         "in, or choose the words that are offered."),
    ):  # fmt: skip
        assert bench.ask("e/winkle/change", wish | {"value": value}).read["said"] == wanted
    begun = next(own for own in fields_of(bench.ask("e/winkle/setting").text)[0] if own.name == "most")
    own = {**begun.wish, "step": "1/64 in", "most": "", "cost": "", "seen": seen}
    said = bench.ask("e/winkle/setting/take", own).read["said"]
    assert said == "say how far it goes either way, such as 1/8 in."
    lap = wish | {"state": "drawing", "name": "valve.steam_lap_front", "value": "1 in"}
    said = bench.ask("e/winkle/change", lap).read["said"]
    assert said.startswith("steam lap for both ends is given too. Keep steam lap, or"), "no key of the file"
