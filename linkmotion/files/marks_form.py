"""A file of wheel marks to be filled in, for ``linkmotion tram``."""

from __future__ import annotations

from linkmotion.files.readings_method import NOT_NOTED
from linkmotion.valve import ENDS

_PAIRS = 2  # of each end


_HEAD = """\
[tram]
unit = "{unit}"
tyre_diameter = "?"
# mark = "?"
# crosshead = "?"
# play = "?"
# play_within = "?"
"""
_PAIR = """
[[pair]]
end = "{end}"
marks = ["?", "?"]
turned = "{turned}"
"""


def marks_form(unit: str) -> str:
    """Text of the file, with a "?" for each figure to be read; what need not be given stands behind a #.

    Parameters
    ----------
    unit : str
        Of bare lengths.
    """
    return _HEAD.format(unit=unit) + "".join(pair_form(end) for end in ENDS for _ in range(_PAIRS))


def pair_form(end: str) -> str:
    """Text of one more pair, to be filled in; how the wheel was turned to it is not noted until somebody says so.

    Parameters
    ----------
    end : str
        "front" or "back": about which dead centre.
    """
    return _PAIR.format(end=end, turned=NOT_NOTED)
