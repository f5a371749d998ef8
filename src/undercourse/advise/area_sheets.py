"""The calculation sheets of an area: every computed number in its answer, and what else is known enough."""

from __future__ import annotations

import math
from typing import Any

from undercourse.advise.cautions import warnings
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.findings import capacity_text, number
from undercourse.advise.sheets import sheet_document
from undercourse.base.columns import NumberColumn, pick
from undercourse.base.paired import pair_numbers
from undercourse.demands import DEMANDS, Demand
from undercourse.judge.results import NOT_APPLY, STATUS_WORDS, Finding, Judgement
from undercourse.judge.rulebook import Rulebook

# A number without a limit is shown once its far end is at most so many times its near one; a temperature
# or a difference of two, once its ends are so near each other.
_TIMES, _KELVIN = 4.0, 15.0
# A stress or a share below this many of its unit is not in play.
_NEXT_TO_NOTHING = 0.001


def chosen_judgement(evaluated: Evaluated, row: int, candidate: str | None) -> Judgement:
    """The judgement of a candidate by its id; the first of the row where it is not among them."""
    found = evaluated.of_row(row)
    return next((one for one in found if one.candidate.id == candidate), found[0])


def area_sheets(
    evaluated: Evaluated, book: Rulebook, row: int, candidate: str | None
) -> list[dict[str, Any]]:
    """The sheets of one candidate in one area, each with the limits that it is held against.

    A sheet also has both ends of its number, ``low`` and ``high`` in SI, and the key of its ``unit`` in
    ``base.paired.PAIRS``; a limit has what it allows in words and in SI, ``at_most`` or ``at_least``.

    Parameters
    ----------
    candidate : str, optional
        Id of a candidate, usually the recommended one.
    """
    judgement = chosen_judgement(evaluated, row, candidate)
    limits = _limits(judgement, book, row)
    warned = {note.limit.demand for note in warnings(judgement.candidate.frame, book, row) if note.limit}
    sheets = []
    for demand in DEMANDS.values():
        held = limits.get(demand.name, [])
        low, high = _ends(demand, judgement, book, row)
        if not held and demand.name not in warned and not _known_enough(demand, low, high):
            continue
        sheet = _sheet(demand, judgement, book, row, held)
        if held or sheet["applies"]:
            sheets.append(sheet)
    return sheets


def area_sheet(
    evaluated: Evaluated, book: Rulebook, row: int, candidate: str | None, name: str
) -> dict[str, Any]:
    """The one sheet of a demand by its name, as in `area_sheets`, however much of its number is open."""
    judgement = chosen_judgement(evaluated, row, candidate)
    held = _limits(judgement, book, row).get(name, [])
    return _sheet(DEMANDS[name], judgement, book, row, held)


def _limits(judgement: Judgement, book: Rulebook, row: int) -> dict[str, list[dict[str, Any]]]:
    """The limits that apply, by the computed demand that is held against them."""
    limits: dict[str, list[dict[str, Any]]] = {}
    for finding in judgement.findings:
        if finding.demand in DEMANDS and int(pick(finding.status, row)) != NOT_APPLY:
            limits.setdefault(finding.demand, []).append(_limit(finding, book, row))
    return limits


def _sheet(
    demand: Demand, judgement: Judgement, book: Rulebook, row: int, held: list[dict[str, Any]]
) -> dict[str, Any]:
    low, high = _ends(demand, judgement, book, row)
    ends = {"unit": demand.notation["value"].unit, "low": number(low), "high": number(high)}
    return {**sheet_document(demand, judgement.candidate.frame, book, row), **ends, "limits": held}


def _limit(finding: Finding, book: Rulebook, row: int) -> dict[str, Any]:
    share = finding.utilisation
    return {
        "limit": finding.label,
        "capacity_text": capacity_text(finding, book.domains[finding.demand], row),
        **_bounds(finding, row),
        "status": STATUS_WORDS[int(pick(finding.status, row))],
        "utilisation": None if share is None else number(float(pick(share, row))),
        "reason": finding.reason,
        "source": (finding.limit.source if finding.limit else "") or finding.basis,
        "by": _maker_of(finding, book),
    }


def _maker_of(finding: Finding, book: Rulebook) -> str:
    """Whose limit it is: the name of a product, or the trade's."""
    product = book.line.products.get(finding.product)
    return product.name if product else finding.product or "trade rule"


def _bounds(finding: Finding, row: int) -> dict[str, float | None]:
    """The number that a result may be at most, and at least, in SI; None where there is none."""
    limit, capacity = finding.limit, finding.capacity
    sides: dict[str, float | None] = {"at_most": None, "at_least": None}
    if limit is None or limit.comparison not in sides or not isinstance(capacity, NumberColumn):
        return sides
    ends = float(pick(capacity.low, row)), float(pick(capacity.high, row))
    # A limit that is a range of its own is held at its far end; one that a product states, at its near end.
    far = (limit.comparison == "at_most") is not bool(limit.capacity.column)
    end = ends[1] if far else ends[0]
    return {**sides, limit.comparison: end if math.isfinite(end) else None}


def _ends(demand: Demand, judgement: Judgement, book: Rulebook, row: int) -> tuple[float, float]:
    value = demand.value(judgement.candidate.frame, book.tables)
    assert isinstance(value, NumberColumn)
    return float(pick(value.low, row)), float(pick(value.high, row))


def _known_enough(demand: Demand, low: float, high: float) -> bool:
    """Whether a number says anything: neither nothing nor almost anything."""
    if demand.notation["value"].unit in ("c", "k"):
        return high - low <= _KELVIN
    least, most = sorted((abs(low), abs(high)))
    unit = demand.notation["value"].unit
    if unit in ("mpa", "%") and pair_numbers(most, unit)[0] < _NEXT_TO_NOTHING:
        return False
    return low * high > 0 and most <= _TIMES * least
