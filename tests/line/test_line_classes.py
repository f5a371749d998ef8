"""A mortar of a class meets the lesser classes that it holds, and no other.

The letters and numbers are those of ANSI A118.4 and A118.15 (F, T, E, H) and of ISO 13007-1 (C, R, F, T, E,
S, P); their meaning is set down from memory (kind = memory).
"""

from __future__ import annotations

import datetime as dt
from pathlib import Path

import pytest
from small_line import bound, product

from undercourse.advise.answers import answer
from undercourse.files.jobfiles import job_from_data
from undercourse.line.classes import any_class_meets, class_meets

MEETS = [
    ("A118.4", "A118.4"),
    ("A118.4HTE", "A118.4"),
    ("A118.4HTE", "A118.4T"),
    ("A118.4HTE", "A118.4EH"),
    ("ANSI A118.4TE", "A118.4"),
    ("A118.15F", "A118.15"),
    ("C2TE S1", "C2"),
    ("C2TE S1", "C2 S1"),
    ("C2TE S1", "C1"),
    ("C2TE S1", "C2E"),
    ("C2TE S1", "S1"),
    ("C2 S2", "C2 S1"),
    ("ISO 13007 C2TE S1 P1", "P1"),
    ("ISO 13007 C2TE S1 P2", "C1T P1"),
    ("R2 T", "R1"),
    ("ISO 13007 R2 T", "R2T"),
    ("C920", "C920"),
    ("ISO 13007 RG", "RG"),
    ("bonding flange drain", "bonding flange drain"),
]
MISSES = [
    ("A118.4", "A118.4T"),
    ("A118.4", "A118.15"),
    ("A118.15", "A118.4"),
    ("A118.1", "A118.11"),
    ("A118.11", "A118.1"),
    ("C1", "C2"),
    ("C2T", "C2E"),
    ("C2 S1", "C2 S2"),
    ("C2 P1", "P2"),
    ("R1", "R2"),
    ("R2", "C1"),
    ("C2TE S1", "A118.4"),
    ("A118.4", "C1"),
    ("CG1", "C1"),
    ("C920", "C9"),
    ("", "C1"),
    ("cement mortar", ""),
]


@pytest.mark.parametrize(("have", "want"), MEETS)
def test_class_meets_what_it_holds(have: str, want: str) -> None:
    """More letters and the higher number meet what is asked."""
    assert class_meets(have, want)


@pytest.mark.parametrize(("have", "want"), MISSES)
def test_class_does_not_meet_what_it_lacks(have: str, want: str) -> None:
    """A missing letter, a lower number and the other system of names do not."""
    assert not class_meets(have, want)


def test_any_class_of_a_product_meets_any_class_of_a_need() -> None:
    """One match is enough; without one there is none."""
    assert any_class_meets(["A118.11", "C2TE S1"], ["A118.15", "C2"])
    assert not any_class_meets(["A118.1"], ["A118.4", "A118.15"])
    assert not any_class_meets([], ["A118.4"])


@pytest.mark.parametrize(
    ("classes", "status"),
    [(["ISO 13007 C2TE S1 P1"], None), (["C1", "C2"], None), (["C1"], "exceeds"), (["A118.4"], "exceeds")],
)
def test_stack_as_proposed_meets_a_need_by_class(
    tmp_path: Path, classes: list[str], status: str | None
) -> None:
    """The asker's mortar of a better class is right, one of a lesser class is not."""
    row = '\n[[need]]\nrole = "mortar above"\nclasses = ["C2"]\nbecause = "So."\nbasis = "maker\'s statement"'
    book = bound(tmp_path / "line", {"x.toml": product("x", row)})
    stack = [{"role": "mortar above", "classes": classes}, {"role": "membrane", "product": "x"}]
    job = job_from_data({"proposed": stack}, book.vocabulary, "job")
    document = answer(job, book, dt.date(2026, 11, 25), advise=False)
    own = next(one for one in document["areas"][0]["candidates"] if one["id"] == "proposed")
    found = [
        row["status"] for row in own["findings"] if row["limit"] == "need: mortar above" and row["by"] == "x"
    ]
    assert found == ([] if status is None else [status])
