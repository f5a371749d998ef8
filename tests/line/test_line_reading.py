"""A line with faults is refused with every fault, each with its file, its row and a way to mend it."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_line import faults_of, product, says, write

from undercourse.base.problems import Problems
from undercourse.files.shipped import rulebook

GOOD = {"a.toml": product("sheet-a")}


def test_small_line_reads_without_a_fault(tmp_path: Path) -> None:
    """The line that the other tests spoil is itself whole."""
    book = rulebook(write(tmp_path / "line", GOOD))
    assert list(book.line.products) == ["sheet-a"]


def test_two_products_of_one_id_are_named_with_both_files(tmp_path: Path) -> None:
    """Neither silently replaces the other."""
    problems = faults_of(tmp_path / "line", {**GOOD, "b.toml": product("sheet-a")})
    fault = says(problems, 'two products have the id "sheet-a"')
    assert "b.toml" in fault.where
    assert "a.toml" in fault.what


CASES = [
    ("no role", product("x").replace('role = "membrane"\n', ""), "needs id and role"),
    ("unknown role", product("x", role="carpet"), 'role "carpet" is not known'),
    ("unknown kind", product("x", kind="magic sheet"), 'kind "magic sheet" is no membrane kind'),
    ("unknown function", product("x", 'provides = ["levitation"]'), 'provides "levitation"'),
    ("no currency", product("x").replace('currency = "USD"\n', ""), "names no currency"),
    ("no price date", product("x").replace("price_date = 2026-09-01\n", ""), "names no date"),
    ("price in words", product("x").replace("price = 100.0", 'price = "cheap"'), "is not a number"),
    ("thickness in pounds", product("x", '\n[properties]\nthickness = "3 lb"'), "is not a length"),
    ("thickness without unit", product("x", "\n[properties]\nthickness = 3"), "is not a length"),
]
LIMITS = [
    ("unknown fact", 'demand = "joist_spaceing"\nat_most = "16 in"', 'did you mean "joist_spacing"'),
    ("wrong unit", 'demand = "joist_spacing"\nat_most = "16 lb"', "lb is a unit of mass, not of length"),
    ("no unit", 'demand = "joist_spacing"\nat_most = "16"', 'no unit; write "16 in" or "406 mm"'),
    ("two comparisons", 'demand = "joist_spacing"\nat_most = "16 in"\nat_least = "8 in"', "exactly one"),
    ("no comparison", 'demand = "joist_spacing"', "exactly one comparison"),
    ("unknown choice", 'demand = "top_surface"\none_of = ["plywod"]', 'did you mean "plywood"'),
    (
        "unknown condition",
        'demand = "joist_spacing"\nat_most = "16 in"\nwhen = { bse = "plywood" }',
        "no fact",
    ),
    ("unknown yield", 'demand = "joist_spacing"\nat_most = "16 in"\nyields_to = "me"', 'yields_to = "me"'),
    ("unknown age", 'demand = "slab_rh"\nat_most = "85 %"\nmax_age = "3 lb"', "max_age"),
    ("high before low", 'demand = "exposure"\nnever = true\nwhen = { slab_rh = "90..80 %" }', "high to low"),
    ("no such property", 'demand = "joist_spacing"\nat_most = { property = "reach" }', "not stated"),
]


@pytest.mark.parametrize(("text", "pattern"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_faulty_product_is_refused(tmp_path: Path, text: str, pattern: str) -> None:
    """The fault names the file and the product."""
    fault = says(faults_of(tmp_path / "line", {**GOOD, "bad.toml": text}), pattern)
    assert "bad.toml" in fault.where
    assert fault.fix


@pytest.mark.parametrize(("row", "pattern"), [case[1:] for case in LIMITS], ids=[case[0] for case in LIMITS])
def test_faulty_limit_is_refused(tmp_path: Path, row: str, pattern: str) -> None:
    """The fault names the row by its place and demand."""
    text = product("x", f'\n[[limit]]\n{row}\nbecause = "So it is."\nbasis = "maker\'s statement"')
    fault = says(faults_of(tmp_path / "line", {**GOOD, "bad.toml": text}), pattern)
    assert "bad.toml: x: limit 1" in fault.where


def test_limit_without_basis_or_reason_is_refused(tmp_path: Path) -> None:
    """A promise without anything behind it is none."""
    text = product("x", '\n[[limit]]\ndemand = "joist_spacing"\nat_most = "16 in"')
    problems = faults_of(tmp_path / "line", {"bad.toml": text})
    says(problems, "has no basis")
    says(problems, "gives no reason")


def test_basis_that_names_no_test_is_refused(tmp_path: Path) -> None:
    """Evidence must be there."""
    row = 'demand = "joist_spacing"\nat_most = "16 in"\nbecause = "So."\nbasis = "evidence:t-9"'
    says(faults_of(tmp_path / "line", {"bad.toml": product("x", f"\n[[limit]]\n{row}")}), "names no evidence")


def test_need_of_a_product_that_is_not_there_is_refused(tmp_path: Path) -> None:
    """Needs and successions name products of the line."""
    text = product("x", 'supersedes = "ghost"\n\n[[need]]\nrole = "primer"\nproducts = ["nobody"]')
    problems = faults_of(tmp_path / "line", {"bad.toml": text})
    says(problems, 'needs "nobody"')
    says(problems, 'supersedes "ghost"')


def test_all_faults_come_in_one_pass(tmp_path: Path) -> None:
    """Faults of several files are told together."""
    files = {
        "a.toml": product("a", role="carpet"),
        "b.toml": product("b", kind="magic"),
        "c.toml": product("a"),
    }
    problems = faults_of(tmp_path / "line", files)
    for pattern in ("carpet", "magic", "two products"):
        says(problems, pattern)


def test_folder_without_a_line_is_refused(tmp_path: Path) -> None:
    """No head, no folder, a file in place of a folder."""
    (tmp_path / "empty").mkdir()
    (tmp_path / "file").write_text("x", "utf-8")
    for name in ("empty", "missing", "file"):
        with pytest.raises(Problems):
            rulebook(tmp_path / name)


@pytest.mark.parametrize(
    ("raw", "pattern"),
    [
        (b"", "empty"),
        (b"\xff\xfe\x00", "UTF-8"),
        (b"id = \x00", "binary"),
        (b'id = "x', "bad.toml:1"),
    ],
    ids=["empty", "encoding", "binary", "syntax"],
)
def test_unreadable_product_file_is_refused(tmp_path: Path, raw: bytes, pattern: str) -> None:
    """The file is named, whatever is wrong with its bytes."""
    folder = write(tmp_path / "line", GOOD)
    (folder / "bad.toml").write_bytes(raw)
    with pytest.raises(Problems) as caught:
        rulebook(folder)
    fault = says(caught.value.problems, pattern)
    assert "bad.toml" in fault.where
