"""Waste, bounds and speed of laying, beside plain methods of our own, in one run.

By hand: ``python -m benchmarks.laying``; ``make bench`` runs it with the others. With ``--docs`` the figures
are put into ``docs/laying.md`` too. Times are processor time of one core, so that other work on the machine
counts little; the yardstick is that of ``benchmarks/measuring.py``. Every layout is checked by the validator
of the tests, which shares no code with the program or with the plain methods: a fault would be printed.
"""

from __future__ import annotations

import datetime as dt
import json
import random
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely import Polygon, box, union_all
from shapely.geometry import shape
from tests.layout.layout_validator import faults

from benchmarks.made_rooms import SEED, made_rooms
from benchmarks.measuring import yardstick
from benchmarks.simple_laying import METHODS, document
from undercourse.layout import (
    AreaPlan,
    CableKit,
    CableRules,
    Layout,
    Sheet,
    cable_run,
    lay_out,
    layout_document,
)
from undercourse.layout.cables import free_zone

ROOT = Path(__file__).parents[1]
ROOMS = ROOT / "tests" / "data" / "open" / "rooms.geojson"
PAGE = ROOT / "docs" / "laying.md"
BEGIN, END = "<!-- figures: begin -->\n", "<!-- figures: end -->\n"
SHEET = Sheet(1.0, (30.0,), seam_gap_m=0.004, edge_gap_m=0.006, smallest_piece_m=0.3)
EFFORTS = ("quick", "normal", "thorough")
MADE = 60
GROUPED = 3
INCH = 0.0254
CABLE = CableRules((2.4 * INCH, 3 * INCH))
KITS = [CableKit(f"kit {n}", 8 * 1.03**n, 80 * 1.03**n, 120.0) for n in range(160)]
"""One every 3 % of length, so that it is the floor that is measured and not what is sold."""

LARGEST_HEATED_M2 = 40.0
"""Larger heated zones take several kits, and are left out. [m2]"""


Areas = dict[str, Polygon]


@dataclass(frozen=True)
class Laid:
    """What one method made of one area."""

    consumed_m2: float
    net_m2: float
    seconds: float
    small: bool
    faults: list[str]

    @property
    def waste(self) -> float:
        """Consumption over net area, less one: not a share of what is consumed, which is smaller."""
        return self.consumed_m2 / self.net_m2 - 1


def real_rooms() -> Areas:
    """The rooms and floors of the open file that the tests hold."""
    features = json.loads(ROOMS.read_text(encoding="utf-8"))["features"]
    return {one["properties"]["name"]: shape(one["geometry"]) for one in features}


def timed(work: Callable[[], Any], times: int = 2) -> tuple[float, Any]:
    """The shortest of some runs, in seconds of processor time, and what came of it."""
    best, made = float("inf"), None
    for _ in range(times):
        start = time.process_time()
        made = work()
        best = min(best, time.process_time() - start)
    return best, made


def by_method(method: Callable[[Polygon, Sheet], Any], name: str, outline: Polygon) -> Laid:
    """One area by a plain method."""
    seconds, trial = timed(lambda: method(outline, SHEET))
    found = faults(document(name, outline, SHEET, trial), {name: outline}, asdict(SHEET))
    return Laid(trial.consumed(SHEET), outline.area, seconds, bool(trial.small(SHEET)), found)


def by_program(effort: str, name: str, outline: Polygon) -> Laid:
    """One area by ``lay_out``."""
    times = 1 if effort == "thorough" else 2
    seconds, laid = timed(lambda: lay_out([AreaPlan(name, outline)], SHEET, effort=effort), times)
    found = faults(layout_document(laid), {name: outline}, asdict(SHEET))
    small = any("under the smallest" in note for area in laid.areas for note in area.notes)
    return Laid(laid.consumed_area_m2, outline.area, seconds, small, found)


def methods_table(areas: Areas) -> list[str]:
    """Waste and time of every method over a set."""
    rows = []
    runs: list[tuple[str, Callable[[str, Polygon], Laid]]] = [
        (title, lambda name, outline, method=method: by_method(method, name, outline))
        for title, method in METHODS.values()
    ]
    runs += [
        (f"`lay_out`, {effort}", lambda name, outline, effort=effort: by_program(effort, name, outline))
        for effort in EFFORTS
    ]
    for title, run in runs:
        laid = [run(name, outline) for name, outline in areas.items()]
        report(title, areas, [one.faults for one in laid])
        waste = np.array([one.waste for one in laid])
        total = sum(one.consumed_m2 for one in laid) / sum(one.net_m2 for one in laid) - 1
        took = np.array([one.seconds for one in laid]) * 1e3
        rows.append(
            (
                title,
                f"{total:.1%}",
                f"{np.median(waste):.1%}",
                f"{np.quantile(waste, 0.9):.1%}",
                f"{np.median(took):.1f}",
                f"{took.mean():.1f}",
                str(sum(one.small for one in laid)),
            )
        )
    heads = ("Method", "total", "median", "nine in ten", "ms, median", "ms, mean", "small pieces in")
    return table(heads, rows)


def report(title: str, areas: Areas, found: Sequence[list[str]]) -> None:
    """Say on standard error what the validator finds."""
    for name, wrong in zip(areas, found, strict=True):
        if wrong:
            print(f"FAULT {title}, {name}: {wrong[0]} ({len(wrong)} in all)", file=sys.stderr)


def without_joints(areas: Areas, effort: str) -> tuple[str, ...]:
    """In how many areas the chosen strips are cut as well as is proven possible, head joints forbidden.

    The plain method without head joints is compared where it needs none: no strip is longer than a roll.
    """
    sheet = replace(SHEET, head_joints_allowed=False)
    laid = {name: lay_out([AreaPlan(name, areas[name])], sheet, effort=effort) for name in areas}
    found = [faults(layout_document(laid[name]), {name: areas[name]}, asdict(sheet)) for name in areas]
    report(f"without head joints, {effort}", areas, found)
    covered = {name: one for name, one in laid.items() if not one.uncovered}
    reached = sum(one.consumed_area_m2 <= one.sheet_these_strips_m2 + 1e-3 for one in covered.values())
    least = sum(one.sheet_these_strips_m2 for one in covered.values())
    plain = {name: METHODS["offcuts"][1](areas[name], SHEET) for name in covered}
    whole = [name for name, one in plain.items() if len(one.cuts) == len({cut.part for cut in one.cuts})]
    net = sum(areas[name].area for name in whole)
    return (
        f"{reached} of {len(covered)} ({reached / len(covered):.0%})",
        f"{consumed(covered.values()) / least - 1:.2%}",
        str(len(laid) - len(covered)),
        str(len(whole)),
        f"{consumed(covered[name] for name in whole) / net - 1:.1%}",
        f"{sum(plain[name].consumed(SHEET) for name in whole) / net - 1:.1%}",
    )


def consumed(laid: Iterable[Layout]) -> float:
    """Sheet of several jobs. [m2]"""
    return sum(one.consumed_area_m2 for one in laid)


def ten_area_jobs(areas: Areas, effort: str) -> tuple[str, ...]:
    """Rolls of jobs of ten areas each, drawn by a fixed seed, beside their bounds."""
    jobs = list(grouped(areas))
    laid = [lay_out([AreaPlan(name, areas[name]) for name in names], SHEET, effort=effort) for names in jobs]
    for names, one in zip(jobs, laid, strict=True):
        own = {name: areas[name] for name in names}
        found = faults(layout_document(one), own, asdict(SHEET))
        if found:
            print(f"FAULT ten areas, {effort}: {found[0]} ({len(found)} in all)", file=sys.stderr)
    rolls = sum(len(one.rolls) for one in laid)
    these = sum(one.rolls_these_strips for one in laid)
    any_layout = sum(one.rolls_any_layout for one in laid)
    used, least = consumed(laid), sum(one.sheet_these_strips_m2 for one in laid)
    return (
        str(len(jobs)),
        str(rolls),
        f"{these} ({rolls / these - 1:.1%} above)",
        f"{any_layout} ({rolls / any_layout - 1:.1%} above)",
        f"{used / least - 1:.2%}",
    )


def grouped(areas: Areas) -> Iterator[list[str]]:
    """Names of areas in tens, each area once a round, in several rounds."""
    names, chance = list(areas), random.Random(SEED)
    for _ in range(GROUPED):
        chance.shuffle(names)
        yield from (names[start : start + 10] for start in range(0, len(names), 10))


def large_floors(areas: Areas) -> dict[str, Areas]:
    """What is measured once: a hall with columns, a very large square, a building."""
    columns = [box(x, y, x + 0.5, y + 0.5) for x in range(7, 50, 8) for y in range(7, 40, 8)]
    return {
        "a plain floor of 2,000 m²": {"floor": box(0, 0, 50, 40)},
        f"the same with {len(columns)} columns": {"hall": box(0, 0, 50, 40).difference(union_all(columns))},
        "a square of 300 m": {"square": box(0, 0, 300, 300)},
        f"a building of {len(areas)} areas, one cut plan": areas,
    }


def large_table(areas: Areas) -> list[str]:
    """Seconds and waste of large floors."""
    rows = []
    for title, job in large_floors(areas).items():
        for effort in ("quick", "normal"):
            plans = [AreaPlan(name, outline) for name, outline in job.items()]
            seconds, laid = timed(lambda plans=plans, effort=effort: lay_out(plans, SHEET, effort=effort), 1)
            rows.append(
                (
                    title,
                    effort,
                    f"{seconds:.2f}",
                    f"{laid.consumed_area_m2 / laid.net_area_m2 - 1:.1%}",
                    str(len(laid.rolls)),
                    str(laid.rolls_these_strips),
                    str(laid.rolls_any_layout),
                )
            )
    heads = ("Job", "effort", "seconds", "waste", "rolls", "bound, these strips", "bound, any layout")
    return table(heads, rows)


def cable_figures(areas: Areas) -> tuple[str, ...]:
    """In how many connected heated zones one run reaches everything."""
    connected = laid = whole = 0
    shares = []
    heated = {name: outline for name, outline in areas.items() if outline.area <= LARGEST_HEATED_M2}
    for outline in heated.values():
        free = free_zone(outline, CABLE)
        if sum(part.area > 1e-6 for part in shapely.get_parts(free)) != 1:
            continue
        connected += 1
        run = cable_run(outline, KITS, outline.exterior.coords[0], CABLE)
        if run.excess_m == 0.0 and run.path.is_simple and free.buffer(1e-3).contains(run.path):
            laid += 1
            whole += run.beyond_m2 == 0.0
            shares.append(run.heated_m2 / float(free.area))
    return (
        f"{connected} of {len(heated)}",
        f"{laid} ({laid / connected:.0%})",
        f"{whole} ({whole / connected:.0%})",
        f"{np.median(shares):.0%}",
        f"{min(shares):.0%}",
    )


def table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[str]:
    """A table that reads well on a terminal and as Markdown."""
    wide = [max(len(row[place]) for row in (heads, *rows)) for place in range(len(heads))]

    def line(cells: Sequence[str]) -> str:
        padded = [
            cell.ljust(width) if place == 0 else cell.rjust(width)
            for place, (cell, width) in enumerate(zip(cells, wide, strict=True))
        ]
        return f"| {' | '.join(padded)} |"

    rule = [("-" * width if place == 0 else "-" * (width - 1) + ":") for place, width in enumerate(wide)]
    return [line(heads), line(rule), *(line(row) for row in rows)]


def sizes(areas: Areas) -> str:
    """How many, and how large."""
    found = np.array([outline.area for outline in areas.values()])
    low, middle, high = found.min(), np.median(found), found.max()
    return f"{len(found)} areas of {low:.0f} to {high:.0f} m², half of them below {middle:.0f}"


def figures() -> Iterator[str]:
    """All lines, as they are found."""
    sets = {"open": real_rooms(), "drawn": made_rooms(MADE)}
    lay_out([AreaPlan("first", box(0, 0, 3, 4))], SHEET)
    unit = yardstick(time.process_time)
    yield f"{dt.date.today().isoformat()}; yardstick: one small NumPy addition {unit * 1e6:.2f} µs.\n"
    for name, areas in sets.items():
        what = "Open rooms and floors" if name == "open" else f"Rooms drawn by chance (seed {SEED})"
        yield f"**{what}**: {sizes(areas)}. Waste is what is consumed over net area, less one.\n"
        yield from methods_table(areas)
        yield ""
    yield "**Without head joints**: where the sheet consumed is the least proven for the chosen strips.\n"
    heads = (
        "Set, effort",
        "least reached in",
        "above the least",
        "not coverable",
        "compared in",
        "waste",
        "plain best-fit",
    )
    yield from table(
        heads,
        [
            (f"{name}, {effort}", *without_joints(areas, effort))
            for name, areas in sets.items()
            for effort in ("normal", "thorough")
        ],
    )
    yield "\n**Jobs of ten areas**, rolls of a job cut together, all jobs summed.\n"
    heads = ("Set, effort", "jobs", "rolls", "bound, these strips", "bound, any layout", "sheet above least")
    yield from table(
        heads,
        [
            (f"{name}, {effort}", *ten_area_jobs(areas, effort))
            for name, areas in sets.items()
            for effort in ("quick", "normal")
        ],
    )
    yield "\n**Large jobs**\n"
    yield from large_table(sets["open"])
    yield (
        f"\n**Heating cable**: areas of up to {LARGEST_HEATED_M2:g} m² as heated zones, in one part after "
        "all distances are kept; a kit every 3 % of length.\n"
    )
    heads = ("Set", "connected", "one run", "of these all is reached", "heated, median", "heated, least")
    yield from table(heads, [(name, *cable_figures(areas)) for name, areas in sets.items()])


def main(arguments: Sequence[str] = ()) -> None:
    """Measure and print."""
    lines = []
    for line in figures():
        print(line, flush=True)
        lines.append(line)
    if "--docs" in arguments:
        text = PAGE.read_text(encoding="utf-8")
        before, rest = text.split(BEGIN)
        _, after = rest.split(END)
        PAGE.write_text(before + BEGIN + "\n".join(lines) + "\n" + END + after, encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:])
