"""What a demand is: declared inputs with directions, one pure kernel, a unit and a source."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

import numpy as np

from undercourse.base.columns import Floats, NumberColumn
from undercourse.base.domains import Domain
from undercourse.base.frame import Frame

RAISES = "raises"
LOWERS = "lowers"
CHOICE = "choice"
RATIO, OTHER, ORDINAL, SET = "ratio", "other", "ordinal", "set"

Values = dict[str, Floats]
Kernel = Callable[[Values], tuple[Floats, Values]]


@dataclass(frozen=True)
class Tables:
    """Standard tables and practice tables that kernels look choices up in."""

    joist_stiffness: Mapping[str, Floats]
    panel_stiffness: Mapping[str, tuple[float, float]]
    load_class: Mapping[str, Mapping[str, float]]
    tile_density: Mapping[str, tuple[float, float]]


@dataclass(frozen=True)
class Demand:
    """A number that a floor with a candidate asks of a product or a rule.

    ``reads`` names facts, ``takes`` candidate columns, each with the direction in which it moves
    the demand; facts marked CHOICE act through the named ranges that ``collapse`` returns, whose
    directions stand in ``through``. The kernel sees one corner at a time. ``branches`` joins the
    computed range with what else a choice may make of it (another kind of framing, say).
    ``model_parameter`` names an input whose range no fact can narrow: a verdict counts only where
    both of its ends agree, so a limit is exceeded when it is so at the gentle end too.
    """

    name: str
    domain: Domain
    scale: str
    source: str
    reads: Mapping[str, str]
    takes: Mapping[str, str]
    through: Mapping[str, str]
    kernel: Kernel
    collapse: Callable[[Frame, Tables], dict[str, NumberColumn]]
    reason: str
    model_parameter: str = ""
    branches: Callable[[Frame, NumberColumn], NumberColumn] | None = None
    numbers: tuple[str, ...] = field(init=False, default=())

    def __post_init__(self) -> None:
        named = {**self.reads, **self.takes}
        object.__setattr__(self, "numbers", tuple(n for n, way in named.items() if way != CHOICE))

    def directions(self) -> dict[str, str]:
        """Direction of every number that the kernel sees."""
        named = {**self.reads, **self.takes, **self.through}
        return {name: way for name, way in named.items() if way != CHOICE}

    def corners(self, frame: Frame, tables: Tables) -> tuple[Values, Values]:
        """Inputs at the corner of least and of greatest demand."""
        columns = {}
        for name in self.numbers:
            column = frame[name]
            assert isinstance(column, NumberColumn), name
            columns[name] = column
        columns.update(self.collapse(frame, tables))
        least, most = {}, {}
        for name, way in self.directions().items():
            column = columns[name]
            least[name], most[name] = (
                (column.low, column.high) if way == RAISES else (column.high, column.low)
            )
        return least, most

    def value(self, frame: Frame, tables: Tables, gentle: bool = False) -> NumberColumn:
        """The demand as a range, row by row; ``gentle`` holds the model's own range at its gentle end."""
        least, most = self.corners(frame, tables)
        if gentle and self.model_parameter:
            most = {**most, self.model_parameter: least[self.model_parameter]}
        low, high = self.kernel(least)[0], self.kernel(most)[0]
        computed = NumberColumn(np.atleast_1d(low), np.atleast_1d(high))
        return computed if self.branches is None else self.branches(frame, computed)
