"""Outlines of a job's areas: written in the job, or read from the plan that the area names."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from undercourse.base.problems import Problem, Problems
from undercourse.facts.jobs import Area, Job, Ring
from undercourse.files.plan_parts import Plan, PlanArea, PlanOptions, choose_areas
from undercourse.layout.repairs import mend_outline

Read = dict[tuple[Path, PlanOptions], Plan]


def with_plans(job: Job, folder: Path) -> Job:
    """The job with the outlines of its plans read in, and small faults of its own outlines mended.

    A plan with one room fills its area; with several, ``room_name`` picks one (or several by a pattern), and
    without it the area becomes one area a room. What was mended is in ``plan_notes``.

    Raises
    ------
    Problems
        Plans that cannot be read, outlines that cannot be laid in, and rooms that are not in the plan.
    """
    problems: list[Problem] = []
    areas: list[Area] = []
    read: Read = {}
    for area in job.areas:
        try:
            if area.plan:
                areas += _from_plan(area, folder, read)
            else:
                areas.append(_mended(area))
        except Problems as error:
            before = f"{area.where}: plan " if area.plan else ""
            problems += [replace(p, where=f"{before}{p.where}") for p in error.problems]
    if problems:
        raise Problems(problems)
    return replace(job, areas=tuple(areas))


def _mended(area: Area) -> Area:
    """An area whose own outline is mended; one without fault stays as it was written."""
    if area.outline is None:
        return area
    done = mend_outline(area.outline, list(area.obstacles), f"{area.where}: outline")
    if done.polygon is None:
        raise Problems(done.problems)
    if not done.repairs:
        return area
    outline, holes = rings_of(done.polygon)
    notes = tuple(f"mended: {repair}" for repair in done.repairs)
    return replace(area, outline=outline, obstacles=holes, plan_notes=notes)


def _from_plan(area: Area, folder: Path, read: Read) -> list[Area]:
    from undercourse.files.plans import read_plan

    layers = tuple(layer.strip() for layer in area.plan_layer.split(",") if layer.strip())
    key = ((folder / area.plan).resolve(), PlanOptions(layers, area.plan_unit))
    first = key not in read
    if first:
        read[key] = read_plan(*key)
    plan = read[key]
    chosen = choose_areas(plan, [area.room_name] if area.room_name else [], area.storey)
    notes = plan.notes if first else ()
    if len(chosen) == 1:
        return [_filled(area, area.name, chosen[0], notes)]
    return [
        _filled(area, f"{area.name}: {room.name}", room, notes if place == 0 else ())
        for place, room in enumerate(chosen)
    ]


def _filled(area: Area, name: str, room: PlanArea, notes: tuple[str, ...]) -> Area:
    outline, holes = rings_of(room.polygon)
    doors: list[Ring] = [[line[0], line[1]] for line in room.doors]
    return replace(
        area,
        name=name,
        outline=outline,
        obstacles=(*area.obstacles, *holes),
        doors=(*area.doors, *doors),
        plan_notes=(*notes, *area_notes(room)),
    )


def area_notes(room: PlanArea) -> tuple[str, ...]:
    """What is to know of an area out of a plan: repairs, then notes."""
    return (*(f"mended: {repair}" for repair in room.repairs), *room.notes)


def tell_plans(document: Mapping[str, Any], job: Job) -> None:
    """Write into an answer what was mended and left out in the plans of its areas."""
    for row, area in enumerate(job.areas):
        if area.plan_notes:
            document["areas"][row]["plan_notes"] = list(area.plan_notes)


def add_notes(laid: Mapping[str, Any], notes: Mapping[str, Sequence[str]]) -> None:
    """Write what is to know of the plans of areas, by name, into the areas' notes of a layout."""
    for area in laid["areas"]:
        area["notes"] = [*area["notes"], *notes.get(area["name"], ())]


def rings_of(polygon: object) -> tuple[Ring, tuple[Ring, ...]]:
    """The outer ring and the holes of a polygon, without the closing point."""
    from shapely import Polygon

    assert isinstance(polygon, Polygon)

    def ring(coordinates: object) -> Ring:
        return [(float(x), float(y)) for x, y in list(coordinates)[:-1]]  # type: ignore[call-overload]

    return ring(polygon.exterior.coords), tuple(ring(hole.coords) for hole in polygon.interiors)
