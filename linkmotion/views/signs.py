"""Signs that a terminal may lack, and what stands for them there: one rule for everything that is printed.

Text for reading falls back to plain signs (``×`` to ``x``, ``±`` to ``+/-``, ``é`` to ``e``); data for other programs
keep every letter, written as an escape where the encoding has none. Both are error handlers of :mod:`codecs`, so that
a stream may use them too.
"""

from __future__ import annotations

import codecs
import unicodedata

PLAIN, ESCAPED = "linkmotion-plain", "linkmotion-escaped"
"""Names of the error handlers: for reading, and for JSON and CSV."""

_SIGNS = {
    "°": "deg", "±": "+/-", "×": "x", "÷": "/", "·": "-", "•": "-", "–": "-", "—": "-", "−": "-", "‐": "-", "‑": "-",
    "✗": "!", "✓": "v", "≠": "#", "≤": "<=", "≥": ">=", "≈": "~", "→": "->", "←": "<-", "…": "...", "⁄": "/",
    "‘": "'", "’": "'", "“": '"', "”": '"', "„": '"', "‟": '"', "‚": "'", "′": "'", "″": '"', "«": '"', "»": '"',
    "µ": "u", "μ": "u", "Δ": "D", "α": "alpha", "θ": "theta", "π": "pi", "√": "root ", "∞": "inf", "²": "2", "³": "3",
    "ß": "ss", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ø": "o", "Ø": "O", "ł": "l", "Ł": "L", "đ": "d", "ı": "i",
    "þ": "th", "ð": "d", "€": "EUR", "£": "GBP",
}  # fmt: skip
_LOST = "?"


def plain(sign: str) -> str:
    """One sign in ASCII: an agreed stand-in, else the letter without its accents, else ``?``.

    >>> plain("±"), plain("é"), plain("½"), plain("Ж")
    ('+/-', 'e', '1/2', '?')
    """
    if sign in _SIGNS:
        return _SIGNS[sign]
    parts = (_SIGNS.get(part, part) for part in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(part))
    bare = "".join(parts)
    return bare if bare.isascii() and bare.isprintable() and bare else _LOST


def escaped(sign: str) -> str:
    r"""One sign as JSON escapes it, in two halves where it stands beyond the first 65,536.

    >>> escaped("é"), escaped("𝄞")
    ('\\u00e9', '\\ud834\\udd1e')
    """
    code = ord(sign)
    halves = [code] if code < 0x10000 else [0xD800 + (code - 0x10000 >> 10), 0xDC00 + (code - 0x10000 & 0x3FF)]
    return "".join(f"\\u{half:04x}" for half in halves)


def carried(text: str, encoding: str, rule: str = PLAIN) -> str:
    r"""Text as it comes out of a stream of an encoding.

    Parameters
    ----------
    text, encoding : str
        Any; of the stream.
    rule : str
        :data:`PLAIN` or :data:`ESCAPED`: what stands for letters that the encoding lacks.

    Examples
    --------
    >>> carried("2 × 5 mm ± 0.1", "ascii")
    '2 x 5 mm +/- 0.1'
    >>> carried("Łódź", "cp1252", ESCAPED)
    '\\u0141ód\\u017a'
    """
    return text.encode(encoding, rule).decode(encoding)


def _plain(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(plain, error.object[error.start : error.end])), error.end


def _escaped(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return "".join(map(escaped, error.object[error.start : error.end])), error.end


codecs.register_error(PLAIN, _plain)
codecs.register_error(ESCAPED, _escaped)
