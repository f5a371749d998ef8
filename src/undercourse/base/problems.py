"""Problems found in input: where it is, what is wrong, how to mend it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, order=True)
class Problem:
    """One fault in an input.

    ``where`` names file, line and key as far as they are known; ``what`` names the thing
    and its value; ``fix`` says what to write instead.
    """

    where: str
    what: str
    fix: str

    def __str__(self) -> str:
        return f"{self.where}: {self.what}; {self.fix}"


class Problems(Exception):
    """Raised once per input with every problem that one pass found."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))
