"""Outlines of a job's areas: written in the job, or read from the plan that the area names."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from undercourse.base.problems import Problem, Problems
from undercourse.facts.jobs import Area, Job, Ring
from undercourse.layout import check_outline


def check_outlines(job: Job) -> list[Problem]:
    """Faults of every outline that the job writes itself."""
    problems: list[Problem] = []
    for area in job.areas:
        if area.outline is not None:
            problems += check_outline(area.outline, list(area.obstacles), f"{area.where}: outline")
    return problems


def with_plans(job: Job, folder: Path) -> Job:
    """The job with the outlines of its plans read in.

    A plan with one room fills its area; with several, ``room_name`` picks one, and without it the
    area becomes one area a room.

    Raises
    ------
    Problems
        Plans that cannot be read and rooms that are not in them.
    """
    problems = check_outlines(job)
    areas: list[Area] = []
    for area in job.areas:
        if not area.plan:
            areas.append(area)
            continue
        try:
            areas += _from_plan(area, folder)
        except Problems as error:
            problems += [replace(p, where=f"{area.where}: plan {p.where}") for p in error.problems]
    if problems:
        raise Problems(problems)
    return replace(job, areas=tuple(areas))


def _from_plan(area: Area, folder: Path) -> list[Area]:
    from undercourse.files.plans import read_plan

    rooms = read_plan((folder / area.plan).resolve())
    chosen = [room for room in rooms if not area.room_name or room.name == area.room_name]
    if not chosen:
        names = ", ".join(sorted(room.name for room in rooms)[:12])
        raise Problems([Problem(area.plan, f'no room is named "{area.room_name}"', f"the plan has {names}")])
    if len(chosen) == 1 or area.room_name:
        return [_filled(area, area.name, chosen[0].polygon)]
    return [_filled(area, f"{area.name}: {room.name}", room.polygon) for room in chosen]


def _filled(area: Area, name: str, polygon: object) -> Area:
    outline, holes = rings_of(polygon)
    return replace(area, name=name, outline=outline, obstacles=(*area.obstacles, *holes))


def rings_of(polygon: object) -> tuple[Ring, tuple[Ring, ...]]:
    """The outer ring and the holes of a polygon, without the closing point."""
    from shapely import Polygon

    assert isinstance(polygon, Polygon)

    def ring(coordinates: object) -> Ring:
        return [(float(x), float(y)) for x, y in list(coordinates)[:-1]]  # type: ignore[call-overload]

    return ring(polygon.exterior.coords), tuple(ring(hole.coords) for hole in polygon.interiors)
