r"""A fitter's sum: lengths (or angles) added and taken off, halved and doubled, with doubts.

==========================================  ================================================================
written                                     meaning
==========================================  ================================================================
``680 mm - 400 mm``                         terms with their units; or all without, in the unit of the file
``1210 mm - 1372 mm / 2``, ``2 * 40 mm``    times or by a plain number
``769.2 ± 0.3 mm``, ``30 in +- 5 thou``     a doubt, right 19 times in 20, of the length before it
``(12 in + 3/8 in) / 2``                    brackets
==========================================  ================================================================

No names, no powers, no length times a length. Values stay exact fractions.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from linkmotion.files.faults import nearest
from linkmotion.files.figure_fault import FigureFault
from linkmotion.files.lengths import AMOUNT, UNIT_SPELLINGS, UNITS, LengthError, exact_amount, exact_length, typed
from linkmotion.measuring.taken import Source, Taken, added

DEGREE = "°"
_LONGEST, _DEEPEST = 200, 12
MOST = 10**12  # mm or degrees
_INCHES = r"(?:\"|inches|inch|in\b\.?)"
_TOKEN = re.compile(
    rf"""\s*(?:
      (?P<length>[0-9]+\s*(?:'|feet|foot|ft\.?)(?:\s*-\s*|\s*)(?:{AMOUNT})\s*{_INCHES})
    | (?P<amount>{AMOUNT})\s*(?P<unit>['"°]|[^\W\d_]+\.?)?
    | (?P<sign>[-+*/()±])
    )""",
    re.VERBOSE,
)
_SUM = re.compile(r"[±*()]|(?<=[^\s(])\s*\+|(?<=[\w\"'°.)])\s*[-/]\s*(?=[\d.(±]|$)")
_FORMS = "write a sum like 680 mm - 400 mm, 1210 mm - 1372 mm / 2 or 769.2 ± 0.3 mm"


def sum_in(text: str, unit: str, source: Callable[[], Source]) -> Taken | None:
    """What a text says as a sum or with a doubt; None where it has no sign of either.

    Parameters
    ----------
    text : str
        As written.
    unit : str
        Of bare figures: a unit of length, or "°".
    source : callable
        A name for a source of doubt not named before.

    Raises
    ------
    FigureFault
        It cannot be worked out.

    Examples
    --------
    >>> sum_in("1210 mm - 1372 mm / 2", "in", object).value
    524.0
    >>> found = sum_in("769.2 ± 0.3 mm - 400 ± 0.4 mm", "in", object)
    >>> round(found.value, 9), round(found.doubt, 9)
    (369.2, 0.5)
    >>> sum_in("1 5/16 in", "in", object) is None
    True
    """
    read = text.strip()
    plain = re.sub(r"(?<=[\d\s])[x×·](?=[\s\d(])", "*", typed(read)).replace("÷", "/")
    plain = re.sub(r"\+/?-", "±", plain)
    if not _SUM.search(plain[1:] if plain[:1] in ("+", "-") else plain) or "," in plain:
        return None
    if len(read) > _LONGEST:
        raise FigureFault(f"a sum of {len(read)} characters is too long", "write fewer terms")
    found = _Sum(read, list(_tokens(plain, read, unit)), unit, source).worked()
    if found is not None and abs(Fraction(found.exact)) > MOST:
        raise _too_much(read)
    return None if found is None else added([(1.0, found)], found.exact, " ".join(re.sub(r"\+/?-", "±", read).split()))


def _too_much(read: str) -> FigureFault:
    return FigureFault(f"{read!r} comes to no length or angle of an engine", "is a unit or a figure wrong?")


@dataclass(frozen=True)
class _Value:
    """A number without a unit, or a length in mm (an angle in degrees)."""

    taken: Taken
    named: bool
    fraction: bool = False  # a fraction without a unit in it: of what, in a file of millimetres?


@dataclass(frozen=True)
class _Token:
    text: str
    value: _Value | None = None
    bare: Fraction | None = None  # its amount without the unit


def _tokens(plain: str, read: str, unit: str) -> Iterator[_Token]:
    at, end = 0, len(plain.rstrip())
    while at < end:
        found = _TOKEN.match(plain, at)
        if found is None:
            rest = plain[at:].strip()
            raise FigureFault(f"{read!r} cannot be worked out at {rest[:12]!r}", _FORMS)
        at = found.end()
        if found["sign"]:
            yield _Token(found["sign"])
            continue
        if re.search(r"\s-\s", found["length"] or found["amount"]):
            told = found[0].strip()
            raise FigureFault(
                f"is {told!r} one length, or a difference?", "join it without spaces, or give both terms their units"
            )
        token = _token(found, unit)
        assert token.value is not None
        if Fraction(token.value.taken.exact) > MOST:
            raise _too_much(read)
        yield token


def _token(found: re.Match[str], unit: str) -> _Token:
    """A figure with or without its unit."""
    text = found[0].strip()
    try:
        written = found["unit"] or ("in" if found["length"] else "")
        if written and (written == DEGREE) != (unit == DEGREE):
            wanted = "a plain number of degrees" if unit == DEGREE else "a length"
            raise FigureFault(f"{text!r} is not {wanted}", "take out the unit: it is none of this figure's")
        if found["length"]:
            return _Token(text, _Value(Taken(exact_length(text, unit)), True))
        amount = exact_amount(found["amount"])
        if written in ("", DEGREE):
            return _Token(text, _Value(Taken(amount), False, "/" in found["amount"]), amount)
        if found["unit"] not in UNIT_SPELLINGS:
            raise FigureFault(f"{text!r} is not a length", f"unknown unit: {nearest(found['unit'], list(UNITS))}")
        return _Token(text, _Value(Taken(exact_length(text, unit)), True), amount)
    except LengthError as error:
        raise FigureFault(str(error), _FORMS) from None
    except ZeroDivisionError:
        raise FigureFault(f"{text!r} has a fraction over 0", _FORMS) from None


@dataclass
class _Sum:
    """A text being worked out, from left to right."""

    read: str
    tokens: list[_Token]
    unit: str
    source: Callable[[], Source]
    at: int = 0
    depth: int = 0

    def worked(self) -> Taken | None:
        signed = len(self.tokens) == 2 and self.tokens[0].text in ("+", "-")
        if self.tokens[-1:] and self.tokens[-1].value is not None and (signed or len(self.tokens) == 1):
            return None  # one plain length
        found = self._terms()
        if self.at < len(self.tokens):
            left = self.tokens[self.at].text
            raise self._fault("a bracket is closed that was not opened" if left == ")" else f"no sign before {left!r}")
        if found.named or self.unit == DEGREE:
            return found.taken
        if found.fraction and self.unit in ("mm", "thou"):
            raise FigureFault(f"{self.read!r} has a fraction of what?", "give each term its unit, such as in")
        return _times(found.taken, UNITS[self.unit])

    def _fault(self, problem: str) -> FigureFault:
        return FigureFault(f"{self.read!r} cannot be worked out: {problem}", _FORMS)

    def _next(self) -> str:
        return self.tokens[self.at].text if self.at < len(self.tokens) else ""

    def _take(self, signs: str) -> str:
        """Step over a sign if one of these comes next."""
        found = self._next()
        if found and found in signs and self.tokens[self.at].value is None:
            self.at += 1
            return found
        return ""

    def _terms(self) -> _Value:
        negative = self._take("+-") == "-"
        found = self._products()
        if negative:
            found = _Value(_times(found.taken, Fraction(-1)), found.named, found.fraction)
        while sign := self._take("+-"):
            own = self._products()
            if own.named != found.named:
                raise self._fault("one term has a unit and another has none")
            factor = 1 if sign == "+" else -1
            whole = Fraction(found.taken.exact) + factor * Fraction(own.taken.exact)
            both = added([(1.0, found.taken), (float(factor), own.taken)], whole)
            found = _Value(both, found.named, found.fraction or own.fraction)
        return found

    def _products(self) -> _Value:
        found = self._figure()
        while sign := self._take("*/"):
            if sign == "/" and "/" in self._next():  # a / b / c: by c once more, or by a fraction?
                raise self._fault("it is divided by a fraction; divide once")
            own = self._figure()
            if own.named and (sign == "/" or found.named):
                raise self._fault("a length is multiplied and divided by plain numbers only")
            number, length = (found, own) if own.named or own.taken.parts else (own, found)
            if number.taken.parts:
                raise self._fault("a length is multiplied and divided by plain numbers only, and these have no doubt")
            factor = Fraction(number.taken.exact)
            if sign == "/":
                if number is not own:
                    raise self._fault("it is divided by plain numbers only, and these have no doubt")
                if not factor:
                    raise self._fault("it is divided by nothing")
                factor = 1 / factor
            if factor * Fraction(length.taken.exact) > MOST:
                raise _too_much(self.read)
            whole = length.named or self.unit == DEGREE
            fraction = not whole and (found.fraction or own.fraction)
            found = _Value(_times(length.taken, factor), length.named, fraction)
        return found

    def _figure(self) -> _Value:
        if self._take("("):
            self.depth += 1
            if self.depth > _DEEPEST:
                raise self._fault("brackets are too deep")
            found = self._terms()
            if not self._take(")"):
                raise self._fault("a bracket is left open")
            self.depth -= 1
            return self._doubted(found, None)
        if self.at >= len(self.tokens) or self.tokens[self.at].value is None:
            sign = self._next()
            raise self._fault(f"a figure is missing before {sign!r}" if sign else "a figure is missing at its end")
        token = self.tokens[self.at]
        self.at += 1
        assert token.value is not None
        return self._doubted(token.value, token.bare)

    def _doubted(self, found: _Value, bare: Fraction | None) -> _Value:
        """A figure with the doubt that follows it, if one does; a unit after the doubt is the figure's too."""
        if not self._take("±"):
            return found
        if self.at >= len(self.tokens) or self.tokens[self.at].value is None:
            raise self._fault("no figure after ±" if self._next() != "-" else "a doubt is no less than nothing")
        token = self.tokens[self.at]
        self.at += 1
        own = token.value
        assert own is not None
        if found.named and not own.named:
            raise self._fault("the doubt has no unit")
        exact, named = Fraction(found.taken.exact), own.named
        if own.named and not found.named:
            if bare is None or found.taken.parts or not token.bare:
                raise self._fault("the figure before ± has no unit")
            exact *= Fraction(own.taken.exact) / token.bare  # of the doubt's unit
        if own.taken.exact == 0:
            raise FigureFault(f"{self.read!r} has a doubt of nothing", "give the doubt, or leave out ±")
        more = Taken.within(Fraction(0), own.taken.exact, self.source())
        return _Value(added([(1.0, found.taken), (1.0, more)], exact), named, found.fraction and not named)


def _times(taken: Taken, factor: Fraction) -> Taken:
    return added([(float(factor), taken)], Fraction(taken.exact) * factor)
