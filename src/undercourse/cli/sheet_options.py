"""The sheet, the rolls and the rules for laying them, as the options of a command give them."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from undercourse.base.problems import Problem, Problems

_OPTIONS = {
    "width_m": "--roll-width",
    "seam_gap_m": "--seam-gap",
    "edge_gap_m": "--edge-gap",
    "smallest_piece_m": "--smallest-piece",
    "least_width_m": "--smallest-width",
    "stagger_m": "--stagger",
    "trim_m": "--trim",
    "line_clear_m": "--line-clear",
    "keep_offcut_m": "--keep-offcut",
}
EFFORTS = ("quick", "normal", "thorough")


@dataclass(frozen=True)
class SheetOptions:
    """What was written behind the options, as written."""

    sizes: dict[str, str]  # lengths by option, empty where not given
    roll_lengths: Sequence[str]
    roll_prices: Sequence[float]
    part_rolls: Sequence[str]
    head_joints: bool
    one_way: bool
    seam_cost: float | None
    cut_cost: float | None


def read_sheet(options: SheetOptions) -> Any:
    """The sheet that the options describe.

    Raises
    ------
    Problems
        Everything in the options that cannot be read.
    """
    from undercourse.layout import PartRoll, Sheet, check_sheet

    problems: list[Problem] = []
    sizes = {name: _length(name, text, problems) for name, text in options.sizes.items() if text}
    lengths = [_length("--roll-length", text, problems) for text in options.roll_lengths]
    parts = []
    for text in options.part_rolls:
        size, _, price = text.partition("@")
        try:
            paid = float(price or 0)
        except ValueError:
            problems.append(Problem("--part-roll", f"{price!r} is no price", 'write it as "3.2 m@12.50"'))
            continue
        parts.append(PartRoll(_length("--part-roll", size, problems), paid))
    if options.roll_prices and len(options.roll_prices) != len(lengths):
        what = f"{len(options.roll_prices)} prices for {len(lengths)} roll lengths"
        problems.append(Problem("--roll-price", what, "give one price for each roll length, in their order"))
    if problems:
        raise Problems(problems)
    rolls = sorted(dict(zip(lengths, options.roll_prices or [0.0] * len(lengths), strict=True)).items())
    costs = {"seam_cost_m": options.seam_cost, "cut_cost": options.cut_cost}
    named = {**{name: sizes.get(option) for name, option in _OPTIONS.items() if name != "width_m"}, **costs}
    sheet = Sheet(
        sizes["--roll-width"],
        tuple(length for length, _ in rolls),
        roll_prices=tuple(price for _, price in rolls) if options.roll_prices else (),
        part_rolls=tuple(parts),
        head_joints_allowed=options.head_joints,
        one_direction=options.one_way,
        **{name: value for name, value in named.items() if value is not None},
    )
    if faults := check_sheet(sheet):
        raise Problems([replace(one, where=_option(one.where)) for one in faults])
    return sheet


def _option(where: str) -> str:
    """The option behind a field of the sheet."""
    name = where.rpartition(".")[2]
    return _OPTIONS.get(name) or f"--{name.removesuffix('_m').removesuffix('s').replace('_', '-')}"


def _length(option: str, text: str, problems: list[Problem]) -> float:
    from undercourse.base.units import UNITS, read_quantity

    text = text.strip()
    sign = -1 if text.startswith("-") else 1
    try:
        # A bare plan is in meters, and so is a plain number beside it.
        return sign * read_quantity(text.lstrip("-"), "length", UNITS["m"])
    except ValueError as error:
        problems.append(Problem(option, str(error), 'write it as "1 m", "2 mm" or "1/8 in"'))
        return 0.0


def read_start(text: str) -> float | None:
    """The start line behind ``--start``, None where there is none. [m]"""
    if not text:
        return None
    problems: list[Problem] = []
    start = _length("--start", text, problems)
    if problems:
        raise Problems(problems)
    return start


def check_effort(effort: str) -> None:
    """Refuse an effort that there is not."""
    if effort not in EFFORTS:
        fix = f"write {', '.join(EFFORTS[:-1])} or {EFFORTS[-1]}"
        raise Problems([Problem("--effort", f"{effort!r} is no effort", fix)])


def time_budget(seconds: float | None) -> Callable[[object], bool] | None:
    """A callable that says to stop when the time is up; None without a limit."""
    if seconds is None:
        return None
    if not seconds >= 0:
        raise Problems([Problem("--seconds", f"{seconds} is no time", "give seconds of 0 or more")])
    end = time.monotonic() + seconds
    return lambda _: time.monotonic() < end
