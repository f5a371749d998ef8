"""Telling how far a search is, and stopping it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace


@dataclass(frozen=True)
class Progress:
    """How far a search is.

    ``best`` is the cost of the best complete layout so far, None before there is one; ``least`` is the cost
    that any layout has at least. Both in the unit of the prices.
    """

    areas: int
    areas_laid: int = 0
    tried: int = 0  # layouts of single areas and of all together
    best: float | None = None
    least: float = 0.0


class Watch:
    """Passes on progress, and remembers that the search was told to stop."""

    def __init__(self, progress: Callable[[Progress], bool | None] | None, areas: int) -> None:
        self._progress = progress
        self._state = Progress(areas)
        self.stopped = False

    def tell(self, **change: float | None) -> None:
        """Note what changed, and pass it on."""
        if self._progress is None:
            return
        self._state = replace(self._state, **change)  # type: ignore[arg-type]
        if self._progress(self._state) is False:
            self.stopped = True

    def count(self) -> None:
        """One more layout was tried."""
        self.tell(tried=self._state.tried + 1)
