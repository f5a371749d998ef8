"""Scales of a chart: how far an axis runs, where a value lies on it, which round numbers stand beside it."""

from __future__ import annotations

import itertools
import math
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass

from undercourse.drawings.chart_parts import Axis, ScaleKind
from undercourse.drawings.measures import plain_number

LARGEST = 1e12  # nothing on a floor is larger in any unit; beyond it a value counts as missing
Tick = tuple[float, str]


def is_number(value: float, log: bool = False) -> bool:
    """Whether a value can be drawn at all, on a logarithmic scale if ``log``."""
    return math.isfinite(value) and abs(value) <= LARGEST and not (log and value < 1 / LARGEST)


def number_text(value: float, digits: int = 3) -> str:
    """A number to ``digits`` figures with thousands apart, never with an exponent."""
    text = f"{value:,.0f}" if abs(value) >= 999.5 else plain_number(value, digits)
    return text.replace("-", "−")


def _fixed_text(value: float, places: int) -> str:
    text = f"{value:,.{places}f}" if value else "0"
    return text.replace("-", "−")


@dataclass(frozen=True)
class Scale:
    """Where values lie along an axis, as a share of its length from 0 to 1."""

    kind: ScaleKind
    low: float
    high: float
    bands: tuple[float, ...] = ()

    def share(self, value: float) -> float:
        """Share of the axis, NaN where the value has no place on it; may lie outside 0 to 1."""
        if not is_number(value, self.kind == "log"):
            return math.nan
        if self.kind == "bands":
            return self._band_share(value)
        if self.kind == "log":
            return math.log(value / self.low) / math.log(self.high / self.low)
        return (value - self.low) / (self.high - self.low)

    def _band_share(self, value: float) -> float:
        count = len(self.bands)
        if not count or not self.bands[0] <= value <= self.bands[-1]:
            return math.nan
        rank = min(bisect_right(self.bands, value) - 1, count - 1)
        rest = 0.0
        if rank < count - 1:
            rest = (value - self.bands[rank]) / (self.bands[rank + 1] - self.bands[rank])
        return (rank + 0.5 + rest) / count


def nice_step(span: float, most: int) -> float:
    """The smallest step of 1, 2 or 5 times a power of ten of which at most ``most`` fit; also 25, 250 ..."""
    power = math.floor(math.log10(span / most)) - 1
    for exponent in itertools.count(power):
        for step in (1, 2, 2.5, 5) if exponent >= 1 else (1, 2, 5):
            if span / (step * 10.0**exponent) <= most * (1 + 1e-9):
                return float(step * 10.0**exponent)
    raise AssertionError  # a larger power of ten always fits


def step_places(step: float) -> int:
    """Decimal places that tell multiples of the step apart."""
    return max(0, -math.floor(math.log10(step) + 1e-9))


def linear_ticks(low: float, high: float, most: int) -> list[Tick]:
    """Round numbers from ``low`` to ``high``: at most ``most`` steps, more where that gives only one."""
    for steps in itertools.count(most):
        step = nice_step(high - low, steps)
        first, last = math.ceil(low / step - 1e-6), math.floor(high / step + 1e-6)
        if last > first:
            break
    places = step_places(step)
    values = [round(number * step, places) for number in range(first, last + 1)]
    return [(value, _fixed_text(value, places)) for value in values]


def log_ticks(low: float, high: float, most: int) -> list[Tick]:
    """Powers of ten with their double and fivefold as far as ``most`` allows; linear below a factor of 5."""
    if high / low < 5:
        return [tick for tick in linear_ticks(low, high, most) if tick[0] > 0]
    first, last = math.floor(math.log10(low) + 1e-9), math.ceil(math.log10(high) - 1e-9)
    slack = 1 + 1e-9
    families = [(1, 2, 5), (1, 3), (1,)]
    for family in families:
        values = [m * 10.0**p for p in range(first, last + 1) for m in family]
        values = [v for v in values if low / slack <= v <= high * slack]
        if len(values) <= most + 1:
            break
    if len(values) > most + 1:
        values = values[:: math.ceil(len(values) / (most + 1))]
    return [(value, number_text(value, 2)) for value in values]


def fit_scale(axis: Axis, values: Iterable[float], most: int, *, rounded: bool) -> Scale:
    """The scale on which all values fit between the ends that the axis fixes.

    Free ends are ``rounded`` out to whole steps or stay at the data; a free low end becomes zero where the
    data reach below a third of their highest value.
    """
    log = axis.scale == "log"
    usable = [float(v) for v in values if is_number(v, log)]
    if axis.scale == "bands":
        bands = sorted({*usable, *(value for value, _ in axis.ticks or () if is_number(value))})
        return Scale("bands", bands[0] if bands else 0.0, bands[-1] if bands else 1.0, tuple(bands))
    fixed = [v if v is not None and is_number(v, log) else None for v in _ends(axis)]
    low, high = _free_ends(fixed, usable, log)
    if log:
        return _fit_log(low, high, fixed)
    if fixed[0] is None and rounded and 0 < low <= high / 3:
        low = 0.0
    if fixed[1] is None and rounded and low / 3 <= high < 0:
        high = 0.0
    step = 0.0
    while rounded and step != (step := nice_step(high - low, most)):  # rounding out may ask for a larger step
        low = low if fixed[0] is not None else math.floor(low / step + 1e-6) * step
        high = high if fixed[1] is not None else math.ceil(high / step - 1e-6) * step
    return Scale("linear", low, high)


def _ends(axis: Axis) -> tuple[float | None, float | None]:
    if axis.low is not None and axis.high is not None and axis.low > axis.high:
        return axis.high, axis.low
    return axis.low, axis.high


def _free_ends(fixed: list[float | None], usable: list[float], log: bool) -> tuple[float, float]:
    """Low and high ends with some room between them, also for one value or none."""
    low = min(usable, default=1.0 if log else 0.0) if fixed[0] is None else fixed[0]
    high = max(usable, default=10.0 if log else 1.0) if fixed[1] is None else fixed[1]
    if high - low > 1e-9 * max(abs(low), abs(high), 1e-3):
        return low, high
    middle = low if fixed[1] is None else high
    if log:
        return (middle / (1 if fixed[0] is not None else 2), middle * (1 if fixed[1] is not None else 2))
    room = abs(middle) * 0.1 if abs(middle) > 1e-9 else 1.0
    if fixed[0] is not None and fixed[1] is None:
        return middle, middle + room
    if fixed[1] is not None and fixed[0] is None:
        return middle - room, middle
    return (0.0, 1.0) if middle == 0 else (middle - room, middle + room)


def _fit_log(low: float, high: float, fixed: list[float | None]) -> Scale:
    if high <= low:
        low, high = low / 2, low * 2
    return Scale("log", low, high)


def axis_ticks(axis: Axis, scale: Scale, most: int) -> list[Tick]:
    """The ticks that the axis names, else round numbers; only those that lie on the scale."""
    if axis.ticks is not None:
        found = sorted(axis.ticks)
    elif scale.kind == "bands":
        found = [(value, number_text(value, 4)) for value in scale.bands]
    elif scale.kind == "log":
        found = log_ticks(scale.low, scale.high, most)
    else:
        found = linear_ticks(scale.low, scale.high, most)
    return [(value, label) for value, label in found if -1e-6 <= scale.share(value) <= 1 + 1e-6]


def second_ticks(axis: Axis, scale: Scale, most: int) -> list[tuple[float, str]]:
    """Round numbers of the second unit: pairs of value in the first unit and label in the second."""
    if axis.second is None or scale.kind == "bands":
        return []
    _, factor, offset = axis.second
    if not is_number(factor) or not is_number(offset) or factor == 0:
        return []
    low, high = sorted((scale.low * factor + offset, scale.high * factor + offset))
    if not high > low:
        return []
    logs = scale.kind == "log" and low > 0
    ticks = log_ticks(low, high, most) if logs else linear_ticks(low, high, most)
    return [((value - offset) / factor, label) for value, label in ticks]
