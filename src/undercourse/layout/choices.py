"""Choosing direction and offset for every area, by what all pieces together cost."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import shapely
from shapely import Polygon

from undercourse.layout.bounds import least_sheet_area
from undercourse.layout.buying import Trial, cut_all, refine
from undercourse.layout.covers import OTHER_SHARES, Rules, make_rules
from undercourse.layout.kinds import kinds_of, least_cost
from undercourse.layout.outlines import edge_directions, inset
from undercourse.layout.rolls import UNIT_M, Item, fill_by_best_fit, form_segments, units
from undercourse.layout.sheets import AreaPlan, Line, Sheet
from undercourse.layout.strips import (
    Floor,
    bands_of,
    make_floor,
    offsets_to_try,
)
from undercourse.layout.watching import Watch
from undercourse.layout.zones import StripPlan, Zone, lay_zone

Effort = Literal["quick", "normal", "thorough"]


NARROW_DIRECTIONS, NARROW_OFFSETS = 3, 3
"""Directions and offsets in each that are tried with strips half a roll wide."""

NARROW_WORTH = {True: 0.0, False: 0.05}
"""Share of the cost that these must save, with head joints and without.

Without, more and narrower pieces are harder to cut as well as is proven.
"""

ENOUGH_M2 = 1.0
"""With more waste than this the search goes on, small a share as it may be. [m2]"""


@dataclass(frozen=True)
class Limits:
    """How much is tried: of directions and of offsets in each, first in every area, then in hard ones."""

    directions: int
    offsets: int
    hard_directions: int
    hard_offsets: int
    kept: int  # plans of an area that are cut from rolls by themselves
    options: int  # of these, plans tried together with those of other areas
    goal: float  # waste at which the search is content
    hard: float  # waste from which on an area is hard, as a share and in square metres
    hard_m2: float
    bands: int  # bands covered in one area
    work: int  # combinations of areas tried, times the pieces of each
    nodes: int  # of the search for a provably best cutting, once the strips are chosen


LIMITS = {
    "quick": Limits(2, 2, 2, 4, 2, 1, 0.03, 0.08, 9.0, 300, 0, 0),
    "normal": Limits(2, 3, 6, 8, 3, 1, 0.03, 0.12, 2.0, 600, 0, 1000),
    "thorough": Limits(6, 24, 8, 48, 12, 4, 0.0, 0.0, 0.0, 12_000, 40_000, 20_000),
}


def limits_for(effort: Effort, sheet: Sheet) -> Limits:
    """How much is tried; strips without head joints are quick to lay, and differ more in what they waste."""
    limits = LIMITS[effort]
    if sheet.head_joints_allowed or effort == "quick":
        return limits
    wide = replace(limits, directions=6, offsets=12, kept=8, goal=0.0, hard=math.inf)
    return replace(wide, hard_directions=max(24, limits.hard_directions), bands=max(2000, limits.bands))


def directions(outline: Polygon, held: float | None, most: int) -> list[float]:
    """Directions of edges, longest first, each followed by the one square to it, and of the narrowest box.

    [deg]
    """
    if held is not None:
        return [held]
    wanted = [angle for edge in edge_directions(outline) for angle in (edge, (edge + 90.0) % 180.0)]
    if most > 2:
        box = shapely.get_coordinates(outline.minimum_rotated_rectangle)
        dx, dy = box[1] - box[0]
        slant = math.degrees(math.atan2(dy, dx)) % 180.0
        wanted[2:2] = [slant, (slant + 90.0) % 180.0]
    found: list[float] = []
    for angle in wanted:
        if all(abs((angle - other + 90.0) % 180.0 - 90.0) > 0.5 for other in found):
            found.append(angle)
        if len(found) >= most:
            break
    return found


def area_options(area: AreaPlan, sheet: Sheet, limits: Limits, watch: Watch) -> list[StripPlan]:
    """The best few strip plans of one area over directions and offsets, best first."""
    parts = inset(area.outline, sheet.edge_gap_m)
    if not parts:
        return []
    held, start = _held(area, sheet)
    search = _Search(parts, sheet, make_rules(sheet), limits, watch, start, area.keep_off)
    hard = False
    search.run(directions(area.outline, held, limits.directions), limits.offsets, limits.goal)
    if not search.content(limits.hard, limits.hard_m2):
        search.run(directions(area.outline, held, limits.hard_directions), limits.hard_offsets, limits.goal)
        hard = not search.content(limits.hard, limits.hard_m2)
    found = search.found
    if not sheet.head_joints_allowed:
        found = [zone for zone in found if not zone.too_long] or search.shortest()
    plans = [StripPlan((zone,), zone.cost) for zone in found]
    if sheet.head_joints_allowed:
        plans = _cheapest_to_cut(plans, sheet)
    careful = make_rules(sheet, careful=True)
    plans = [_carefully(plan, sheet, careful) for plan in plans[: limits.options]]
    if not hard or limits.nodes == 0:
        return plans
    if sheet.head_joints_allowed:
        plans = _covered_otherwise(plans, sheet)[: limits.options]
    if sheet.smallest_width_m <= sheet.width_m / 2:
        plans = _narrow_if_worth(plans, _in_halves(area, search), sheet)
    return plans


def _narrow_if_worth(full: list[StripPlan], narrow: list[Zone], sheet: Sheet) -> list[StripPlan]:
    """Plans of full strips, behind one of half strips where that saves enough."""
    if not sheet.head_joints_allowed:
        narrow = [zone for zone in narrow if not zone.too_long]
    plans = _cheapest_to_cut([StripPlan((zone,), zone.cost) for zone in narrow], sheet)[:2]
    rules = make_rules(sheet, careful=True, beside=1.0)
    plans = _cheapest_to_cut([_carefully(plan, sheet, rules) for plan in plans], sheet)
    if not plans:
        return full
    least = _cut_cost(full[0], sheet, rules) * (1 - NARROW_WORTH[sheet.head_joints_allowed])
    return [plans[0], *full] if _cut_cost(plans[0], sheet, rules) < least else full


def _in_halves(area: AreaPlan, search: _Search) -> list[Zone]:
    """Zones of strips half a roll wide, that waste less at slanted walls, in the directions that did best."""
    band = replace(search.sheet, width_m=search.sheet.width_m / 2)
    # Two lie side by side on the roll, so that nothing beside one of them is lost.
    rules = replace(search.rules, beside=1.0)
    narrow = _Search(search.parts, band, rules, search.limits, search.watch, _held(area, band)[1])
    narrow.floors = search.floors
    order = sorted(search.floors, key=lambda angle: search.best.get(angle, math.inf))
    narrow.run(order[:NARROW_DIRECTIONS], NARROW_OFFSETS, search.limits.goal)
    return narrow.found


def _held(area: AreaPlan, sheet: Sheet) -> tuple[float | None, float | None]:
    """Held direction and start line, from 0 to 180 degrees where the sheet may be turned end for end."""
    angle, start = area.direction_deg, area.start_m
    if angle is None or sheet.one_direction:
        return (None if angle is None else angle % 360.0), start
    if angle % 360.0 >= 180.0 and start is not None:
        start = -start - sheet.width_m  # left and right change places
    return angle % 180.0, start


def _covered_otherwise(plans: list[StripPlan], sheet: Sheet) -> list[StripPlan]:
    """The plans, and the first of them covered as if more or less beside its ripped pieces were used."""
    others = [make_rules(sheet, careful=True, beside=share) for share in OTHER_SHARES]
    made = [_carefully(plans[0], sheet, rules) for rules in others]
    return _cheapest_to_cut([*plans, *made], sheet)


def _carefully(plan: StripPlan, sheet: Sheet, rules: Rules) -> StripPlan:
    again = [lay_zone(zone.floor, zone.band, rules, zone.offset_m) for zone in plan.zones]
    zones = tuple(zone for zone in again if zone is not None)
    return StripPlan(zones, sum(zone.cost for zone in zones))


@dataclass
class _Search:
    """The cheapest zones found so far, cheapest first."""

    parts: Sequence[Polygon]
    sheet: Sheet
    rules: Rules
    limits: Limits
    watch: Watch
    start: float | None = None
    lines: Sequence[Line] = ()
    bands: int = 0
    found: list[Zone] = field(default_factory=list)
    ranked: list[tuple[float, int, Zone]] = field(default_factory=list)
    floors: dict[float, Floor] = field(default_factory=dict)
    tried: set[tuple[float, float]] = field(default_factory=set)
    best: dict[float, float] = field(default_factory=dict)

    @property
    def area(self) -> float:
        """Area to cover. [m2]"""
        return sum(float(part.area) for part in self.parts)

    @property
    def waste(self) -> float:
        """Share by which the cheapest zone costs more than its area laid in plain full strips."""
        # Full strips have a metre of seam for each of their widths of floor.
        return self.found[0].cost / self.area - 1 - self.rules.seam_cost / self.rules.width

    def content(self, share: float, most_m2: float) -> bool:
        """Whether no more is wasted than that, as a share and in square metres."""
        return bool(self.found) and self.waste <= share and self.waste * self.area <= most_m2

    def run(self, angles: Sequence[float], offsets: int, goal: float) -> None:
        """Try the first offset in every direction, then the others, the best directions first."""
        waiting: dict[float, list[float]] = {}
        for angle in angles:
            if angle not in self.floors:
                self.floors[angle] = make_floor(self.parts, angle, self.lines)
            waiting[angle] = self._offsets(self.floors[angle], offsets)
            self._lay(angle, waiting[angle][:1], goal)
        order = sorted(angles, key=lambda angle: self.best.get(angle, math.inf))
        for rank, angle in enumerate(order):
            share = len(waiting[angle]) if rank == 0 else (len(waiting[angle]) + 1) // 2
            self._lay(angle, waiting[angle][1:share], goal)

    def shortest(self) -> list[Zone]:
        """The zone with the shortest longest strip, where strips are too long in every direction."""
        laid = [
            lay_zone(floor, self.sheet, self.rules, self._offsets(floor, 1)[0])
            for floor in self.floors.values()
        ]
        zones = [zone for zone in laid if zone is not None and zone.stretches]
        zones.sort(key=lambda zone: max(one.right - one.left for one in zone.stretches))
        return zones[:1]

    def _offsets(self, floor: Floor, most: int) -> list[float]:
        if self.start is None:
            return offsets_to_try(floor, self.sheet, most)
        low = floor.low_m
        return [low - (low - self.start) % self.sheet.pitch_m]

    def _lay(self, angle: float, offsets: Sequence[float], goal: float) -> None:
        floor = self.floors[angle]
        for offset in offsets:
            enough = self.bands >= self.limits.bands or self.watch.stopped
            if (self.found and enough) or self.content(goal, ENOUGH_M2):
                return
            if (angle, offset) in self.tried:
                continue
            self.tried.add((angle, offset))
            full = len(self.found) >= self.limits.kept and self.sheet.head_joints_allowed
            most = self.found[-1].cost if full else math.inf
            self.bands += len(bands_of(floor, self.sheet, offset))
            self.watch.count()
            zone = lay_zone(floor, self.sheet, self.rules, offset, most)
            if zone is None or not zone.stretches:
                continue
            cost = self._worth(zone)
            self.best[angle] = min(self.best.get(angle, math.inf), zone.cost)
            self.ranked = sorted([*self.ranked, (cost, len(self.tried), zone)])[: self.limits.kept]
            self.found = [zone for _, _, zone in self.ranked]

    def _worth(self, zone: Zone) -> float:
        """What a zone is ranked by: whole strips leave so much of a roll that only cutting them tells."""
        if self.sheet.head_joints_allowed:
            return zone.cost
        return _cut_cost(StripPlan((zone,), zone.cost), self.sheet, self.rules)


def _cheapest_to_cut(plans: list[StripPlan], sheet: Sheet) -> list[StripPlan]:
    """Order plans by what their pieces take of rolls when they are cut by themselves."""
    if len(plans) < 2:
        return plans
    rules = make_rules(sheet)
    return sorted(plans, key=lambda plan: _cut_cost(plan, sheet, rules))


def _cut_cost(plan: StripPlan, sheet: Sheet, rules: Rules) -> float:
    items: list[Item] = []
    seam, trim = plan.seam_m, sheet.trim_m
    for zone in plan.zones:
        for stretch, cells in zip(zone.stretches, zone.covers, strict=True):
            for number, (a, b, turned) in enumerate(cells):
                tall = stretch.height(a, b, trim)
                long = b - a + (trim * stretch.ends(a, b) if trim else 0.0)
                wide, long = (long, tall) if turned else (tall, long)
                items.append(Item(len(items), units(min(wide, sheet.width_m)), units(long)))
                seam += tall if number else 0.0
    lengths = [segment.length for segment in form_segments(items, units(sheet.width_m))]
    length = sum(lengths) * UNIT_M
    if not rules.joints and not plan.too_long:
        length = min(_consumed(lengths, sheet), default=length)
    faults = rules.fault * (plan.faults + (10 * plan.too_long if not rules.joints else 0))
    return length * sheet.width_m + seam * rules.seam_cost + len(items) * rules.joint_cost + faults


def _consumed(lengths: Sequence[int], sheet: Sheet) -> list[float]:
    """Whole rolls but the last, and what is used of that, for each roll length that holds all. [m]"""
    found = []
    for capacity_m in sheet.roll_lengths_m:
        capacity = math.floor(capacity_m / UNIT_M + 1e-3)
        if max(lengths, default=0) <= capacity:
            rolls = fill_by_best_fit(lengths, capacity)  # quick: only to rank by
            last = min(sum(lengths[index] for index in roll) for roll in rolls)
            found.append((len(rolls) - 1) * capacity_m + last * UNIT_M)
    return found


def _least(options: list[list[StripPlan]], sheet: Sheet) -> float:
    """Cost of sheet that any layout of these areas has at least."""
    covered = sum(plans[0].covered_m2 for plans in options)
    area = least_sheet_area(
        covered, sheet.seam_gap_m, sheet.smallest_piece_m, sheet.width_m, sheet.smallest_width_m
    )
    return least_cost(math.floor(area / sheet.width_m / UNIT_M), kinds_of(sheet))


def choose(
    options: list[list[StripPlan]], sheet: Sheet, seed: int, limits: Limits, watch: Watch
) -> Trial | None:
    """Choose one plan an area so that all together cost least: change one area at a time."""
    chosen = [0] * len(options)
    tried = {tuple(chosen)}
    best = cut_all([plans[0] for plans in options], sheet)
    watch.tell(best=best.cost if best else None, least=_least(options, sheet))
    order = list(range(len(options)))
    turn_by = seed % max(1, len(order))
    order = order[turn_by:] + order[:turn_by]
    pieces = max(1, sum(len(cells) for plans in options for zone in plans[0].zones for cells in zone.covers))
    left = limits.work // pieces if len(options) > 1 else 0
    for _ in range(3):
        changed = False
        for number in order:
            for which in range(len(options[number])):
                if which == chosen[number] or left <= 0 or watch.stopped:
                    continue
                picked = [*chosen[:number], which, *chosen[number + 1 :]]
                if tuple(picked) in tried:
                    continue
                tried.add(tuple(picked))
                left -= 1
                trial = cut_all([plans[pick] for plans, pick in zip(options, picked, strict=True)], sheet)
                if trial is not None and (best is None or trial.cost < best.cost - 1e-9):
                    best, chosen, changed = trial, picked, True
                watch.tell(best=best.cost if best else None)
        if not changed:
            break
    return best if best is None or watch.stopped else refine(best, limits.nodes)
