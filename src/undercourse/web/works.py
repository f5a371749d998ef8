"""Prep on the page: sets of works with what they cost, bring and need, and one number that would do."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Mapping
from typing import Any

from undercourse.advise.evaluating import evaluate
from undercourse.advise.prep import prep
from undercourse.assembly.candidates import PROPOSED
from undercourse.base.problems import Problems
from undercourse.base.units import UNITS, show_number, show_quantity
from undercourse.facts.jobs import Job
from undercourse.judge.rulebook import Rulebook
from undercourse.papers.wording import counted, sentence

ANY = "any"
# So many sets stand open; the rest fold away.
MOST_SETS = 4


def asked_works(job: Job, book: Rulebook, today: dt.date, row: int, work: str) -> dict[str, Any] | None:
    """What was asked for with a button: the works for any product, or for one; None where it is not known."""
    area, day = job.areas[row], job.date or today
    names = {product.id: product.name for product in book.line.of_role("membrane", day)}
    if area.proposed:
        names[PROPOSED] = "the asker’s own stack"
    if work != ANY and work not in names:
        return None
    evaluated = evaluate([area], book, day)
    if faults := evaluated.problems.get(0):
        raise Problems(dict.fromkeys(faults))
    found = prep(evaluated, book, 0, "" if work == ANY else work)
    return works_view(found, names.get(work, ""))


def works_view(found: Mapping[str, Any], only: str = "") -> dict[str, Any]:
    """The part of an answer, or of ``prep``, as the page shows it."""
    sets = [_set(one) for one in found["prep"]]
    return {
        "only": only,
        "already": found.get("already") or "",
        "sets": sets[:MOST_SETS] if len(sets) > MOST_SETS + 1 else sets,
        "more": sets[MOST_SETS:] if len(sets) > MOST_SETS + 1 else [],
        "numbers": found["one_number"],
    }


def _set(one: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "do": [{"what": sentence(do), "who": who} for do, who in zip(one["do"], one["by_whom"], strict=True)],
        "cost": f"{one['cost']:,.0f} {one['currency']}",
        "days": _days(float(one["days"])),
        "height": _added(one["height_m"], lambda height: show_quantity(height, UNITS["in"])),
        "weight": _added(one["weight_kg_m2"], _weight),
        "then": one["then"],
        "gates": [_gate(gate, one["currency"]) for gate in one["gates"]],
        "cautions": [sentence(text) for text in one["cautions"]],
        "basis": sentence(one["cost_basis"]),
    }


def _days(days: float) -> str:
    return counted(round(days), "day") if days >= 0.95 else "under a day" if days > 0 else "none"


def _added(value: float | None, show: Callable[[float], str]) -> str:
    """A height or a weight with its sign."""
    if value is None:
        return "not known"
    if abs(value) < 1e-9:
        return "none"
    return f"{'+' if value > 0 else '−'}{show(abs(value))}"


def _weight(weight_kg_m2: float) -> str:
    in_pounds = weight_kg_m2 * UNITS["ft"].factor ** 2 / UNITS["lb"].factor
    return f"{show_number(in_pounds, 1)} lb/ft² ({show_number(weight_kg_m2, 0)} kg/m²)"


def _gate(gate: Mapping[str, Any], currency: str) -> str:
    cost = f"{gate['cost']:,.0f} {currency}" if gate["cost"] else ""
    days = counted(round(gate["days"]), "day") if gate["days"] and gate["days"] >= 0.95 else ""
    beside = ", ".join(part for part in (cost, days) if part)
    more = f" ({beside} of the sum)" if beside else ""
    return f"First {gate['label']}: {gate['must_be']}, by {gate['who']}{more}. {sentence(gate['because'])}"
