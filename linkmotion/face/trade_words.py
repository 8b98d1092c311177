"""The trade's words, as a notebook shows them."""

from __future__ import annotations

from linkmotion.face.names import known
from linkmotion.face.tables import Table
from linkmotion.views.word_list import WORDS


def words(*names: str) -> Table:
    """What words of the trade mean; all of them unless some are named.

    Parameters
    ----------
    *names : str
        Words of the list, such as "lap", "lead".

    Raises
    ------
    UnknownName
        A word that is not in the list; the nearest is told.

    Examples
    --------
    >>> words("lost motion").rows()[0]["meaning"]
    'How far the valve can be pushed and pulled with the wheel held still.'
    """
    wanted = [known("word", name, WORDS) for name in names] or sorted(WORDS)
    return Table("words", {"word": "", "meaning": ""}, tuple({"word": own, "meaning": WORDS[own]} for own in wanted))
