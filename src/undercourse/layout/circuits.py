"""Heating cable of a whole area: kits side by side from the control's wall, each a circuit of its own."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import LineString, Point, Polygon

from undercourse.layout.cables import (
    CableKit,
    CableRules,
    CableRun,
    Choice,
    best_choice,
    check_cable,
    choices,
    free_zone,
    lay,
    widened,
)
from undercourse.layout.outlines import edge_directions, make_outline
from undercourse.layout.strips import turn

ENOUGH = 0.9
"""A single kit that heats this share of what a cable can reach is not replaced by several."""

MOST_CIRCUITS = 12
"""More kits than this in one part of an area are not laid."""


@dataclass(frozen=True)
class CablePlan:
    """All kits of an area.

    ``heated_m2`` is what the kits heat, ``free_m2`` what lies within margins and joints, ``unheated_m2`` the
    difference. ``controls`` holds the circuits of each control by number from 0: none carries more than its
    current, where that is known.
    """

    circuits: tuple[CableRun, ...]
    controls: tuple[tuple[int, ...], ...]
    zone: Polygon
    free_m2: float
    heated_m2: float
    unheated_m2: float
    notes: tuple[str, ...]

    @property
    def amps(self) -> float:
        """Current of all circuits. [A]"""
        return sum(run.amps for run in self.circuits)


def cable_plan(
    zone: Polygon,
    kits: Sequence[CableKit],
    control: tuple[float, float],
    rules: CableRules,
    joints: Sequence[LineString] = (),
    control_amps: float | None = None,
    frame_deg: float | None = None,
) -> CablePlan:
    """Choose and lay the kits that heat most of an area.

    Kits of one voltage are used, for they share controls. A part that one kit cannot heat is cut into bands
    that all begin at the control's wall; every part beyond a movement joint is laid by itself.

    Parameters
    ----------
    zone, kits, control, rules, joints
        As for ``cable_run``.
    control_amps : float, optional
        Current that one control carries. [A]
    frame_deg : float, optional
        Runs lie along or square to this, as the studs of the sheet; by default to the longest edges. [deg]

    Raises
    ------
    Problems
        When the zone, a kit or the spacing is unusable.
    """
    check_cable(zone, kits, control, rules)
    zone = make_outline(zone)
    free = free_zone(zone, rules, joints)
    parts = [part for part in shapely.get_parts(free) if isinstance(part, Polygon)]
    parts.sort(key=lambda part: part.distance(Point(control)))
    edge = edge_directions(zone)[0] if frame_deg is None else frame_deg % 180.0
    best: tuple[float, int, list[CableRun]] | None = None
    for voltage in sorted({kit.voltage_v for kit in kits}):
        own = [kit for kit in kits if kit.voltage_v == voltage]
        runs = [run for part in parts for run in _runs_of(part, own, edge, control, rules, bool(joints))]
        merit = (sum(run.heated_m2 for run in runs), -len(runs), runs)
        if best is None or merit[:2] > best[:2]:
            best = merit
    runs = best[2] if best else []
    heated = sum(run.heated_m2 for run in runs)
    area = sum(float(part.area) for part in parts)
    return CablePlan(
        tuple(runs),
        _controls(runs, control_amps),
        zone,
        area,
        heated,
        max(0.0, area - heated),
        tuple(_notes(runs, kits, rules, area, control_amps)),
    )


def _runs_of(
    part: Polygon,
    kits: Sequence[CableKit],
    edge_deg: float,
    control: tuple[float, float],
    rules: CableRules,
    parted: bool,
) -> list[CableRun]:
    """The kits of one connected part, none where even the smallest has no room."""
    if part.area < 4 * rules.spacing_m[0] ** 2:
        return []
    found = choices(part, edge_deg, control, rules)
    single = _fitting(found, kits)
    reach = max((choice.tree.points * choice.spacing**2 for choice in found), default=0.0)
    alone = []
    if single is not None:
        alone = [lay(widened(single, part, control, rules), float(part.area), control, parted)]
    if not found or (alone and alone[0].heated_m2 >= ENOUGH * reach):
        return alone
    best, before = alone, sum(run.heated_m2 for run in alone)
    lengths = _lengths(kits, reach, rules)
    if len(lengths) > 1:
        runs = []
        for band in _bands(part, lengths, control, rules):
            spot = shapely.shortest_line(band, Point(control)).coords[0]
            start = (float(spot[0]), float(spot[1]))
            choice = _fitting(choices(band, edge_deg, start, rules), kits)
            if choice is not None:
                run = lay(widened(choice, band, start, rules), float(band.area), start, parted)
                ends = [Point(run.path.coords[end]).distance(Point(control)) for end in (0, -1)]
                runs.append(replace(run, ends_m=(float(ends[0]), float(ends[1]))))
        if sum(run.heated_m2 for run in runs) > before + 0.05 * reach:
            best = runs
    return best


def _fitting(found: Sequence[Choice], kits: Sequence[CableKit]) -> Choice | None:
    best = best_choice(found, kits)
    return best if best is not None and best.excess_m <= 1e-6 else None


def _lengths(kits: Sequence[CableKit], reach_m2: float, rules: CableRules) -> list[float]:
    """Lengths of the fewest kits that together heat most of an area. [m]"""
    low, high = rules.spacing_m
    sizes = sorted({kit.length_m for kit in kits}, reverse=True)
    best: tuple[float, int, tuple[float, ...]] = (0.0, 0, ())
    for count in range(1, MOST_CIRCUITS + 1):
        most = 0.0
        for chosen in itertools.combinations_with_replacement(sizes, count):
            total = sum(chosen)
            if total * low > 0.95 * reach_m2:  # bands lose a little at their edges
                continue
            heated = min(total * high, 0.95 * reach_m2)
            most = max(most, heated)
            if heated > best[0] + 0.03 * reach_m2:
                best = (heated, count, chosen)
        if most >= 0.94 * reach_m2 or (count > 1 and most == 0.0):
            break
    return list(best[2])


def _bands(
    part: Polygon, lengths: Sequence[float], control: tuple[float, float], rules: CableRules
) -> list[Polygon]:
    """Cut a part by lines square to the control's wall into shares of its area, one spacing apart."""
    ring = np.asarray(part.exterior.coords)
    sides = [LineString(ring[k : k + 2]) for k in range(len(ring) - 1)]
    near = min(sides, key=lambda side: (round(side.distance(Point(control)), 2), -side.length))
    (ax, ay), (bx, by) = near.coords
    angle = math.degrees(math.atan2(by - ay, bx - ax))
    turned = turn(part, -angle)
    left, low, right, high = turned.bounds
    half = rules.spacing_m[1] / 2
    whole, total, cuts = float(turned.area), sum(lengths), [left - 1.0]
    for share in list(itertools.accumulate(lengths))[:-1]:
        start, end = left, right
        for _ in range(40):
            middle = (start + end) / 2
            below = float(turned.intersection(shapely.box(left - 1, low - 1, middle, high + 1)).area)
            start, end = (middle, end) if below < share / total * whole else (start, middle)
        cuts.append((start + end) / 2)
    cuts.append(right + 1.0)
    bands = []
    for first, last in itertools.pairwise(cuts):
        band = turned.intersection(shapely.box(first + half, low - 1, last - half, high + 1))
        pieces = [piece for piece in shapely.get_parts(band) if isinstance(piece, Polygon)]
        if pieces:
            bands.append(turn(max(pieces, key=lambda piece: piece.area), angle))
    return bands


def _controls(runs: Sequence[CableRun], amps: float | None) -> tuple[tuple[int, ...], ...]:
    """Circuits by control, largest first into the first control that still carries them."""
    if amps is None:
        return (tuple(range(len(runs))),) if runs else ()
    loads: list[float] = []
    groups: list[list[int]] = []
    for index in sorted(range(len(runs)), key=lambda index: (-runs[index].amps, index)):
        for place, load in enumerate(loads):
            if load + runs[index].amps <= amps + 1e-9:
                loads[place] += runs[index].amps
                groups[place].append(index)
                break
        else:
            loads.append(runs[index].amps)
            groups.append([index])
    return tuple(tuple(sorted(group)) for group in groups)


def _notes(
    runs: Sequence[CableRun],
    kits: Sequence[CableKit],
    rules: CableRules,
    free_m2: float,
    control_amps: float | None,
) -> list[str]:
    if not runs:
        shortest = min(kit.length_m for kit in kits)
        return [
            f"No kit fits: the shortest is {shortest:.1f} m and needs "
            f"{shortest * rules.spacing_m[0]:.2f} m² at the closest spacing; cable is never cut."
        ]
    notes = []
    heated = sum(run.heated_m2 for run in runs)
    if heated < ENOUGH * free_m2:
        notes.append(f"{free_m2 - heated:.2f} m² within the margins stay without cable: no kit fits there.")
    if control_amps is not None and any(run.amps > control_amps + 1e-9 for run in runs):
        most = max(run.amps for run in runs)
        notes.append(f"A kit draws {most:.1f} A, more than the control carries: it needs a relay.")
    return notes
