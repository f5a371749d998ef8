"""One place to look up a column and a remembered truth: site facts below, a candidate above."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from undercourse.base.columns import SURE, Bools, Column, Columns, Truth, lies_in, some
from undercourse.base.domains import Domain, Spec


class Frame:
    """Columns of an area table, optionally with a candidate's columns laid over them.

    Terms asked twice are answered once: many rows share conditions. A column must not be set
    after a term on it was asked.
    """

    def __init__(self, columns: Columns, below: Frame | None = None) -> None:
        self.columns = columns
        self.below = below
        self._memo: dict[tuple[str, Spec], Truth] = {}
        self._kept: dict[str, Any] = {}
        self._decided: dict[tuple[str, Spec], tuple[Bools, Bools, int]] = {}

    @property
    def rows(self) -> int:
        """Number of areas."""
        return self.columns.rows

    def owner(self, name: str) -> Frame:
        """The frame that holds a name."""
        if self.below is None or name in self.columns.domains:
            return self
        return self.below.owner(name)

    def holds(self, name: str) -> bool:
        """Whether a name is a column here or below."""
        return name in self.columns.domains or (self.below is not None and self.below.holds(name))

    def domain(self, name: str) -> Domain:
        """The domain of a name."""
        return self.owner(name).columns.domains[name]

    def __getitem__(self, name: str) -> Column:
        return self.owner(name).columns[name]

    def says(self, name: str, spec: Spec) -> Truth:
        """Whether a name's value lies in a set, row by row."""
        owner = self.owner(name)
        key = (name, spec)
        truth = owner._memo.get(key)
        if truth is None:
            decided = owner._decided.get(key)
            if decided is not None:
                may, must, place = decided
                truth = Truth(may[place], must[place])
            else:
                truth = lies_in(owner.columns[name], spec)
            owner._memo[key] = truth
        return truth

    def forget(self) -> None:
        """Drop what is remembered after columns were set."""
        self._memo.clear()
        self._kept.clear()
        self._decided = {}

    def remember(self, decided: dict[tuple[str, Spec], tuple[Bools, Bools, int]]) -> None:
        """Take over terms decided elsewhere: (may, must, row of both)."""
        self._decided = decided

    def keep(self, name: str, key: str, make: Callable[[], Any]) -> Any:
        """What follows from the columns of the frame that holds ``name``, made once under a key."""
        return self.owner(name).keep_here(key, make)

    def keep_here(self, key: str, make: Callable[[], Any]) -> Any:
        """What follows from this frame, made once under a key."""
        if key not in self._kept:
            self._kept[key] = make()
        return self._kept[key]

    def give(self, key: str, value: Any) -> None:
        """Keep something made elsewhere under a key of this frame."""
        self._kept[key] = value

    def all_of(self, terms: tuple[tuple[str, Spec], ...]) -> Truth:
        """Whether every term holds."""
        truth = SURE
        for name, spec in terms:
            truth = truth & self.says(name, spec)
            if not some(truth.may):
                break
        return truth
