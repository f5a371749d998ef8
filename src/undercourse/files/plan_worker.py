"""The process that reads a plan or lays areas apart from the server, so that it can be stopped.

It reads one JSON line of orders (and, for a plan, the file's bytes after it) from standard input, and writes
JSON lines: ``plan``, ``layout``, ``marks``, ``laid`` of so many areas,
``alternatives`` or ``problems``.
"""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Sequence
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from undercourse.base.problems import Problem, Problems

if TYPE_CHECKING:
    from undercourse.layout.watching import Progress

MOST_MEMORY = 3_000_000_000
"""A reader that asks for more is ended by the system. [byte]"""

EVERY_S = 0.5
"""Improvements are told no more often. [s]"""


def orders_of(
    areas: Sequence[Any], sheet: Any, held: dict[str, Any], keep_off: dict[str, Any], efforts: Sequence[str]
) -> dict[str, Any]:
    """The orders for laying, as plain data."""
    from undercourse.files.areas import rings_of

    return {
        "areas": [[area.name, *rings_of(area.polygon), area.doors] for area in areas],
        "sheet": asdict(sheet),
        "held": {name: asdict(one) for name, one in held.items()},
        "keep_off": keep_off,
        "efforts": list(efforts),
    }


def _tell(**data: Any) -> None:
    print(json.dumps(data, separators=(",", ":")), flush=True)


def read_document(data: bytes, file: str, layers: Sequence[str] = (), unit: str = "") -> dict[str, Any]:
    """A plan as ``layout --list --json`` tells it, and the pairs of areas that overlap.

    Raises
    ------
    Problems
        When it cannot be read.
    """
    from undercourse.files.plan_parts import PlanOptions
    from undercourse.files.plan_telling import plan_document
    from undercourse.files.plans import read_plan_bytes

    plan = read_plan_bytes(data, file, PlanOptions(tuple(layers), unit))
    return {**plan_document(plan), "overlaps": [[one, other] for one, other, _ in plan.overlaps]}


def _lay(orders: dict[str, Any]) -> None:
    from undercourse.files.plan_laying import Held, compare_chosen, divide_fields, lay_chosen
    from undercourse.files.plan_parts import PlanArea
    from undercourse.layout import PartRoll, Sheet, make_outline

    areas = [
        PlanArea(name, make_outline(outline, holes), doors=tuple(map(_line, doors)))
        for name, outline, holes, doors in orders["areas"]
    ]
    given: dict[str, Any] = {
        key: tuple(value) if isinstance(value, list) else value for key, value in orders["sheet"].items()
    }
    given["part_rolls"] = tuple(PartRoll(**one) for one in given["part_rolls"])
    sheet = Sheet(**given)
    held = {name: Held(**one) for name, one in orders["held"].items()}
    least = float("inf")
    progress = _Progress(orders["seconds"])
    for effort in orders["efforts"]:
        if progress.over:
            break
        document = lay_chosen(areas, sheet, held, effort, keep_off=orders["keep_off"], progress=progress)
        covered = -len(document["uncovered"])
        if (rank := document["objective"] - 1e9 * covered) < least - 1e-9:
            least = rank
            _tell(layout=document, effort=effort)
        else:
            _tell(effort=effort)
    if orders.get("compare"):
        _tell(alternatives=compare_chosen(areas, sheet, held, orders["keep_off"], progress))
    if progress.over:
        _tell(over=True)
    if orders.get("longest_m"):
        _tell(marks=divide_fields(areas, orders["longest_m"]))


def _line(points: Any) -> Any:
    return tuple((float(x), float(y)) for x, y in points)


class _Progress:
    """Tells how far a search is, now and then, and ends it in time for its best to be told."""

    def __init__(self, seconds: float) -> None:
        self.last = 0.0
        self.end = time.monotonic() + seconds

    @property
    def over(self) -> bool:
        """Whether the time is used up."""
        return time.monotonic() >= self.end

    def __call__(self, at: Progress) -> bool:
        """One report of the search; False ends it with the best so far."""
        now = time.monotonic()
        if now - self.last >= EVERY_S:
            self.last = now
            _tell(laid=at.areas_laid, of=at.areas)
        return not self.over


def main() -> int:
    """Do what standard input orders; problems are told, faults of the program end it."""
    try:
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    except (ImportError, ValueError, OSError):
        pass  # not on every system, and a lower limit may be set already
    # What libraries print of their own accord must not stand between what is told.
    own = os.dup(1)
    os.dup2(2, 1)
    sys.stdout = os.fdopen(own, "w", encoding="utf-8")
    source = sys.stdin.buffer
    orders = json.loads(source.readline())
    try:
        if orders["do"] == "read":
            _tell(plan=read_document(source.read(), orders["file"], orders["layers"], orders["unit"]))
        else:
            _lay(orders)
    except Problems as error:
        _tell(problems=[[p.where, p.what, p.fix] for p in error.problems])
    except MemoryError:
        _tell(
            problems=[["the plan", "it takes more memory than there is for it", "save one storey by itself"]]
        )
    return 0


def problems_in(told: Any) -> Problems:
    """The problems that the process told."""
    return Problems([Problem(*(str(text) for text in one)) for one in told])


if __name__ == "__main__":
    sys.exit(main())
