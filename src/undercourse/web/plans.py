"""Plans on the page: drop a file, choose areas, lay them, move the start line, print and take away."""

from __future__ import annotations

import asyncio
import json
import re
import secrets
from collections.abc import AsyncGenerator, AsyncIterator, Callable, Sequence
from contextlib import aclosing
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse, StreamingResponse
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException

from undercourse.base.problems import Problem, Problems
from undercourse.files.plan_laying import MOST_QUICK_M, SMALL_M, divide_fields, lay_chosen, strip_length
from undercourse.files.plan_parts import PlanArea
from undercourse.files.plan_worker import orders_of, problems_in, read_document
from undercourse.files.plans import INSTEAD, KINDS
from undercourse.judge.rulebook import Rulebook
from undercourse.layout import Effort
from undercourse.web import pages, plan_views
from undercourse.web.apart import TimeUpError, work_apart
from undercourse.web.entries import text_of
from undercourse.web.plan_carried import (
    MOST_PLAN_CHARACTERS,
    chosen_areas,
    first_picks,
    lines_off,
    read_plan_text,
    unseal,
    write_plan,
)
from undercourse.web.plan_entries import first_entry, read_entry
from undercourse.web.plan_jobs import hold_in_job, job_held, job_marks, job_plan, take_outlines
from undercourse.web.plan_saving import save_plan
from undercourse.web.plan_showing import UNITS, rules_of, show_parts
from undercourse.web.plan_views import PlanPage
from undercourse.web.state import read_state, write_state

MOST_UPLOAD = 30_000_000
"""Larger plans are for the command line. [byte]"""

MOST_FORM = 8_000_000
"""The plan that the page carries, twice over as forms write it, and what was laid. [byte]"""

READ_S, LAY_S, SEARCH_S = 120.0, 120.0, 600.0
"""Reading, laying and a longer search are ended after so long. [s]"""

PLAIN = (".json", ".geojson", ".toml", ".csv")
MOST_PLAIN = 500_000
"""Outlines as text up to this size are read at once: there is nothing in them to unpack. [byte]"""

SOFT = 0.8
"""A search ends itself after this share of its time, with the best so far."""

AT_ONCE = 2
TOO_LONG = "Laying these areas takes too long here. Tick fewer, or use the command line."
LARGER = {"/plan/open": MOST_UPLOAD, "/plan": MOST_FORM}
"""What the addresses of this page take, more than others do. [byte]"""

ASKS_UNIT = re.compile(r'plan_unit = "\w*" in the job file, or --unit \w* on the command line')

ShowJob = Callable[[Request, pages.Page], HTMLResponse]


def add_plan_routes(app: FastAPI, show_job: ShowJob) -> None:
    """Put the page's addresses on an application."""
    app.state.plan_key = secrets.token_bytes(32)
    app.state.plan_slots = asyncio.Semaphore(AT_ONCE)
    app.state.show_job = show_job
    for path, view, method in (
        ("/plan", start, "GET"),
        ("/plan", posted, "POST"),
        ("/plan/open", upload, "POST"),
        ("/plan/quick", quick, "POST"),
        ("/plan/solve", solve, "POST"),
        ("/plan/save/{kind}", save, "POST"),
        ("/plan/from-job", from_job, "POST"),
        ("/plan/to-job", to_job, "POST"),
    ):
        methods = ["GET", "HEAD"] if method == "GET" else [method]
        app.add_api_route(path, view, methods=methods, response_class=HTMLResponse, include_in_schema=False)


def _book(request: Request) -> Rulebook:
    book: Rulebook = request.app.state.book
    return book


async def _form(request: Request) -> FormData:
    """What was posted, from this page only: nobody else's page may set work going here."""
    if request.headers.get("sec-fetch-site", "none") not in ("same-origin", "none"):
        raise HTTPException(403)
    return await request.form(max_files=1, max_fields=4000, max_part_size=MOST_PLAN_CHARACTERS + 1000)


def _render(request: Request, template: str, parts: dict[str, Any], status: int = 200) -> HTMLResponse:
    text = request.app.state.templates.get_template(template).render(**parts)
    return HTMLResponse(text, status)


def _show(request: Request, page: PlanPage, status: int = 200) -> HTMLResponse:
    return _render(request, "plan.html", show_parts(request.app.state, page), status)


async def start(request: Request) -> Response:
    """The page without a plan."""
    return _show(request, PlanPage(entry=first_entry(_book(request).line, 0)))


async def upload(request: Request) -> Response:
    """A plan file from the asker's own disk: what was found in it, or what is wrong with it at its field."""
    form, book = await _form(request), _book(request)
    page = PlanPage(
        entry=first_entry(book.line, 0), unit=text_of(form, "unit"), layers=text_of(form, "layers")
    )
    _carry_job(page, form, book)
    file = form.get("file")
    try:
        if not isinstance(file, UploadFile) or not file.filename:
            fix = f"choose one that ends in {', '.join(KINDS)}"
            raise Problems([Problem("plan", "no file was chosen", fix)])
        page.plan = await _read_plan(request, file, page)
        write_plan(page.plan)
    except Problems as error:
        page.plan, page.problems = None, [_of_page(problem) for problem in error.problems]
        page.asks_unit = any(ASKS_UNIT.search(problem.fix) for problem in error.problems)
        return _show(request, page, 422)
    product = text_of(form, "product")
    page.entry = first_entry(book.line, 0, product)
    page.entry.picked = first_picks(page.plan)
    return _show(request, page)


def _of_page(problem: Problem) -> Problem:
    """A question for the unit as it is answered on the page."""
    return replace(problem, fix=ASKS_UNIT.sub("press it below", problem.fix))


async def _read_plan(request: Request, file: UploadFile, page: PlanPage) -> dict[str, Any]:
    name = Path(file.filename or "plan").name[-80:]
    kind = Path(name).suffix.lower()
    unit = page.unit if page.unit in UNITS else ""
    if kind not in KINDS:
        what = f'a file that ends in "{kind}" is no plan that can be read'
        raise Problems(
            [Problem(name, what, INSTEAD.get(kind, f"save the outlines as one of {', '.join(KINDS)}"))]
        )
    layers = [layer.strip() for layer in page.layers.split(",") if layer.strip()]
    data = await file.read()
    if kind in PLAIN and len(data) <= MOST_PLAIN:
        return await run_in_threadpool(read_document, data, name, layers, unit)
    orders = {"do": "read", "file": name, "layers": layers, "unit": unit}
    try:
        work = work_apart(orders, READ_S, request.app.state.plan_slots, data)
        async with aclosing(work) as telling:
            async for told in telling:
                if "problems" in told:
                    raise problems_in(told["problems"])
                if "plan" in told:
                    plan: dict[str, Any] = told["plan"]
                    return plan
    except TimeUpError:
        what = f"the plan takes longer than {READ_S:.0f} s to read"
        raise Problems([Problem(name, what, "save only the layer or the storey with the outlines")]) from None
    what = "the file is damaged, or takes more memory than there is for it"
    raise Problems([Problem(name, what, "save it again, with only the layer of the outlines")])


def _carry_job(page: PlanPage, form: FormData, book: Rulebook) -> None:
    """The job that asked for the plan goes along."""
    text = form.get("state")
    if isinstance(text, str) and text:
        page.state = read_state(text, book.vocabulary)
        page.area = pages.view_of(form, page.state).area


def _read_page(request: Request, form: FormData) -> PlanPage:
    """The page that a form carries, with what was typed into it."""
    book, key = _book(request), request.app.state.plan_key
    carried = form.get("plan")
    plan = read_plan_text(carried if isinstance(carried, str) else "")
    page = PlanPage(plan, read_entry(form, plan, book.line), origin=text_of(form, "origin") or "file")
    _carry_job(page, form, book)
    marks = form.get("marks")
    page.marks = (unseal(marks, key) if isinstance(marks, str) else None) or {}
    own = form.get("own")
    found = unseal(own, key) if isinstance(own, str) else None
    if found and found[0] == rules_of(page):
        page.own = found[1]
    return page


def _last_layout(request: Request, form: FormData) -> dict[str, Any] | None:
    text = form.get("layout")
    found: dict[str, Any] | None = unseal(text, request.app.state.plan_key) if isinstance(text, str) else None
    return found


def _areas(page: PlanPage) -> list[PlanArea]:
    """The chosen areas as they can be laid; what is wrong with them stands at the list."""
    assert page.plan is not None
    try:
        return chosen_areas(page.plan, page.entry.picked)
    except Problems as error:
        page.entry.told["pick"] = " ".join(f"{p.what}; {p.fix}." for p in error.problems[:5])
        return []


def _lines_off(page: PlanPage) -> dict[str, Any]:
    assert page.plan is not None
    return lines_off(page.plan, page.entry.picked)


def _take(page: PlanPage, layout: dict[str, Any]) -> None:
    page.layout = layout
    if not page.entry.held:
        page.own = plan_views.measures(layout)


async def posted(request: Request) -> Response:
    """The whole page after a button, for a browser without script: laid with the best found in the time."""
    form = await _form(request)
    page = await run_in_threadpool(_read_page, request, form)
    try:
        async with aclosing(_search(request, page, ("quick", "normal"), LAY_S)) as search:
            async for event in search:
                if "layout" in event:
                    _take(page, event["layout"])
    except TimeUpError:
        if page.layout is None:
            page.entry.told["pick"] = TOO_LONG
    _keep_last(request, page, form)
    return _show(request, page, 422 if page.entry.told else 200)


def _keep_last(request: Request, page: PlanPage, form: FormData) -> None:
    """Where an entry needs mending the last good layout stays in sight."""
    if page.layout is None and page.entry.told:
        page.layout = _last_layout(request, form)
        names = {area["name"] for area in page.chosen}
        if page.layout is not None and {area["name"] for area in page.layout["areas"]} != names:
            page.layout = None


async def quick(request: Request) -> Response:
    """What moves while something is dragged: the areas as they are held, laid at once."""
    form = await _form(request)
    page = await run_in_threadpool(_read_page, request, form)
    areas = await run_in_threadpool(_areas, page)
    sheet, entry = page.entry.sheet, page.entry
    if entry.told or not areas or sheet is None:
        _keep_last(request, page, form)
        return _render(request, "plan_parts.html", show_parts(request.app.state, page, full=False), 422)
    if strip_length(areas, sheet) > MOST_QUICK_M:
        return Response(status_code=204)
    held = {**entry.frozen, **entry.held}
    lay = partial(lay_chosen, keep_off=_lines_off(page))
    try:
        layout = await run_in_threadpool(lay, areas, sheet, held, "quick")
    except Problems as error:
        entry.told["pick"] = " ".join(f"{p.what}; {p.fix}." for p in error.problems[:5])
        return _render(request, "plan_parts.html", show_parts(request.app.state, page, full=False), 422)
    page.layout = layout
    return _render(
        request, "plan_parts.html", await run_in_threadpool(show_parts, request.app.state, page, False)
    )


async def _search(
    request: Request, page: PlanPage, efforts: Sequence[Effort], seconds: float
) -> AsyncGenerator[dict[str, Any]]:
    """Lay what is chosen: at once where that is little work, else in a process that tells its best."""
    areas = await run_in_threadpool(_areas, page)
    sheet = page.entry.sheet
    if page.entry.told or not areas or sheet is None:
        return
    held, longest = page.entry.held, page.entry.joints_m
    from_job = page.origin == "job"
    try:
        small = strip_length(areas, sheet) <= SMALL_M and "thorough" not in efforts
        if small and not page.entry.compares:
            lay = partial(lay_chosen, keep_off=_lines_off(page))
            layout = await run_in_threadpool(lay, areas, sheet, held, efforts[-1])
            yield {"layout": layout, "effort": efforts[-1]}
            if not from_job:
                page.marks = await run_in_threadpool(_marks, areas, longest)
                yield {"layout": layout, "effort": efforts[-1]}
            return
        orders = {
            **orders_of(areas, sheet, held, _lines_off(page), efforts),
            "do": "lay",
            "seconds": SOFT * seconds,
            "longest_m": None if from_job else longest,
            "compare": page.entry.compares,
        }
        page.marks = page.marks if from_job else {}
        async with aclosing(work_apart(orders, seconds, request.app.state.plan_slots)) as work:
            async for told in work:
                if "problems" in told:
                    raise problems_in(told["problems"])
                if "alternatives" in told:
                    page.alternatives = told["alternatives"]
                if "marks" in told:
                    page.marks = {name: {"joints": joints} for name, joints in told["marks"].items()}
                yield told
    except Problems as error:
        page.entry.told["pick"] = " ".join(f"{p.what}; {p.fix}." for p in error.problems[:5])


def _marks(areas: list[PlanArea], longest_m: float | None) -> dict[str, Any]:
    if longest_m is None:
        return {}
    return {name: {"joints": joints} for name, joints in divide_fields(areas, longest_m).items()}


async def solve(request: Request) -> Response:
    """The layout as it gets better, a JSON line each time: ``html`` of what changed, and ``seconds``."""
    form = await _form(request)
    page = await run_in_threadpool(_read_page, request, form)
    longer = text_of(form, "search") == "longer"
    efforts: tuple[Effort, ...] = ("quick", "normal", "thorough") if longer else ("quick", "normal")
    return StreamingResponse(
        _lines(request, page, form, efforts, SEARCH_S if longer else LAY_S), media_type="application/x-ndjson"
    )


async def _lines(
    request: Request, page: PlanPage, form: FormData, efforts: Sequence[Effort], seconds: float
) -> AsyncIterator[str]:
    """One line of JSON for each thing to tell; the search ends with the last listener."""
    over = False
    try:
        async with aclosing(_search(request, page, efforts, seconds)) as search:
            async for event in search:
                if await request.is_disconnected():
                    return
                yield await _told(request, page, event)
    except TimeUpError:
        over = True
    if page.layout is None:
        if over:
            page.entry.told["pick"] = TOO_LONG
        _keep_last(request, page, form)
        yield json.dumps({"html": await run_in_threadpool(_html, request, page), "bad": True}) + "\n"
    yield json.dumps({"done": True, "over": over}) + "\n"


async def _told(request: Request, page: PlanPage, event: dict[str, Any]) -> str:
    """One event of a search as a line, with what it changes on the page."""
    line: dict[str, Any] = {"seconds": round(float(event.get("seconds", 0.0)), 1)}
    if "layout" in event:
        _take(page, event["layout"])
    if "layout" in event or ({"marks", "alternatives"} & set(event) and page.layout is not None):
        line["html"] = await run_in_threadpool(_html, request, page)
    if "laid" in event:
        line |= {"laid": event["laid"], "of": event["of"]}
    if event.get("over"):
        line["over"] = True
    if event.get("waits"):
        line["waits"] = True
    return json.dumps(line) + "\n"


def _html(request: Request, page: PlanPage) -> str:
    text: str = request.app.state.templates.get_template("plan_parts.html").render(
        **show_parts(request.app.state, page)
    )
    return text


async def save(request: Request, kind: str) -> Response:
    """What was laid as a file: DXF, GeoJSON, JSON, XLSX, the cut list as CSV, or the plan to scale as PDF."""
    form = await _form(request)
    page = await run_in_threadpool(_read_page, request, form)
    page.layout = _last_layout(request, form)
    if page.layout is None:
        page.entry.told["pick"] = "What was laid is gone with the program that laid it. Lay it again first."
        return _show(request, page, 422)
    told = {
        key: text_of(form, key)
        for key in ("scale", "paper", "what", "show_labels", "show_joints", "show_cable")
    }
    try:
        return await run_in_threadpool(save_plan, kind, page, told, _book(request), request.app.state.today())
    except Problems as error:
        page.entry.told["save"] = " ".join(f"{p.what}; {p.fix}." for p in error.problems)
        return _show(request, page, 422)


async def from_job(request: Request) -> Response:
    """The outlines of a job as a plan, with the membrane, joints and cable that its answer names."""
    form, book = await _form(request), _book(request)
    today = request.app.state.today()
    entered = await run_in_threadpool(pages.read_posted, form, book)
    show_job: ShowJob = request.app.state.show_job
    if entered.messages:
        job = await run_in_threadpool(pages.respond_carefully, form, book, today, full=True)
        return show_job(request, job)
    page = PlanPage(entry=first_entry(book.line, 0), state=entered.entered.state, area=entered.view.area)
    assert page.state is not None
    try:
        page.plan, page.missing = job_plan(page.state)
        page.origin = "job" if page.plan else "file"
        sheets, page.marks = await run_in_threadpool(job_marks, page.state, book, today)
    except Problems as error:
        page.problems = error.problems
        return _show(request, page, 422)
    areas = page.plan["areas"] if page.plan else []
    hand = str(page.state["areas"][page.area]["name"])
    product = sheets.get(hand) or next((sheets[a["name"]] for a in areas if sheets.get(a["name"])), "")
    page.entry = first_entry(book.line, len(areas), product)
    page.entry.at = hand
    # Areas of another sheet are laid by themselves.
    same = [n for n, area in enumerate(areas) if sheets.get(area["name"]) == page.entry.product]
    page.entry.picked = same or page.entry.picked
    if page.plan is not None and page.entry.sheet is not None:
        page.entry.held = job_held(page.state, page.plan, page.entry.sheet)
    return _show(request, page)


async def to_job(request: Request) -> Response:
    """The job with outlines out of the plan, answered; or a job that begins with them."""
    form, book = await _form(request), _book(request)
    page = await run_in_threadpool(_read_page, request, form)
    assert page.plan is not None
    go, state, row = text_of(form, "go"), page.state, page.area
    if go == "hold" and state is not None and page.entry.sheet is not None:
        state = hold_in_job(state, page.plan, page.entry.sheet, page.entry.held)
    elif go != "back" or state is None:
        try:
            state, row = take_outlines(page.state, page.plan, page.entry.picked, go)
        except Problems as error:
            page.entry.told["pick"] = " ".join(f"{p.what}; {p.fix}." for p in error.problems)
            return _show(request, page, 422)
    carried = FormData([("state", write_state(state)), ("area", str(row)), ("scope", "area")])
    today = request.app.state.today()
    job = await run_in_threadpool(pages.respond_carefully, carried, book, today, full=True)
    show_job: ShowJob = request.app.state.show_job
    return show_job(request, job)
