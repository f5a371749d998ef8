"""From a job to its papers: answer, layouts, quantities, steps, and the PDF report."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from typing import Any

from undercourse.advise.answers import answered
from undercourse.advise.area_sheets import area_sheets
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.stacks import BEDS, section_layers
from undercourse.advise.steps import Step, read_steps, steps_for
from undercourse.base.columns import ChoiceColumn, pick
from undercourse.base.domains import Span
from undercourse.base.problems import Problem, Problems
from undercourse.facts.jobs import Area, Job
from undercourse.files.areas import add_notes, tell_plans
from undercourse.files.reading import parse_toml
from undercourse.files.shipped import data_root, vocabulary
from undercourse.judge.rulebook import Rulebook
from undercourse.layout import Layout, layout_document, make_outline
from undercourse.line.records import Product
from undercourse.takeoff import Geometry, joint_plan, lay_cable, laying_plan, take_off, tape_price_m
from undercourse.takeoff.counting import corners_and_collars, geometry_of, grout_kg_m2


@dataclass
class JobPapers:
    """Everything that is known of a job, in documents matched by area name."""

    answer: dict[str, Any]
    layouts: list[dict[str, Any]]
    takeoffs: list[dict[str, Any]]
    steps: dict[str, list[dict[str, str]]]
    rooms: dict[str, dict[str, Any]]
    problems: list[Problem]
    sheets: dict[str, list[dict[str, Any]]] = field(default_factory=dict)
    charts: dict[str, dict[str, str]] = field(default_factory=dict)
    joints: dict[str, dict[str, Any]] = field(default_factory=dict)
    cables: dict[str, dict[str, Any]] = field(default_factory=dict)


@lru_cache(maxsize=1)
def shipped_steps() -> list[Step]:
    """The shipped steps of the work."""
    text = data_root().joinpath("steps.toml").read_text(encoding="utf-8")
    return read_steps(parse_toml(text, "steps.toml"), vocabulary())


def prepare(
    job: Job, book: Rulebook, date: dt.date | None, advise: bool = True, membrane: str = ""
) -> JobPapers:
    """Answer a job, lay and take off every area that has an outline and a membrane to lay.

    Parameters
    ----------
    membrane : str, optional
        Lay this product everywhere in place of the recommended one.
    """
    document, evaluated = answered(job, book, date, advise)
    tell_plans(document, job)
    groups: dict[str, list[int]] = {}
    for row, area in enumerate(document["areas"]):
        chosen = membrane or area["recommended"]
        if chosen is not None and job.areas[row].outline is not None:
            groups.setdefault(chosen, []).append(row)
    layouts: list[dict[str, Any]] = []
    takeoffs: dict[int, dict[str, Any]] = {}
    problems: list[Problem] = []
    joints, cables = _joint_plans(job, book, evaluated), {}
    for chosen, rows in groups.items():
        product = book.line.products[chosen]
        region = region_of(evaluated, rows[0])
        try:
            marks = {job.areas[row].name: job.areas[row].marks for row in rows}
            layout = laying_plan(
                [_ring(job.areas[row]) for row in rows],
                product,
                region,
                marks=marks,
                labor_rate=book.line.labor_rate,
                tape_price_m=tape_price_m(_goods(document["areas"][rows[0]], chosen, book)),
            )
        except Problems as error:
            problems += error.problems
            continue
        laid = layout_document(layout) if layout is not None else None
        if laid is not None:
            laid["product"] = {"id": product.id, "name": product.name}
            add_notes(laid, {job.areas[row].name: job.areas[row].plan_notes for row in rows})
            layouts.append(laid)
        for row in rows:
            name, area = job.areas[row].name, document["areas"][row]
            goods = _goods(area, chosen, book)
            runs = {one["name"]: one["direction_deg"] for one in laid["areas"]} if laid is not None else {}
            cable = lay_cable(
                job.areas[row], goods, evaluated.facts, row, joints.get(name), region, runs.get(name)
            )
            if cable is not None:
                cables[name] = cable
            geometry = replace(
                _geometry(job.areas[row], laid, layout),
                grout_kg_m2=_grout(evaluated, row),
                joints=joints.get(name),
                cable=cable,
            )
            takeoffs[row] = _take_off(area, chosen, book, geometry, region, goods)
        for one in laid["areas"] if laid is not None else ():
            one["movement_joints"] = joints.get(one["name"])
            one["heating_cable"] = cables.get(one["name"])
    steps, rooms = {}, {}
    for row, area in enumerate(document["areas"]):
        candidate = _candidate(area, membrane or area["recommended"])
        if candidate is not None:
            steps[area["area"]] = steps_for(candidate, evaluated.facts, row, shipped_steps())
        source = job.areas[row]
        if source.outline is not None:
            rooms[area["area"]] = {
                "outline": [list(point) for point in source.outline],
                "obstacles": [[list(point) for point in ring] for ring in source.obstacles],
                "doors": [[list(point) for point in ring] for ring in source.doors],
            }
    taken = [takeoffs[row] for row in sorted(takeoffs)]
    sheets, charts = _worked_out(document, evaluated, book) if advise else ({}, {})
    return JobPapers(document, layouts, taken, steps, rooms, problems, sheets, charts, joints, cables)


def _joint_plans(job: Job, book: Rulebook, evaluated: Evaluated) -> dict[str, dict[str, Any]]:
    """Movement joints of every area with an outline that can be divided."""
    found = {}
    for row, area in enumerate(job.areas):
        try:
            plan = joint_plan(area, evaluated.facts, row, book)
        except Problems:
            continue  # what is wrong with the outline is told where it is laid in
        if plan is not None:
            found[area.name] = plan
    return found


def _worked_out(
    document: Mapping[str, Any], evaluated: Evaluated, book: Rulebook
) -> tuple[dict[str, list[dict[str, Any]]], dict[str, dict[str, str]]]:
    """The calculation sheets of every area with their charts, of the candidate that its report shows."""
    from undercourse.drawings.demand_charts import area_charts
    from undercourse.papers.front import recommended_candidate

    sheets: dict[str, list[dict[str, Any]]] = {}
    charts: dict[str, dict[str, str]] = {}
    for row, area in enumerate(document["areas"]):
        chosen = recommended_candidate(area)
        if chosen is not None:
            name = str(area["area"])
            sheets[name] = area_sheets(evaluated, book, row, chosen["id"])
            charts[name] = area_charts(evaluated, book, row, chosen["id"], sheets[name])
    return sheets, charts


def region_of(evaluated: Evaluated, row: int) -> str:
    """The country whose packs and prices count, where it is known."""
    column = evaluated.facts["jurisdiction"]
    assert isinstance(column, ChoiceColumn)
    names = evaluated.facts.domain("jurisdiction").names(int(pick(column.bits, row)))
    return names[0] if len(names) == 1 else ""


def _ring(area: Area) -> tuple[str, Any, Any]:
    return area.name, area.outline, area.obstacles


def _candidate(area: Mapping[str, Any], chosen: str | None) -> dict[str, Any] | None:
    return next((c for c in area["candidates"] if c["id"] == chosen), None)


def _geometry(area: Area, laid: Mapping[str, Any] | None, layout: Layout | None) -> Geometry:
    polygon = make_outline(list(area.outline or ()), [list(ring) for ring in area.obstacles], area.name)
    if laid is None or layout is None:
        inside, outside, collars = corners_and_collars(polygon)
        return Geometry(
            polygon.area,
            polygon.length,
            inside_corners=inside,
            outside_corners=outside,
            collars=collars,
        )
    of_area = next(one for one in laid["areas"] if one["name"] == area.name)
    # A roll counts for the area of its first piece, so that shared rolls are bought once.
    first: dict[int, tuple[float, str]] = {}
    for piece in laid["pieces"]:
        at = float(piece["at"][0])
        if piece["roll"] not in first or at < first[piece["roll"]][0]:
            first[piece["roll"]] = (at, piece["area"])
    lengths = tuple(
        roll.length_m
        for number, roll in enumerate(layout.rolls, 1)
        if first.get(number, (0, ""))[1] == area.name
    )
    geometry = geometry_of(of_area, lengths, polygon)
    shared = any(p["area"] == area.name and first[p["roll"]][1] != area.name for p in laid["pieces"])
    if not shared:
        return geometry
    note = "Some pieces come from rolls that are counted with another area of this job."
    return Geometry(**{**geometry.__dict__, "notes": (note,)})


def _grout(evaluated: Evaluated, row: int) -> float | None:
    """Grout by area, where tile and joint are known."""
    known = []
    for name in ("tile_long_edge", "tile_short_edge", "grout_joint", "tile_thickness"):
        spec = evaluated.facts.columns.spec(name, row)
        if not isinstance(spec, Span) or spec.high - spec.low > 1e-9 or spec.low <= 0:
            return None
        known.append(spec.low)
    return grout_kg_m2(*known)


def _goods(area: Mapping[str, Any], chosen: str, book: Rulebook) -> list[tuple[str, Product]]:
    """The products of a candidate that are surely in it, and its beds."""
    candidate = _candidate(area, chosen)
    assert candidate is not None
    return [
        (layer["role"], book.line.products[layer["product"]])
        for layer in candidate["layers"]
        if layer["product"] and (layer["certain"] or layer["role"] in BEDS)
    ]


def _take_off(
    area: Mapping[str, Any],
    chosen: str,
    book: Rulebook,
    geometry: Geometry,
    region: str,
    goods: list[tuple[str, Product]],
) -> dict[str, Any]:
    candidate = _candidate(area, chosen)
    assert candidate is not None
    open_choice = {
        layer["role"]: f"choice still open: or {', or '.join(layer['or'])}"
        for layer in candidate["layers"]
        if layer.get("or")
    }
    skipped = not geometry.roll_lengths_m and any(role == "membrane" for role, _ in goods)
    sheet = any(pack.width_m for pack in book.line.products[chosen].packs)
    if skipped and sheet:
        goods = [(role, product) for role, product in goods if role != "membrane"]
    document = take_off(str(area["area"]), goods, geometry, region, book.line.labor_rate)
    for line in document["lines"]:
        note = open_choice.get(line["role"], "")
        line["note"] = "; ".join(text for text in (line["note"], note) if text)
    return document


def drawn(document: Mapping[str, Any]) -> dict[str, Any]:
    """The answer with every candidate's layers as they stand in the section, tile to structure."""
    areas = [
        {
            **area,
            "candidates": [
                {**candidate, "layers": section_layers(candidate, area["floor"])}
                for candidate in area["candidates"]
            ],
        }
        for area in document["areas"]
    ]
    return {**document, "areas": areas}


def report_pdf(papers: JobPapers, page: str = "us-letter") -> bytes:
    """The job report; the same job on the same day gives the same bytes."""
    from undercourse.files.paper_assets import load_paper_assets
    from undercourse.papers import job_report

    day = papers.answer["basis"]["date"]
    stamp = 0 if day is None else int(dt.datetime.fromisoformat(day).replace(tzinfo=dt.UTC).timestamp())
    return job_report(
        drawn(papers.answer),
        papers.layouts,
        papers.takeoffs,
        assets=load_paper_assets(),
        timestamp=stamp,
        page=page,  # type: ignore[arg-type]
        steps=papers.steps,
        rooms=papers.rooms,
        sheets=papers.sheets,
        charts=papers.charts,
        joints=papers.joints,
        cables=papers.cables,
    )
