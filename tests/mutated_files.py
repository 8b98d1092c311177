"""Files made wrong at random, from the examples: text, tokens, figures, keys, types and bytes. Always alike."""

from __future__ import annotations

import random
import re
import tomllib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

EXAMPLES = Path(__file__).parents[1] / "examples"
READINGS = EXAMPLES / "readings"
ENGINES = sorted(path.stem for path in EXAMPLES.glob("*.toml"))

_NUMBER = re.compile(r"(?<![\w.])-?\d+(?:\.\d+)?(?![\w.])")
_VALUE = re.compile(r"(?<==)[ \t]*(?:\"[^\"\n]*\"|[^\s,\]}#\"]+)")
_KEY = re.compile(r"(?m)(?<![\w\"])[a-z_]{2,}(?=\s*=)|(?<=^\[)[a-z_.]+(?=\])")
_TOKEN = re.compile(r"\"[^\"\n]*\"|[\w.%-]+|[\[\]{}=,;]")
_SIGNS = "?\0\x1b[31m\x07 \u202e\u200b\u00bd\u201c\u2019=[]{}\"'#,;.-+%é€\t\r"
_VALUES = (
    *('"?"', '""', "[]", "{}", "[[1], 2]", "{ a = 1 }", "true", "nan", "-inf", "1e400", "-1e-320", "0", "-0.0", "1e99"),
    *("1979-05-27", "07:32:00", "9" * 400, "0x1F", '"1 99/3 in"', '"1/0 in"', '"5 furlongs"', "33,3", "7 1/2"),
    *("full forward", '"\\u0000"', '"\\u001b[2J"', f'"{"x" * 3000}"', "[" * 300 + "]" * 300, "“7 in”", '"7 in', "'''"),
)
_KEYS = ('"\\u0007"', '"a\\u001b[31mb"', "x" * 3000, '""', '"two words"', '"é€"', "a.b.c", "gera", "1", '"="', "'\"'")


def _at(rng: random.Random, pattern: re.Pattern[str], text: str, put: Callable[[str], str]) -> str:
    """One of the places that a pattern finds, written anew."""
    found = list(pattern.finditer(text))
    if not found:
        return text[: len(text) // 2]
    place = rng.choice(found)
    return text[: place.start()] + put(place[0]) + text[place.end() :]


def _sign(rng: random.Random, text: str) -> str:
    at = rng.randrange(len(text))
    return text[:at] + rng.choice(("", rng.choice(_SIGNS), text[at] * 2)) + text[at + 1 :]


def _line(rng: random.Random, text: str) -> str:
    lines = text.split("\n")
    one, two = rng.randrange(len(lines)), rng.randrange(len(lines))
    match rng.randrange(4):
        case 0:
            del lines[one]
        case 1:
            lines.insert(two, lines[one])
        case 2:
            lines[one], lines[two] = lines[two], lines[one]
        case _:
            del lines[one + 1 :]
    return "\n".join(lines)


def _token(rng: random.Random, text: str) -> str:
    other = rng.choice(_TOKEN.findall(text))
    return _at(rng, _TOKEN, text, lambda own: rng.choice(("", other, f"{own} {own}")))


def _figure(rng: random.Random, text: str) -> str:
    def put(own: str) -> str:
        value = float(own)
        return rng.choice(
            [f"{value * by:.9g}" for by in (10, 0.1, -1, 25.4, 1 / 25.4, 1.05, 0.9, 1000, 0, 1e6)] + list(_VALUES[:14])
        )

    return _at(rng, _NUMBER, text, put)


def _key(rng: random.Random, text: str) -> str:
    other = rng.choice(_KEY.findall(text) or ["x"])
    return _at(rng, _KEY, text, lambda own: rng.choice((rng.choice(_KEYS), other, own[:-1], own.upper())))


def _type(rng: random.Random, text: str) -> str:
    return _at(rng, _VALUE, text, lambda _own: f" {rng.choice(_VALUES)}")


def _bytes(rng: random.Random, text: str) -> bytes:
    match rng.randrange(6):
        case 0:
            return text.encode("utf-8-sig").replace(b"\n", b"\r\n")
        case 1:
            return text.replace("e", "é", 3).encode("cp1252")
        case 2:
            return text.encode("utf-16")
        case 3:
            return text.replace("\n", "\r").encode()
        case 4:
            return text.encode()[: rng.randrange(len(text))]
    data = bytearray(text.encode())
    data[rng.randrange(len(data))] = rng.randrange(256)
    return bytes(data)


_HOW: tuple[tuple[str, Callable[[random.Random, str], str | bytes]], ...] = (
    ("sign", _sign), ("line", _line), ("token", _token), ("figure", _figure), ("figure", _figure), ("key", _key),
    ("type", _type), ("bytes", _bytes),
)  # fmt: skip


@dataclass(frozen=True)
class Mutant:
    """One file made wrong.

    Attributes
    ----------
    kind : str
        "engine", "readings", "table" (readings as CSV), "marks" or "slot".
    engine : str
        The example of which it is made, or to which it belongs.
    how : str
        What was done, with the seed.
    data : bytes
        The file.
    """

    kind: str
    engine: str
    how: str
    data: bytes

    @property
    def suffix(self) -> str:
        """Of a file of that kind."""
        return ".csv" if self.kind in ("table", "slot") else ".toml"


def mutants(kind: str, count: int, seed: int = 1) -> Iterator[Mutant]:
    """So many wrong files of a kind, the same ones for the same seed."""
    texts = originals(kind)
    for number in range(count):
        rng = random.Random(f"{kind} {seed} {number}")
        engine, text = texts[number % len(texts)]
        how, change = _HOW[rng.randrange(len(_HOW))]
        made = change(rng, text)
        if isinstance(made, str) and rng.random() < 0.2:  # a second one in the same file
            other, change = _HOW[rng.randrange(len(_HOW) - 1)]
            how, made = f"{how} and {other}", change(rng, made or "\n")
        data = made if isinstance(made, bytes) else made.encode("utf-8", "surrogatepass")
        yield Mutant(kind, engine, f"{kind} {seed} {number}: {how} of {engine}", data)


def originals(kind: str) -> list[tuple[str, str]]:
    """Engine and text of the right files of a kind."""
    if kind == "engine":
        return [(name, (EXAMPLES / f"{name}.toml").read_text("utf-8")) for name in ENGINES]
    if kind in ("readings", "table"):
        texts = [
            (path.stem, path.read_text("utf-8")) for path in sorted(READINGS.glob("*.toml")) if "-" not in path.stem
        ]
        return texts if kind == "readings" else [(name, _as_table(text)) for name, text in texts]
    name = {"marks": "dock_shunter-marks.toml", "slot": "dock_shunter-right-slot.csv"}[kind]
    return [("dock_shunter", (READINGS / name).read_text("utf-8"))]


def _as_table(text: str) -> str:
    """A readings file as the CSV that says the same."""
    read = tomllib.loads(text)
    columns = ("side", "notch", "direction", "kind", "at", "front", "back", "reads", "within")
    rows = [(key, str(value)) for key, value in read["readings"].items() if key != "engine"]
    cells = [[str({"side": "left", **row}.get(name, "")) for name in columns] for row in read["left"]["readings"]]
    return "".join(",".join(row) + "\n" for row in (*rows, columns, *cells))
