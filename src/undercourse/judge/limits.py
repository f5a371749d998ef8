"""One limit for one candidate in every row: meets, exceeds, open, not stated, not valid here."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from undercourse.base.columns import (
    SURE,
    Bools,
    ChoiceColumn,
    Column,
    Columns,
    Floats,
    NumberColumn,
    Truth,
    some,
)
from undercourse.base.domains import Choices, Span
from undercourse.base.frame import Frame
from undercourse.demands import DEMANDS, Demand
from undercourse.judge.compiled import Outcome, allowed
from undercourse.judge.results import (
    EXCEEDS,
    MEETS,
    NO_ROW,
    NOT_APPLY,
    OPEN,
    Codes,
    Finding,
    Requirement,
)
from undercourse.judge.rulebook import Rulebook
from undercourse.judge.status import SILENT, STATUS
from undercourse.line.comparing import applies, capacity_column, compare
from undercourse.line.records import Limit

_UNSURE = NO_ROW


class Values:
    """Demand columns of one frame, computed once each."""

    def __init__(self, book: Rulebook) -> None:
        self.book = book

    def get(self, name: str, frame: Frame, gentle: bool = False) -> Column:
        """The column of a fact, candidate column or computed demand."""
        demand = self.book.demand(name)
        if demand is None:
            return frame[name]
        owner = frame if demand.takes or frame.below is None else frame.below
        found: Column = owner.keep_here(
            _key(name, gentle),
            lambda: demand.value(owner, self.book.tables, gentle),
        )
        return found

    def validity(self, demand: Demand, frame: Frame) -> Truth:
        """Where the formula of a computed demand holds."""
        if not demand.valid:
            return SURE
        owner = frame if demand.takes or frame.below is None else frame.below
        found: Truth = owner.keep_here(
            f"validity {demand.name}", lambda: demand.validity(owner, self.book.tables)
        )
        return found

    def fill(self, facts: Frame, frames: Sequence[Frame]) -> None:
        """Demands that take candidate columns, for the candidates of one area as rows of one table."""
        for name, demand in DEMANDS.items():
            if not demand.takes or name not in self.book.limited:
                continue
            stacked = Columns(frames[0].columns.domains, len(frames))
            for taken in demand.takes:
                columns = [frame[taken] for frame in frames]
                if isinstance(columns[0], NumberColumn):
                    low = [c.low for c in columns if isinstance(c, NumberColumn)]
                    high = [c.high for c in columns if isinstance(c, NumberColumn)]
                    stacked[taken] = NumberColumn(np.concatenate(low), np.concatenate(high))
                else:
                    bits = [c.bits for c in columns if isinstance(c, ChoiceColumn)]
                    stacked[taken] = ChoiceColumn(np.concatenate(bits))
            value = demand.value(Frame(stacked, facts), self.book.tables)
            low_all = np.broadcast_to(value.low, (len(frames),))
            high_all = np.broadcast_to(value.high, (len(frames),))
            for place, frame in enumerate(frames):
                end = slice(place, place + 1)
                frame.give(_key(name, False), NumberColumn(low_all[end], high_all[end]))


def _key(name: str, gentle: bool) -> str:
    return f"demand {name} {gentle}"


def judge_limit(
    limit: Limit,
    frame: Frame,
    values: Values,
    present: Truth = SURE,
    stale: Bools = _UNSURE,
    today: Bools = _UNSURE,
    known: Outcome | None = None,
) -> Finding | None:
    """Judge one limit; None where it applies nowhere.

    Parameters
    ----------
    present : Truth
        Whether the product that states the limit is in the assembly.
    stale : ndarray of bool
        Rows whose reading is too old or was taken another way than the limit asks.
    today : ndarray of bool
        Rows whose reading describes today and may be put right by the day of tiling.
    known : Outcome, optional
        What was already decided for the limit from site facts alone.
    """
    book = values.book
    if known is not None:
        concerned, within, valid = known.applies, known.within, known.valid
    else:
        concerned = applies(limit, frame)
    if present is not SURE:
        concerned = concerned & present
    if not some(concerned.may):
        return None
    value = values.get(limit.demand, frame) if limit.demand else None
    if known is None:
        within = compare(limit, value if value is not None else _NOTHING, frame)
        valid = SURE
        if limit.evidence is not None:
            valid = frame.all_of(tuple((r.fact, r.spec) for r in limit.evidence.respects))
    if stale is not NO_ROW and stale.any():
        within = Truth(within.may | stale, within.must & ~stale)
    model = book.demand(limit.demand)
    silent = _UNSURE
    if model is not None and model.model_parameter:
        # The model's own range decides only where both ends agree: it is exceeded at the gentle end
        # or not at all, and it is met where the hard end is met; between them it is silent.
        hard = within
        within = compare(limit, values.get(limit.demand, frame, gentle=True), frame)
        silent = within.must & ~hard.must
    if model is not None and model.valid:
        # A number from outside its formula's range says nothing, neither for nor against.
        sound = values.validity(model, frame)
        within = Truth(within.may | ~sound.must, within.must & sound.must)
        valid = valid & sound
    if known is not None and present is SURE:
        status = known.status
    else:
        status = _status(limit, concerned, within, valid)
        if silent is not NO_ROW:
            status = np.where(silent, np.int8(NOT_APPLY), status)
    settled, requirements = _settle(limit, frame, book, concerned, within, valid, status)
    if today is not NO_ROW and limit.demand in book.made_so:
        # What is so today says nothing of the day of tiling: it stays to be made so.
        repaired = today & ((status == EXCEEDS) | (status == MEETS))
        status = np.where(repaired, np.int8(OPEN), status)
        settled = settled | repaired
        requirements = (*requirements, Requirement(limit.demand, allowed(limit), repaired))
    has_capacity = limit.capacity.spec is not None or bool(limit.capacity.column)
    return Finding(
        limit.id,
        limit.demand,
        status,
        concerned,
        limit,
        None,
        limit.product,
        value,
        capacity_column(limit, frame) if has_capacity else None,
        settled,
        requirements,
        _utilisation(limit, book, value, frame, status),
        limit.because,
        limit.basis,
        within=within,
        respects=valid,
    )


_NOTHING = NumberColumn(np.array([0.0]), np.array([0.0]))


def _status(limit: Limit, concerned: Truth, within: Truth, valid: Truth) -> Codes:
    packed = concerned.may + concerned.must * np.int8(2)
    if limit.comparison == "not_stated":
        silent: Codes = SILENT[packed]
        return silent
    codes: Codes
    packed = packed + within.may * np.int8(4) + within.must * np.int8(8)
    if valid is not SURE:
        codes = STATUS[packed + valid.may * np.int8(16) + valid.must * np.int8(32)]
    else:
        codes = STATUS[packed + np.int8(48)]
    return codes


def _settle(
    limit: Limit,
    frame: Frame,
    book: Rulebook,
    concerned: Truth,
    within: Truth,
    valid: Truth,
    status: Codes,
) -> tuple[Bools, tuple[Requirement, ...]]:
    """Whether an open finding is settled by making facts so, and which."""
    is_open = status == OPEN
    if not some(is_open) or limit.comparison == "not_stated":
        return _UNSURE, ()
    requirements: list[Requirement] = []
    by_demand: Bools = within.must
    wanted = allowed(limit)
    if limit.demand in book.made_so and wanted is not None:
        can = within.may & ~within.must & is_open
        by_demand = by_demand | can
        if some(can):
            requirements.append(Requirement(limit.demand, wanted, can))
    by_respect: Bools = valid.must
    if limit.evidence is not None and not valid.must.all():
        by_respect, more = _settle_respects(limit, frame, book, is_open)
        requirements += more
    settled = is_open & by_demand & by_respect
    rest = is_open & ~settled
    if some(rest):
        away, more = _switch_off(limit, frame, book, rest)
        settled = settled | away
        requirements += more
    return settled, tuple(
        Requirement(r.fact, r.spec, np.asarray(r.rows & settled))
        for r in requirements
        if (r.rows & settled).any()
    )


def _settle_respects(
    limit: Limit, frame: Frame, book: Rulebook, is_open: Bools
) -> tuple[Bools, list[Requirement]]:
    assert limit.evidence is not None
    ok: Bools = np.array([True])
    found = []
    for respect in limit.evidence.respects:
        truth = frame.says(respect.fact, respect.spec)
        if respect.fact in book.made_so:
            ok = ok & truth.may
            rows = is_open & truth.may & ~truth.must
            if some(rows):
                found.append(Requirement(respect.fact, respect.spec, rows))
        else:
            ok = ok & truth.must
    return ok, found


def _switch_off(limit: Limit, frame: Frame, book: Rulebook, rest: Bools) -> tuple[Bools, list[Requirement]]:
    """Open limits that cease to apply when one of their conditions is made false."""
    for name, spec in limit.when.terms:
        if name not in book.made_so or not isinstance(spec, Choices):
            continue
        truth = frame.says(name, spec)
        rows = rest & ~truth.must
        if some(rows):
            everything = book.domains[name].everything
            assert isinstance(everything, Choices)
            return rows, [Requirement(name, Choices(everything.bits & ~spec.bits), rows)]
    return _UNSURE, []


def _utilisation(
    limit: Limit, book: Rulebook, value: Column | None, frame: Frame, status: Codes
) -> Floats | None:
    """Share of the limit used, on ratio scales only: at the unfavorable end, or where it is surely exceeded
    at the favorable one, which is what is certain."""
    if not isinstance(value, NumberColumn) or limit.comparison not in ("at_most", "at_least"):
        return None
    if not book.is_ratio(limit.demand):
        return None
    capacity = capacity_column(limit, frame)
    assert isinstance(capacity, NumberColumn)
    with np.errstate(divide="ignore", invalid="ignore"):
        if limit.comparison == "at_most":
            end = limit.capacity.spec.high if isinstance(limit.capacity.spec, Span) else capacity.low
            here = np.where(status == EXCEEDS, value.low, value.high)
            share = np.where(here <= 0, 0.0, here / end)
        else:
            end = limit.capacity.spec.low if isinstance(limit.capacity.spec, Span) else capacity.high
            here = np.where(status == EXCEEDS, value.high, value.low)
            share = np.where(np.asarray(end) <= 0, 0.0, end / here)
    found: Floats = np.where(np.isnan(share), 0.0, share)
    return found
