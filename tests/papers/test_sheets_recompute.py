"""The calculation sheets of the demo reports: read from the PDF's text and recomputed from it alone.

Arithmetic is Python's, units are SciPy's constants (CODATA, NIST SP 811); nothing of the program takes part
in the recomputing, so a number that was set wrongly, in either system, does not come out.
"""

from __future__ import annotations

import datetime as dt
import io
import random
import re
from functools import cache

import pytest
from pypdf import PdfReader
from tests.papers.sheet_reader import (
    END_OF_RESULT,
    QUANTITY,
    US_QUANTITY,
    PrintedSheet,
    faults_of,
    printed_sheets,
    read_end,
    result_of,
    rows_of,
)

from undercourse.files.demo import demo_jobs
from undercourse.files.reporting import prepare, report_pdf
from undercourse.files.shipped import rulebook

DAY = dt.date(2026, 11, 25)
JOBS = ("cafe", "heated_bath", "laundry", "terrace")
_SHARE = re.compile(r"at most (.+?), (\d+) % of it used\.")


@cache
def report(name: str) -> tuple[list[str], list[PrintedSheet]]:
    """The list in front and the sheets of a demo report, as its PDF text has them."""
    book = rulebook(None)
    job = dict(demo_jobs(book.vocabulary))[name]
    pdf = report_pdf(prepare(job, book, DAY))
    return printed_sheets(*sheet_pages(PdfReader(io.BytesIO(pdf))))


def sheet_pages(reader: PdfReader) -> tuple[list[str], int]:
    """The text of the pages from the list in front on, and the number of the first of them."""
    texts: list[str] = []
    for page in reversed(reader.pages):
        texts.insert(0, page.extract_text())
        if "\nCalculation sheets\n" in texts[0]:
            break
    return texts, len(reader.pages) - len(texts) + 1


@pytest.mark.parametrize("name", JOBS)
def test_every_sheet_comes_out_from_its_printed_inputs(name: str) -> None:
    """Each step within its rounding, both systems alike, the large number from the last step."""
    _, sheets = report(name)
    assert sheets
    worked = [sheet for sheet in sheets if rows_of(sheet)[1]]
    assert len(worked) >= 0.8 * len(sheets)
    assert [fault for sheet in sheets for fault in faults_of(sheet)] == []


@pytest.mark.parametrize("name", JOBS)
def test_list_in_front_names_every_sheet_with_its_page(name: str) -> None:
    """Number, the same large result and the page, for every sheet in order."""
    front, sheets = report(name)
    text = " ".join(front)
    for sheet, after in zip(sheets, [*sheets[1:], None], strict=True):
        title = sheet.lines[0].removeprefix(f"Sheet {sheet.number} ")[:14]
        begin = text.index(f" {sheet.number} {title}")
        row = text[begin : text.index(f" {after.number} ", begin + 4) if after else None]
        assert re.search(rf" {sheet.page}\b", row), (sheet.number, row)


@pytest.mark.parametrize("name", JOBS)
def test_share_used_is_the_result_over_the_limit(name: str) -> None:
    """What a limit allows and the share of it that is used agree with the recomputed number."""
    checked = 0
    for sheet in report(name)[1]:
        steps = rows_of(sheet)[1]
        for limit, share in _SHARE.findall(sheet.text()):
            if not steps:
                continue
            ends = result_of(sheet)
            low, high = read_end(limit)
            least = min(end[0] for end in ends) / high - 0.0051
            most = max(end[1] for end in ends) / low + 0.0051
            assert least <= int(share) / 100 <= most, f"sheet {sheet.number}: {limit}, {share} %"
            checked += 1
    assert checked


def _altered(sheet: PrintedSheet, rng: random.Random) -> PrintedSheet | None:
    """The sheet with one digit changed in one number of its inputs, steps or written lines."""
    places = []
    used = {name for step in rows_of(sheet)[1] for name in re.findall(r"[^\W\d]+", step.get("formula", ""))}
    for at, line in enumerate(sheet.lines):
        row = re.match(rf"(\S+) = ({QUANTITY})(?: ({US_QUANTITY}))?", line)
        # What is printed once and put into no formula can only be read, not checked.
        checked = row and (row.group(3) or row.group(1) in used)
        spans = [row.span(2), row.span(3)] if row and checked else []
        if "Written out: " in line:
            spans = [(line.index("Written out: "), len(line))]
        for start, end in spans:
            numbers = re.finditer(r"\d[\d,]*(?:\.\d+)?(?!\d)", line[max(start, 0) : max(end, 0)])
            places += [(at, start + n.start(), n.group(0)) for n in numbers if n.group(0).strip("0.,")]
    if not places:
        return None
    at, start, number = rng.choice(places)
    # The first digit that is not nought: a change there is never within the rounding.
    digit = next(place for place, sign in enumerate(number) if sign in "123456789")
    other = number[:digit] + str(int(number[digit]) % 9 + 1) + number[digit + 1 :]
    lines = list(sheet.lines)
    lines[at] = lines[at][:start] + other + lines[at][start + len(number) :]
    return PrintedSheet(sheet.number, sheet.page, lines)


@pytest.mark.parametrize("name", JOBS)
def test_one_digit_changed_on_paper_is_found(name: str) -> None:
    """A checker that could not fail would be no proof."""
    rng = random.Random(name)
    tried = 0
    for sheet in report(name)[1] * 3:
        wrong = _altered(sheet, rng)
        if wrong is None or not rows_of(sheet)[1]:
            continue
        tried += 1
        where = next((a, b) for a, b in zip(sheet.lines, wrong.lines, strict=True) if a != b)
        assert faults_of(wrong), where
    assert tried >= 20


@pytest.mark.parametrize("name", JOBS)
def test_large_number_changed_on_paper_is_found(name: str) -> None:
    """The number that a limit is held against, not only the steps below it."""
    for sheet in report(name)[1]:
        if not rows_of(sheet)[1]:
            continue
        place = next(place for place, line in enumerate(sheet.lines) if line.endswith("?")) + 1
        lines, end = list(sheet.lines), None
        while end is None:
            end = END_OF_RESULT.search(lines[place])
            until = end.start() if end else len(lines[place])
            head = re.sub(r"[1-9]", lambda m: str(int(m.group(0)) % 9 + 1), lines[place][:until])
            lines[place] = head + lines[place][until:]
            place += 1
        if lines != sheet.lines:
            assert faults_of(PrintedSheet(sheet.number, sheet.page, lines)), lines[place - 1]
