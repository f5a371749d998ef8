"""The coverage page says of every demand, formula and case how it is checked; what is missing fails here."""

from __future__ import annotations

import re
import sys

import pytest

from undercourse.demands import DEMANDS

from .reading import DOCS

sys.path.insert(0, str(DOCS))

import generated
from tests import formula_coverage as coverage

PAGE = generated.fill((DOCS / "coverage.md").read_text("utf-8"))
ROWS = [
    [cell.strip() for cell in re.split(r"(?<!\\)\|", line)[1:-1]]
    for line in PAGE.splitlines()
    if line.startswith("|")
]


def rows_of(first: str) -> list[list[str]]:
    """Rows of tables whose first cell names something."""
    return [row for row in ROWS if row[0] == f"`{first}`"]


@pytest.mark.parametrize("name", list(DEMANDS))
def test_demand_is_listed_with_every_formula(name: str) -> None:
    """A demand's rows name all its formulas, each with a case or an outside solver, and its part."""
    rows = [row for row in rows_of(name) if len(row) == 7]
    assert rows
    named = {function for row in rows for function in re.findall(r"^`(\w+\.\w+)`$", row[2])}
    assert named == coverage.reaches()[name].all
    for row in rows:
        assert row[1] == ("informs" if DEMANDS[name].informs else "decides")
        assert row[3], f"{row[2]} names no source under References"
        assert row[4] or row[5] or not named, row


@pytest.mark.parametrize("function", coverage.formulas())
def test_formula_has_a_case_and_a_row(function: str) -> None:
    """No function of physics stands without a case that runs through it, nor without a row."""
    assert coverage.running().get(function), f"{function} runs in no case of tests/published"
    assert any(row[0] == f"`{function}`" or (len(row) > 1 and row[1] == f"`{function}`") for row in ROWS)


def test_every_case_has_a_row_with_its_clause() -> None:
    """Source, function and kind of every case stand in one row."""
    listed = {(row[0], row[1]) for row in ROWS if len(row) > 2}
    for case in coverage.cases():
        source = case["source"].replace("|", "\\|").strip()
        assert (source, f"`{case['name_of_function']}`") in listed, case["name"]


def test_solvers_are_named_where_they_are_used() -> None:
    """Files of outside checks exist, and each stands somewhere on the page."""
    files = {path.name for path in (coverage.ROOT / "verify").glob("test_*.py")}
    named = set(re.findall(r"test_\w+\.py", PAGE))
    assert files <= named
    assert {one for ones in coverage.outside().values() for one in ones} <= files
