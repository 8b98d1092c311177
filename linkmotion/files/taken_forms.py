"""Figures as they are taken, in an engine file: sums, doubts, takings, and readings as inline tables.

================================================================  ===================================================
inline table                                                      what it is
================================================================  ===================================================
``{ takings = ["769.2 mm", "769.5 mm"], doubt = "0.1 mm" }``      their mean; ``doubt`` is the gauge's own (a list by
                                                                  itself does where there is none)
``{ over = "852 mm", pins = ["40 mm", "38 mm"] }``                centres, from a reading over both
``{ between = "774 mm", pins = "39 mm" }``                        centres, from a reading between them
``{ over = "852 mm", bores = [...] }``, ``{ between = ... }``     the same with bores, or one pin and one bore
``{ from_rail = "1210 mm" }``                                     height above the axle, by ``wheels.diameter``
``{ chord = "310 mm", rise = "10.05 mm" }``                       radius of an arc
``{ points = [[x, y], [x, y], ...], doubt = "0.05 mm" }``         the same through three points, or fitted to more
``{ bush = { greatest = ..., least = ... }, pin = ... }``         clearance; ``turned_to``, ``sleeved_to`` once mended
``{ middle = ..., ends = [...], straightedge = ..., rod = ... }``  bow, from gaps under a straight-edge
================================================================  ===================================================

``add`` adds a length to any of them: from a face to the centre line, from an edge to a centre.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from fractions import Fraction
from itertools import count
from typing import Any

from linkmotion.files.faults import nearest
from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.lengths import LengthError, exact_length
from linkmotion.files.source import shown
from linkmotion.files.sums import DEGREE, MOST, sum_in
from linkmotion.measuring.taken import Source, Taken, added, mean_of

_DEEPEST, _LONGEST = 3, 80
ADD, DOUBT = "add", "doubt"
_ELSEWHERE = {
    "from_rail": "from_rail goes with heights of the frame; here write a sum, the height less half the wheel: "
    '"553 mm - 1066 mm / 2"',
    "bush": "a bush and its pin go with the clearances of [wear]",
}  # words of forms that other keys have


@dataclass(frozen=True)
class Form:
    """An inline table by which a figure can be taken.

    Attributes
    ----------
    needs, may : tuple of str
        Words that it must have, the first of which names it; and that it may have.
    work : callable
        Works the figure out.
    """

    needs: tuple[str, ...]
    may: tuple[str, ...]
    work: Callable[[Taking, Mapping[str, Any]], Any]

    @property
    def words(self) -> tuple[str, ...]:
        """All that it knows."""
        return (*self.needs, *self.may)


@dataclass(frozen=True)
class Taking:
    """How the figure of one key is worked out.

    Attributes
    ----------
    unit : str
        Of bare figures: the file's, or "°".
    forms : tuple of Form
        Inline tables that the key can have.
    wheel : Taken or None
        Diameter of the driving wheels, mm, where it is given.
    """

    unit: str
    forms: tuple[Form, ...]
    wheel: Taken | None = None
    _numbers: Any = field(default_factory=count)

    @property
    def _wanted(self) -> str:
        """What the key's figure is, in words."""
        return "an angle, in degrees" if self.unit == DEGREE else "a length"

    def source(self) -> Source:
        """A name for a source of doubt not named before."""
        return int(next(self._numbers))

    def taken(self, value: Any) -> Any:
        """What a value says, taken or worked out; None where it is a plain figure (or nothing that can be read)."""
        if isinstance(value, str):
            return None if self._plain(value) else sum_in(value, self.unit, self.source)
        if isinstance(value, list):
            return self.mean(value)
        return self.form(value) if isinstance(value, dict) else None

    def _plain(self, text: str) -> bool:
        """Whether a text is one length: ``1 - 5/16 in`` always was, so it is no difference."""
        if self.unit == DEGREE:
            return False
        try:
            exact_length(text, self.unit)
        except LengthError:
            return False
        return True

    def figure(self, value: Any, word: str, depth: int = 0) -> Taken:
        """A figure within a form: plain, a sum, takings or a form of its own."""
        try:
            found = self.taken(value) if depth < _DEEPEST else None
            if found is not None and not isinstance(found, Taken):
                raise FigureFault("an angle is no length", "give the length that was read")
            plain = self.exact(value) if found is None else Fraction(found.exact)
            if abs(plain) > MOST:
                raise FigureFault(f"{said(value, self.unit)} is no figure of an engine", "is its unit right?")
            return Taken(plain) if found is None else found
        except FigureFault as fault:
            raise fault.inside(word) from None
        except (LengthError, OverflowError) as error:
            such = "an angle such as 2.5" if self.unit == DEGREE else "a length such as 33.3 mm or 1 5/16 in"
            raise FigureFault(str(error), f"give {such}", (word,)) from None

    def exact(self, value: Any) -> Fraction:
        """A plain figure."""
        if isinstance(value, dict | list | bool):
            raise LengthError(f"{shown(value)} is not a figure")
        if self.unit != DEGREE:
            return exact_length(value, self.unit)
        text = str(value).replace(DEGREE, "").strip() if isinstance(value, str) else value
        try:
            return Fraction(text if isinstance(text, str) else repr(text))
        except (ValueError, ZeroDivisionError, OverflowError):
            raise LengthError(f"{shown(value)} is not a plain number of degrees") from None

    def some(self, value: Any, word: str, most: int) -> list[Taken]:
        """One figure, or a list of as many as there may be."""
        given = value if isinstance(value, list) else [value]
        if not 1 <= len(given) <= most:
            raise FigureFault(f"{len(given)} figures are given", f"give one figure, or up to {most} in a list", (word,))
        return [self.figure(each, word) for each in given]

    def sized(self, value: Any, word: str) -> Taken:
        """A figure that must be more than nothing."""
        found = self.figure(value, word)
        if not found.exact > 0:
            raise FigureFault(f"{said(value, self.unit)} is no size; more than nothing is wanted",
                              "look at the figure", (word,))  # fmt: skip
        return found

    def plain(self, value: Any, word: str) -> Fraction:
        """A figure that has no doubt of its own."""
        found = self.figure(value, word)
        if found.parts:
            raise FigureFault(
                f"{said(value, self.unit)} has a doubt of its own", f"give it beside, as {DOUBT}", (word,)
            )
        return Fraction(found.exact)

    def mean(self, takings: list[Any], doubt: Any = None, inner: tuple[str, ...] = ()) -> Taken:
        """The mean of takings, their scatter, and the gauge's own doubt."""
        if len(takings) < 2:
            told = "one taking in a list" if takings else "an empty list"
            remedy = "give two takings or more, or the figure without brackets"
            raise FigureFault(f"{told} is not {self._wanted}", remedy, inner)
        known = [self._taking(value, i, inner) for i, value in enumerate(takings)]
        if len({taking.exact for taking in known}) == 1 and doubt is None and not any(t.parts for t in known):
            return Taken(known[0].exact, {}, f"{len(known)} takings alike")
        if doubt is not None:
            if any(taking.parts for taking in known):
                raise FigureFault("the gauge's doubt is given twice", f"keep {DOUBT}, or ± in each taking", (DOUBT,))
            own = self.doubt(doubt)
            known = [Taken.within(taking.exact, own, self.source()) for taking in known]
        found = mean_of(known, self.source)
        return Taken(found.exact, found.parts, f"mean of {len(known)} takings")

    def _taking(self, value: Any, number: int, inner: tuple[str, ...]) -> Taken:
        if isinstance(value, dict | list):
            remedy = "write each taking as one figure, such as 33.3 mm"
            raise FigureFault(f"taking {number + 1} is {shown(value)}, not {self._wanted}", remedy, inner)
        try:
            return self.figure(value, "it")
        except FigureFault as fault:
            told = f"taking {number + 1}: {fault.problem}"
            raise FigureFault(told, fault.remedy, inner) from None

    def doubt(self, value: Any) -> Fraction:
        """A doubt given beside."""
        found = self.plain(value, DOUBT)
        if not found > 0:
            raise FigureFault(
                f"{said(value, self.unit)} is no doubt", "give more than nothing, or leave it out", (DOUBT,)
            )
        return found

    def form(self, table: Mapping[str, Any]) -> Any:
        """What an inline table says."""
        form = self._form_of(table)
        for word in table:
            if word not in (*form.words, ADD):
                elsewhere = any(word in other.words for other in self.forms)
                told = f"does not go with {form.needs[0]}" if elsewhere else "unknown"
                raise FigureFault(told, nearest(word, [w for w in (*form.words, ADD) if w not in table]), (word,))
        for word in form.needs:
            if word not in table:
                raise FigureFault(f"{word} is missing", f"give {word} beside {form.needs[0]}")
        found = form.work(self, table)
        if ADD not in table:
            return found
        if not isinstance(found, Taken):
            raise FigureFault("nothing is added to an angle", "leave it out", (ADD,))
        more = self.figure(table[ADD], ADD)
        whole = found.exact + more.exact
        return added([(1.0, found), (1.0, more)], whole, f"{found.how}, and {said(table[ADD], self.unit)}")

    def _form_of(self, table: Mapping[str, Any]) -> Form:
        for form in self.forms:
            if form.needs[0] in table:
                return form
        for form in self.forms:
            if any(word in table for word in form.needs):
                raise FigureFault(f"{form.needs[0]} is missing", f"give {form.needs[0]} beside {form.needs[-1]}")
        known = [word for form in self.forms for word in form.words]
        word = next(iter(table), "")
        for own in table:
            if own not in known and get_close_matches(own[:_LONGEST], known, n=1, cutoff=0.6):
                raise FigureFault("unknown", nearest(own, known), (own,))
        if not word:
            raise FigureFault(f"an empty table is not {self._wanted}", f"known here: {', '.join(dict.fromkeys(known))}")
        other = next((own for own in table if own in known), word)
        if other != word or word in known:
            first = next(form for form in self.forms if other in form.words).needs[0]
            raise FigureFault(f"{other} alone is not {self._wanted}", f"give {first} beside {other}", (other,))
        remedy = _ELSEWHERE.get(word) or nearest(word, list(dict.fromkeys(known)))
        raise FigureFault(f"unknown: a table with {word!r} is not {self._wanted}", remedy, (word,))


def said(value: Any, unit: str) -> str:
    """A figure as it was written, bare numbers with their unit."""
    if isinstance(value, list):
        return " and ".join(said(each, unit) for each in value)
    if isinstance(value, dict):
        return ", ".join(f"{word} {said(each, unit)}" for word, each in value.items())
    if isinstance(value, str) and any(sign.isalpha() or sign in "\"'°″”′’" for sign in value):
        return " ".join(value.split())
    return f"{value}{'' if unit == DEGREE else ' '}{unit}"


def words_of(forms: Iterable[Form]) -> list[str]:
    """Every word that forms know."""
    return list(dict.fromkeys(word for form in forms for word in (*form.words, ADD)))
