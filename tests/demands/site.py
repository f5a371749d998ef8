"""One site written as in a job file, and what a demand makes of it."""

from __future__ import annotations

import datetime as dt

import numpy as np

from undercourse.advise.cautions import cautions_of
from undercourse.advise.evaluating import evaluate
from undercourse.base.columns import Columns, NumberColumn, Truth, spec_column
from undercourse.base.domains import read_spec
from undercourse.base.frame import Frame
from undercourse.base.units import from_si
from undercourse.demands import DEMANDS
from undercourse.facts.jobs import Area, Reading
from undercourse.files.shipped import rulebook

BOOK = rulebook(None)


def frame(**written: object) -> Frame:
    """A floor of which only what is written is known."""
    columns = Columns(BOOK.domains, 1)
    for name, raw in written.items():
        columns[name] = spec_column(read_spec(BOOK.domains[name], raw))
    return Frame(columns)


def worked(name: str, **written: object) -> tuple[float, float]:
    """Both ends of a demand in the unit of its domain."""
    demand = DEMANDS[name]
    found = demand.value(frame(**written), BOOK.tables)
    assert demand.domain.unit is not None
    return from_si(found.low.item(), demand.domain.unit), from_si(found.high.item(), demand.domain.unit)


def valid(name: str, **written: object) -> Truth:
    """Whether the formula of a demand holds there."""
    return DEMANDS[name].validity(frame(**written), BOOK.tables)


def check_validity_ends(name: str) -> None:
    """Each range of validity: inside its ends it surely holds, just beyond either it does not."""
    demand = DEMANDS[name]
    middle = {span.name: (span.low + span.high) / 2 for span in demand.valid}

    def holds(at: dict[str, float]) -> Truth:
        columns = {k: NumberColumn(np.array([v]), np.array([v])) for k, v in at.items()}
        return demand.holds(columns)

    for span in demand.valid:
        step = 1e-3 * (span.high - span.low)
        for end, inward in ((span.low, step), (span.high, -step)):
            assert holds({**middle, span.name: end}).must.all()
            assert holds({**middle, span.name: end + inward}).must.all()
            assert not holds({**middle, span.name: end - inward}).may.any()


def cautions(**written: object) -> str:
    """All cautions of an answer on a site, in one text."""
    readings = {name: Reading(read_spec(BOOK.domains[name], raw), str(raw)) for name, raw in written.items()}
    judged = evaluate([Area("here", readings)], BOOK, dt.date(2026, 11, 25))
    assert not judged.problems
    return "\n".join(item["text"] for item in cautions_of(judged, BOOK, 0, None))
