"""What a line chart holds: axes, series, marks, levels and zones, in the units that are shown."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

ScaleKind = Literal["linear", "log", "bands"]
Style = Literal["main", "plain", "quiet", "dashed"]


@dataclass(frozen=True)
class Axis:
    """One axis.

    ``low`` and ``high`` fix the ends; left out, they follow from what is drawn. ``ticks`` are pairs of value
    and label in place of round numbers. ``second`` is another unit for the same axis: its name, a factor and
    an offset (shown value times factor plus offset); it stands on the other side of the chart. On ``bands``
    every value that occurs gets the same room, in ascending order.
    """

    label: str
    unit: str = ""
    low: float | None = None
    high: float | None = None
    scale: ScaleKind = "linear"
    ticks: tuple[tuple[float, str], ...] | None = None
    second: tuple[str, float, float] | None = None


@dataclass(frozen=True)
class Series:
    """A line through points, broken where a number is missing (NaN or infinite).

    With ``band_to`` the room between ``y`` and it is filled. What decides is ``main``, what is compared with
    it ``plain``, what only helps to read ``quiet``, what is not measured or not built ``dashed``.
    """

    name: str
    x: tuple[float, ...]
    y: tuple[float, ...]
    style: Style = "plain"
    band_to: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        """Refuse a series whose columns are not of one length."""
        lengths = {len(self.x), len(self.y), len(self.y if self.band_to is None else self.band_to)}
        if len(lengths) > 1:
            raise ValueError(f"series {self.name!r}: x, y and band_to must have one length, not {lengths}")


@dataclass(frozen=True)
class Mark:
    """A named point: the job's own."""

    name: str
    x: float
    y: float


@dataclass(frozen=True)
class Level:
    """A named thin line at one value of an axis: a limit, a mean."""

    name: str
    value: float
    axis: Literal["x", "y"] = "y"


@dataclass(frozen=True)
class Zone:
    """A named, shaded part of the x axis: a layer."""

    name: str
    low: float
    high: float


@dataclass(frozen=True)
class Chart:
    """A line chart."""

    title: str
    x: Axis
    y: Axis
    series: tuple[Series, ...]
    marks: tuple[Mark, ...] = ()
    levels: tuple[Level, ...] = ()
    zones: tuple[Zone, ...] = ()
    note: str = ""
