"""What was changed, and when? Every change by the day, and the way back."""

from __future__ import annotations

from linkmotion.bench.screen import Answered, Asked, Screen
from linkmotion.views.printout import Answer


def answer(asked: Asked) -> Answered:
    """Changes by the day, the latest first; each can be gone back to."""
    journal = asked.work.kept.journal
    count = sum(change.number > 0 for change in journal.changes)
    words = f"{count} change{'s' * (count != 1)} at hand" if count else "Nothing has been changed on the bench yet"
    return Answered((Answer(f"{words}."),), {"days": list(journal.days())})


SCREEN = Screen(
    "history",
    "History",
    "What was changed, and when?",
    answer,
    place=90,
    chooses=(),
    template="history.html",
)
