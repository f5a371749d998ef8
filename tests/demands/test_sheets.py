"""Calculation sheets: what is printed can be worked through by hand and comes out as printed."""

from __future__ import annotations

import random
from typing import Any

import numpy as np
import pytest
from tests.recompute import read_printed, work_through

from undercourse.advise.demanding import demand_document, set_demand, sweep_document
from undercourse.advise.sheets import sheet_document
from undercourse.base.columns import ChoiceColumn, Columns, NumberColumn
from undercourse.base.formulas import show_formula, show_symbol
from undercourse.base.frame import Frame
from undercourse.base.paired import plain_number
from undercourse.demands import DEMANDS, Demand
from undercourse.files.shipped import rulebook
from undercourse.judge.rulebook import Rulebook

BOOK = rulebook(None)
BASES = ("sawn joists", "I-joists", "slab on ground", "suspended slab")
FLOOR = [
    "base=sawn joists", "joist_species=SPF", "joist_grade=No.2", "joist_size=2x10", "joist_plies=1",
    "joist_wet_service=no", "joist_spacing=16 in", "joist_span=13 ft 2 in", "live_load=40 psf",
    "joist_spans=1",
]  # fmt: skip


def worked_out(name: str, settings: list[str], book: Rulebook) -> dict[str, Any]:
    """A demand worked out from settings."""
    return demand_document(set_demand(name, settings, book), book)


def floor(rng: random.Random, demand: Demand) -> Frame:
    """One known floor with a known assembly, where the formula holds, else from the middle of the domains."""
    columns = Columns(BOOK.domains, 1)
    for name, domain in BOOK.domains.items():
        if name in DEMANDS:
            continue
        if domain.kind == "number":
            value = domain.low + (domain.high - domain.low) * rng.uniform(0.02, 0.5) ** rng.choice((1, 2))
            for span in demand.valid:
                if span.name == name:
                    value = rng.uniform(max(span.low, domain.low), min(span.high, domain.high))
            columns[name] = NumberColumn(np.array([value]), np.array([value]))
        else:
            # The first choice is the plainest (none, no, sound): half of the floors are plain in this.
            place = 0 if rng.random() < 0.5 else rng.randrange(len(domain.choices))
            columns[name] = ChoiceColumn(np.array([1 << place], dtype=np.uint64))
    base = BOOK.domains["base"].choices.index(rng.choice(BASES))
    columns["base"] = ChoiceColumn(np.array([1 << base], dtype=np.uint64))
    return Frame(columns)


@pytest.mark.parametrize("name", list(DEMANDS))
def test_a_sheet_comes_out_when_worked_by_hand(name: str) -> None:
    """From the printed inputs only, each printed step follows within its rounding."""
    rng = random.Random(name)
    worked = tried = 0
    while worked < 20 and tried < 600:
        tried += 1
        sheet = sheet_document(DEMANDS[name], floor(rng, DEMANDS[name]), BOOK)
        if not sheet["steps"] or not sheet["applies"]:
            continue
        worked += 1
        assert work_through(sheet["inputs"], sheet["steps"]) == []
    assert worked, "no floor of hundreds had a sheet to check"


def test_checker_finds_a_wrong_number() -> None:
    """A sheet with one digit changed does not come out."""
    sheet = worked_out("joist_live_deflection", FLOOR, BOOK)["sheet"]
    assert work_through(sheet["inputs"], sheet["steps"]) == []
    for place, step in enumerate(sheet["steps"]):
        low, high = read_printed(step["si"])
        wrong = [dict(row) for row in sheet["steps"]]
        number, _, unit = step["si"].partition(" ")
        wrong[place]["si"] = f"{plain_number(float(number.replace(',', '')) * 1.01, 5)} {unit}".strip()
        assert low <= high
        assert work_through(sheet["inputs"], wrong)


def test_formula_is_written_as_by_hand() -> None:
    """Dots, raised powers, lowered indices."""
    assert show_formula("5*w*L**4/(384*EI_n)") == "5·w·L⁴/(384·EIₙ)"
    assert show_formula("sqrt(a) - log10(b)*x**0.6") == "√(a)−log₁₀(b)·x^0.6".replace("−", " − ")
    assert show_symbol("m_t") == "mₜ"
    assert show_symbol("m_Q") == "m_Q"


def test_numbers_are_never_in_e_notation() -> None:
    """Very small and very large numbers stay readable."""
    assert plain_number(0.000012345, 3) == "0.0000123"
    assert plain_number(158_290_123.0, 5) == "158,290,000"
    assert plain_number(-0.5, 3) == "-0.5"
    assert plain_number(0.0) == "0"


def test_sweep_gives_the_single_answers() -> None:
    """Each row of a sweep is what the demand alone gives there."""
    document = sweep_document(
        set_demand("joist_live_deflection", FLOOR[:7] + FLOOR[8:], BOOK), "joist_span=8 ft..16 ft", BOOK, 5
    )
    assert [row["at_text"].split(" (")[0] for row in document["rows"]] == [
        "8 ft", "10 ft", "12 ft", "14 ft", "16 ft",
    ] or [round(row["at"]) for row in document["rows"]] == [96, 120, 144, 168, 192]  # fmt: skip
    for row in document["rows"]:
        setting = f"joist_span={row['at']} {document['along_unit']}"
        alone = worked_out("joist_live_deflection", [*FLOOR[:7], setting, *FLOOR[8:]], BOOK)
        assert alone["value"] == pytest.approx(row["high"], rel=1e-4)
