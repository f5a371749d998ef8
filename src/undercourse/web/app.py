"""The server: routes that read a form, call one function, and show a template. It keeps nothing."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from starlette.datastructures import FormData, UploadFile
from starlette.exceptions import HTTPException
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.staticfiles import StaticFiles

from undercourse import __version__
from undercourse.base.problems import Problem, Problems
from undercourse.files.job_text import job_json, job_toml
from undercourse.files.paper_assets import FONT_FOLDER
from undercourse.files.shipped import rulebook
from undercourse.judge.rulebook import Rulebook
from undercourse.web import pages
from undercourse.web.entries import write_changes
from undercourse.web.guard import HEADERS, Guard, TooLargeError
from undercourse.web.guide import write_guide
from undercourse.web.plan_views import PLAN_FILTERS
from undercourse.web.plans import LARGER, add_plan_routes
from undercourse.web.state import write_state
from undercourse.web.wording import plain, title

HOSTS = ["127.0.0.1", "localhost", "testserver"]
MOST_FIELDS = 4000
_HERE = Path(str(files("undercourse").joinpath("web")))
Today = Callable[[], dt.date]


def make_app(line: Path | None = None, today: Today = dt.date.today) -> FastAPI:
    """The web application for one line.

    Parameters
    ----------
    line : Path, optional
        Folder of the line; the demo line when left out.
    today : callable
        Gives the day that a job without a date is judged on.

    Raises
    ------
    Problems
        Every fault of the line.
    """
    app = FastAPI(title="Undercourse", version=__version__, docs_url=None, redoc_url=None, openapi_url=None)
    app.state.book = rulebook(line)
    app.state.today = today
    app.state.templates = _templates()
    app.mount("/static", StaticFiles(directory=_HERE / "static"), name="static")
    app.mount("/fonts", StaticFiles(directory=FONT_FOLDER), name="fonts")
    app.add_middleware(TrustedHostMiddleware, allowed_hosts=HOSTS)
    app.add_middleware(Guard, larger=LARGER)
    for path, view, method in (
        ("/", start, "GET"),
        ("/", posted, "POST"),
        ("/job/{name}", demo, "GET"),
        ("/open", upload, "POST"),
        ("/later", later, "POST"),
        ("/calculation", calculation, "POST"),
        ("/save/{kind}", save, "POST"),
    ):
        app.add_api_route(
            path,
            view,
            methods=["GET", "HEAD"] if method == "GET" else [method],
            response_class=HTMLResponse,
            include_in_schema=False,
        )
    add_plan_routes(app, _job_page)
    app.add_exception_handler(Problems, _show_problems)
    app.add_exception_handler(TooLargeError, _show_too_large)
    app.add_exception_handler(HTTPException, _show_status)
    app.add_exception_handler(Exception, _show_fault)
    return app


def _templates() -> Environment:
    made = Environment(
        loader=FileSystemLoader(_HERE / "templates"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters |= {"plain": plain, "title_words": title}
    made.filters |= {"state": write_state, "changes": write_changes, "guide": write_guide}
    made.filters |= PLAN_FILTERS
    made.globals["version"] = __version__
    return made


def _render(request: Request, template: str, status: int = 200, **context: Any) -> HTMLResponse:
    text = request.app.state.templates.get_template(template).render(**context)
    return HTMLResponse(text, status)


def _book(request: Request) -> Rulebook:
    book: Rulebook = request.app.state.book
    return book


async def _form(request: Request) -> FormData:
    return await request.form(max_files=1, max_fields=MOST_FIELDS, max_part_size=1_000_000)


async def start(request: Request) -> Response:
    """The first page: pick a job, start an empty one, open a file."""
    return _start_page(request)


def _start_page(request: Request, status: int = 200, problems: tuple[Problem, ...] = ()) -> HTMLResponse:
    book = _book(request)
    return _render(
        request,
        "start.html",
        status,
        jobs=pages.demo_states(book),
        line=book.basis["line"],
        problems=problems,
    )


async def demo(request: Request, name: str) -> Response:
    """A demo job, or an empty one."""
    book = _book(request)
    state = pages.demo_state(name, book)
    if state is None:
        raise HTTPException(404)
    page = await run_in_threadpool(pages.opened, state, book, request.app.state.today())
    return _job_page(request, page)


async def upload(request: Request) -> Response:
    """A job file from the asker's own disk."""
    book = _book(request)
    file = (await _form(request)).get("file")
    if not isinstance(file, UploadFile) or not file.filename:
        fix = "choose a job file in TOML or JSON first"
        return _start_page(request, 422, (Problem("job file", "no file was chosen", fix),))
    try:
        state = pages.uploaded_state(await file.read(), file.filename, book)
        page = await run_in_threadpool(pages.opened, state, book, request.app.state.today())
    except Problems as error:
        return _start_page(request, 422, error.problems)
    return _job_page(request, page)


async def posted(request: Request) -> Response:
    """The sheet as it stands: the whole page, or with a script's header only what changed at once."""
    form = await _form(request)
    quick = request.headers.get("x-stage") == "verdicts"
    page = await run_in_threadpool(
        pages.respond_carefully, form, _book(request), request.app.state.today(), full=not quick
    )
    if not quick:
        return _job_page(request, page)
    moved = not page.messages and (page.typed is None and _rebuilds(form))
    return _job_parts(request, "verdicts.html", page, with_sheet=moved)


def _rebuilds(form: FormData) -> bool:
    """Whether a button was pressed that changes the lines of the sheet."""
    go = form.get("go")
    return isinstance(go, str) and go not in ("", "answer", "find")


_LATER = {
    "advice": (pages.advised, "advice.html"),
    "guide": (pages.questioned, "guide.html"),
    "letter": (pages.written, "letter.html"),
    "drawings": (pages.pictured, "drawings.html"),
    "candidate": (pages.set_out, "candidate.html"),
    "calculations": (pages.listed, "calculations.html"),
}


async def later(request: Request) -> Response:
    """The slow parts of the answer, for a script that shows the verdicts already."""
    form = await _form(request)
    work, template = _LATER.get(request.headers.get("x-stage", ""), _LATER["advice"])
    page = await run_in_threadpool(work, form, _book(request), request.app.state.today())
    return _job_parts(request, template, page)


async def calculation(request: Request) -> Response:
    """One calculation sheet: a page of its own, or with a script's header only the sheet."""
    form, book, today = await _form(request), _book(request), request.app.state.today()
    part = request.headers.get("x-stage") == "calculation"
    try:
        page = await run_in_threadpool(pages.worked, form, book, today)
    except Problems as error:
        return _render(
            request, "unworked.html" if part else "no_calculation.html", 422, problems=error.problems
        )
    if not page.messages:
        return _job_parts(request, "worked.html" if part else "calculation.html", page)
    if part:
        told = [Problem(message.about, message.text, "mend the entry first") for message in page.messages]
        return _render(request, "unworked.html", 422, problems=told)
    page = await run_in_threadpool(pages.respond_carefully, form, book, today, full=True)
    return _job_page(request, page)


async def save(request: Request, kind: str) -> Response:
    """The job as TOML or JSON, or its report as PDF; with problems the page with messages."""
    form, book = await _form(request), _book(request)
    if kind not in ("toml", "json", "pdf"):
        raise HTTPException(404)
    today = request.app.state.today()
    entry = await run_in_threadpool(pages.read_posted, form, book)
    if entry.messages:
        page = await run_in_threadpool(pages.respond_carefully, form, book, today, full=True)
        return _job_page(request, page)
    state = entry.entered.state
    name = _file_name(str(state.get("name")))
    if kind == "json":
        return _file(job_json(state).encode(), "application/json", f"{name}.json")
    if kind == "toml":
        return _file(job_toml(state, book.vocabulary).encode(), "application/toml", f"{name}.toml")
    try:
        pdf = await run_in_threadpool(_report, state, book, today)
    except Problems:
        page = await run_in_threadpool(pages.respond_carefully, form, book, today, full=True)
        return _job_page(request, page)
    return _file(pdf, "application/pdf", f"{name}.pdf")


def _report(state: dict[str, Any], book: Rulebook, today: dt.date) -> bytes:
    from undercourse.files.reporting import prepare, report_pdf

    return report_pdf(prepare(pages.read(state, book), book, today))


def _file_name(text: str) -> str:
    name = re.sub(r"[^a-z0-9]+", "-", text.lower().encode("ascii", "ignore").decode()).strip("-")
    return name[:60] or "job"


def _file(content: bytes, kind: str, name: str) -> Response:
    return Response(
        content, media_type=kind, headers={"content-disposition": f'attachment; filename="{name}"'}
    )


def _job_page(request: Request, page: pages.Page) -> HTMLResponse:
    return _job_parts(request, "job.html", page, with_sheet=True)


def _job_parts(request: Request, template: str, page: pages.Page, with_sheet: bool = False) -> HTMLResponse:
    book = _book(request)
    sheet = pages.sheet_of(page, book) if with_sheet or template == "verdicts.html" else None
    return _render(
        request,
        template,
        422 if page.messages else 200,
        page=page,
        answer=page.answer,
        pictures=page.pictures,
        sheet=sheet,
        with_sheet=with_sheet,
        line=book.basis["line"],
        sheet_facts=book.vocabulary.facts,
    )


async def _show_problems(request: Request, error: Exception) -> Response:
    assert isinstance(error, Problems)
    return _start_page(request, 422, error.problems)


async def _show_too_large(request: Request, error: Exception) -> Response:
    what = "more was sent than the page takes"
    return _start_page(request, 413, (Problem("the page", what, "split the job, or open a smaller file"),))


async def _show_status(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    words = {403: "this page takes nothing from other sites"}
    words |= {404: "there is no such page", 405: "this address does not take that"}
    what = words.get(status, "the request could not be read")
    return _start_page(request, status, (Problem(request.url.path[:80], what, "pick a job below"),))


async def _show_fault(request: Request, error: Exception) -> Response:
    what = f"the program failed here ({type(error).__name__}); this is its fault, not yours"
    fix = "go back, undo the last entry, and tell whoever keeps the program"
    response = _start_page(request, 500, (Problem("the program", what, fix),))
    # This answer is sent from outside the guard.
    response.headers.update(HEADERS)
    return response
