"""What is wrong with a figure as it was taken: told at its own word within an inline table, with a remedy."""

from __future__ import annotations


class FigureFault(ValueError):
    """A figure that cannot be worked out.

    Attributes
    ----------
    problem, remedy : str
        What is wrong; what to do.
    inner : tuple of str
        Words of inline tables (and numbers of entries of lists) that lead to the fault.
    """

    def __init__(self, problem: str, remedy: str, inner: tuple[str, ...] = ()) -> None:
        self.problem, self.remedy, self.inner = problem, remedy, inner
        super().__init__(f"{problem}; {remedy}")

    def inside(self, *words: str) -> FigureFault:
        """The same as seen from further out."""
        return FigureFault(self.problem, self.remedy, (*words, *self.inner))
