"""A file of wheel marks to be filled in, for ``linkmotion tram``."""

from __future__ import annotations

from linkmotion.files.lengths import UNIT_NAMES
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


_WORDS = """\
# Wheel marks for linkmotion tram. Put what was measured in place of each "?", and take the # from the lines of what
# else was measured. Bare lengths are {unit_name}.
# tyre_diameter: where the marks are made. mark: a mark is right within this. crosshead: the crosshead comes back to its
#   line within this. play: free movement of the crosshead, wheel held; play_within: how near that is.
# marks: along the tyre from one datum mark, in the order in which they come running forward. turned, to both of a pair:
#   "forward", "backward", "toward" (each come up to moving toward the dead centre), or "not noted".

"""


def marks_file(unit: str) -> str:
    """Text of the form with a word on every key, for whoever has the file alone.

    Parameters
    ----------
    unit : str
        Of bare lengths.
    """
    return _WORDS.format(unit_name=UNIT_NAMES[unit]) + marks_form(unit)


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
