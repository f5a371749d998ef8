"""Judging candidates: every limit, need, contact and missing statement into one verdict a row."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from undercourse.assembly.candidates import Candidate
from undercourse.assembly.pairs import pair_states
from undercourse.base.columns import SURE, Bools, Column, Floats, NumberColumn, Truth, some
from undercourse.base.domains import Choices, Span
from undercourse.base.frame import Frame
from undercourse.facts.jobs import Area, dated_readings, said_of_today
from undercourse.judge.limits import Values, judge_limit
from undercourse.judge.results import (
    EXCEEDS,
    MEETS,
    NEEDS_FACTS,
    NEEDS_RULING,
    NO_ROW,
    NOT_APPLY,
    NOT_STATED,
    NOT_SUITABLE,
    NOT_VALID,
    OPEN,
    READY,
    SITE_OPEN,
    STOP,
    SUITABLE,
    SUITABLE_IF,
    Finding,
    Judgement,
    Requirement,
    Site,
)
from undercourse.judge.rulebook import Rulebook, in_force
from undercourse.line.comparing import applies, holds
from undercourse.line.records import Condition, Limit, MustState, Product

_NONE = NO_ROW


class Judge:
    """Judges candidates over one table of areas."""

    def __init__(self, book: Rulebook, facts: Frame, areas: Sequence[Area], date: dt.date | None) -> None:
        self.book = book
        self.facts = facts
        self.areas = areas
        self.date = date
        self.values = Values(book)
        self._shared: dict[tuple[str | bytes, ...], Finding | None] = {}
        self._today = {name: marks for name, marks in said_of_today(areas).items() if name in book.made_so}
        self._dated = dated_readings(areas)
        self._decided = book.compiled.judge(facts)
        self._decided.preload(facts)
        alone, reading = book.rules_by_reach
        self._alone = [(rule, finding) for rule in alone if (finding := self._one(rule, facts)) is not None]
        self._reading = [(rule, columns) for rule, columns in reading if self._may_apply(rule)]
        self._columns_read = sorted({name for _, columns in self._reading for name in columns})
        self._stating: dict[str, list[MustState]] = {}
        for row in book.practice.must_state:
            if self._thinkable(row.when):
                self._stating.setdefault(row.role, []).append(row)
        self._of_product: dict[str, list[Finding]] = {}

    def _thinkable(self, condition: Condition) -> bool:
        """Whether a condition's facts leave it possible in any row, whatever the candidate."""
        facts = tuple(term for term in condition.terms if term[0] in self.book.vocabulary)
        return some(self.facts.all_of(facts).may)

    def _may_apply(self, rule: Limit) -> bool:
        if self._decided.knows(rule):
            return self._decided.outcome(rule) is not None
        return self._thinkable(rule.when)

    def site(self) -> Site:
        """Ready, open or stopped before any product is looked at."""
        stops = [(rule, applies(rule, self.facts)) for rule in self.book.practice.stops]
        stops = [(rule, truth) for rule, truth in stops if some(truth.may)]
        status = np.zeros(1, dtype=np.int8)
        for _, truth in stops:
            status = np.maximum(status, np.where(truth.must, STOP, np.where(truth.may, SITE_OPEN, READY)))
        return Site(status.astype(np.int8), stops)

    def prepare(self, candidates: Sequence[Candidate]) -> None:
        """For a single area: compute each demand that takes candidate columns for all candidates at once."""
        if self.facts.rows == 1 and len(candidates) > 1:
            self.values.fill(self.facts, [candidate.frame for candidate in candidates])

    def judge(self, candidate: Candidate) -> Judgement:
        """All findings of one candidate and its verdict in every row."""
        findings: list[Finding] = []
        for role, product, present in candidate.products():
            findings += self._product(product, role, candidate, present)
        findings += self._must_state(candidate)
        findings += self._rules(candidate, findings)
        findings += _needs(candidate)
        findings += self._contacts(candidate)
        return _verdict(candidate, findings, self.facts)

    def _one(self, limit: Limit, frame: Frame, present: Truth = SURE) -> Finding | None:
        today = self._today.get(limit.demand, _NONE)
        known = None
        if self._decided.knows(limit):
            known = self._decided.outcome(limit)
            if known is None:
                return None
        return judge_limit(limit, frame, self.values, present, self._stale(limit), today, known)

    def _stale(self, limit: Limit) -> Bools:
        """Rows whose reading is older, or by another method, than the limit accepts."""
        readings = self._dated.get(limit.demand)
        if readings is None or (limit.max_age_days is None and not limit.methods):
            return _NONE
        marks = np.zeros(len(self.areas), dtype=np.bool_)
        for row, reading in readings:
            if limit.max_age_days is not None and reading.on is not None and self.date is not None:
                marks[row] = (self.date - reading.on).days > limit.max_age_days
            if limit.methods and reading.method:
                marks[row] |= reading.method not in limit.methods
        return marks

    def _product(self, product: Product, role: str, candidate: Candidate, present: Truth) -> list[Finding]:
        if present is SURE and product.id in self._of_product:
            return self._of_product[product.id]
        found = []
        shared = True
        # The rulebook judged by may hold only a part of a product's limits.
        for limit in self.book.line.products.get(product.id, product).limits:
            if in_force(limit, self.date) and self._may_apply(limit):
                finding = self._one(limit, candidate.frame, present)
                if finding is not None:
                    found.append(finding)
                    shared = shared and not self.book.candidate_columns(limit)
        found = _settled_by_rulings(found)
        if present is SURE and shared:
            self._of_product[product.id] = found
        return found

    def _rules(self, candidate: Candidate, own: Sequence[Finding]) -> list[Finding]:
        """Trade rules, each weighed against what may take precedence over it."""
        found: list[Finding] = []
        has_membrane = candidate.membrane is not None or any(
            layer.role == "membrane" for layer in candidate.layers
        )
        found += [finding for rule, finding in self._alone if has_membrane or not rule.needs_membrane]
        looks = {name: _print(candidate.frame[name]) for name in self._columns_read}
        for rule, columns in self._reading:
            if rule.needs_membrane and not has_membrane:
                continue
            # Candidates that look the same to a rule share its finding.
            key: tuple[str | bytes, ...] = (rule.id, *[looks[name] for name in columns])
            if key not in self._shared:
                self._shared[key] = self._one(rule, candidate.frame)
            finding = self._shared[key]
            if finding is not None:
                found.append(finding)
        stated: dict[str, list[Finding]] = {}
        for other in own:
            stated.setdefault(other.demand, []).append(other)
        for place, finding in enumerate(found):
            assert finding.limit is not None
            if finding.limit.yields_to == "product evidence":
                if finding.demand in stated:
                    found[place] = _yield(finding, stated[finding.demand], ("evidence:", "ruling:"))
            elif finding.limit.yields_to == "standard":
                others = [f for f in found if f is not finding and f.demand == finding.demand]
                found[place] = _yield(finding, others, ("standard:",))
        return found

    def _must_state(self, candidate: Candidate) -> list[Finding]:
        """What a product of a role must state under a condition and does not."""
        found = []
        foreign = [layer for layer in candidate.layers if layer.role == "membrane" and layer.product is None]
        if foreign:
            status = np.array([NOT_STATED], dtype=np.int8)
            kind = foreign[0].kind or "membrane"
            reason = f"The {kind} is not of this line: its maker's limits are not known here."
            found.append(
                Finding(
                    "foreign membrane", "membrane_kind", status, SURE, reason=reason, basis="no line data"
                )
            )
        for role, product, present in candidate.products():
            for row in self._stating.get(role, ()):
                if row.kinds and product.kind not in row.kinds:
                    continue
                asked = holds(row.when, candidate.frame) & present
                if not some(asked.may):
                    continue
                stated = Truth(_NONE, _NONE)
                for limit in product.limits:
                    counts = limit.demand == row.demand and limit.comparison != "not_stated"
                    if counts and not limit.from_memory and in_force(limit, self.date):
                        stated = stated | applies(limit, candidate.frame)
                missing = asked.must & ~stated.may
                unsure = asked.may & ~stated.must & ~missing
                if some(missing) or some(unsure):
                    status = np.where(missing, NOT_STATED, np.where(unsure, OPEN, NOT_APPLY)).astype(np.int8)
                    reason = row.because or f"{product.name} states no limit of {row.demand} for this floor."
                    found.append(
                        Finding(
                            f"must state: {row.demand}",
                            row.demand,
                            status,
                            asked,
                            product=product.id,
                            reason=reason,
                            basis=row.basis,
                            reads=_stating_facts(row, product),
                        )
                    )
        return found

    def _contacts(self, candidate: Candidate) -> list[Finding]:
        found = []
        primed = self.facts.says("surface_primed", Choices(2)) | candidate.frame.says(
            "has_primer", Choices(2)
        )
        for state in pair_states(candidate, self.book.pairs):
            if not some(state.active.may):
                continue
            fine = state.stated.must & state.allowed.must & (~state.primed.may | primed.must)
            exceeds = state.active.must & ~state.allowed.may & state.stated.must
            missing = state.active.must & ~state.stated.may
            # A primer can be made so where everything else about the contact is sure.
            primer_only = state.stated.must & state.allowed.must & ~fine
            idle = ~state.active.may
            status = np.where(
                idle,
                NOT_APPLY,
                np.where(fine, MEETS, np.where(exceeds, EXCEEDS, np.where(missing, NOT_STATED, OPEN))),
            ).astype(np.int8)
            if (status == MEETS).all() and not state.because:
                continue
            settled = np.asarray((status == OPEN) & primer_only)
            needed = (Requirement("surface_primed", Choices(2), settled),) if some(settled) else ()
            found.append(
                Finding(
                    f"{state.upper} on {state.lower}",
                    "contact",
                    status,
                    state.active,
                    settled=settled,
                    requirements=needed,
                    reason=state.because or "Whether the one may lie directly on the other.",
                    basis=state.basis,
                    reads=("top_surface",) if state.lower == "the existing surface" else (),
                )
            )
        return found


def _stating_facts(row: MustState, product: Product) -> tuple[str, ...]:
    """The facts on which it turns whether a limit must be, and is, stated."""
    names = [name for name, _ in row.when.terms]
    for limit in product.limits:
        if limit.demand == row.demand:
            names += [name for name, _ in limit.when.terms]
    return tuple(dict.fromkeys(names))


def _settled_by_rulings(findings: list[Finding]) -> list[Finding]:
    """What is not stated, or not valid here, gives way to a ruling on the same demand in its scope."""
    rulings = [f for f in findings if f.limit is not None and f.limit.ruling is not None]
    if not rulings:
        return findings
    settled = []
    for finding in findings:
        for ruling in rulings:
            if ruling.demand != finding.demand or ruling is finding:
                continue
            missing = (finding.status == NOT_STATED) | (finding.status == NOT_VALID)
            inside = missing & ruling.applies.must
            perhaps = missing & ruling.applies.may & ~inside
            if some(inside | perhaps):
                codes = np.where(inside, np.int8(NOT_APPLY), finding.status)
                names = tuple(name for name, _ in ruling.limit.when.terms) if ruling.limit else ()
                finding = replace(
                    finding,
                    status=np.where(perhaps, np.int8(OPEN), codes),
                    overridden_by=ruling.basis if some(inside) else finding.overridden_by,
                    overridden=finding.overridden | inside,
                    reads=(*finding.reads, *names),
                )
        settled.append(finding)
    return settled


def _print(column: Column) -> bytes:
    """A column's content as a key."""
    if isinstance(column, NumberColumn):
        return column.low.tobytes() + column.high.tobytes()
    return column.bits.tobytes()


def _yield(finding: Finding, others: Sequence[Finding], bases: tuple[str, ...]) -> Finding:
    """A rule that gives way where another, stronger statement on the same demand is met.

    Where that statement may still come to be met, a rule that is exceeded is not yet decisive.
    """
    taken: Bools = _NONE
    perhaps: Bools = _NONE
    by = ""
    reads: list[str] = []
    for other in others:
        if other.limit is None or not other.basis.startswith(bases):
            continue
        met, waiting = other.status == MEETS, other.status == OPEN
        holds_there = met & other.applies.must
        could = (met | waiting) & other.applies.may
        if some(holds_there):
            taken = taken | holds_there
            by = by or f"{other.product or other.label} ({other.basis})"
        if some(could):
            perhaps = perhaps | could
            reads += _names(other.limit)
    exceeds = finding.status == EXCEEDS
    touched = taken & (exceeds | (finding.status == OPEN))
    unsure = perhaps & ~taken & exceeds
    if not some(touched | unsure):
        return finding
    status = np.where(touched, np.int8(NOT_APPLY), np.where(unsure, np.int8(OPEN), finding.status))
    return replace(
        finding,
        status=status,
        overridden_by=by,
        overridden=touched,
        settled=finding.settled & ~touched,
        requirements=tuple(Requirement(r.fact, r.spec, r.rows & ~touched) for r in finding.requirements),
        reads=(*finding.reads, *dict.fromkeys(reads)),
    )


def _names(limit: Limit) -> list[str]:
    """The facts on which it turns whether a limit applies and its evidence carries over."""
    names = [name for name, _ in limit.when.terms]
    names += [name for name, _ in limit.unless.terms] if limit.unless else []
    return names + ([respect.fact for respect in limit.evidence.respects] if limit.evidence else [])


def _needs(candidate: Candidate) -> list[Finding]:
    """Needs that the picks leave unmet; in the asker's stack, needs that it does not mention."""
    found = []
    for state in candidate.needs:
        if state.met.must.all():
            continue
        exceeds = state.active.must & ~state.met.may
        is_open = state.active.may & ~state.met.must & ~exceeds
        status = np.where(exceeds, EXCEEDS, np.where(is_open, OPEN, NOT_APPLY)).astype(np.int8)
        reason = f"{state.need.because} Needed: {state.need.role}, {state.need.wanted}."
        settled = is_open & state.met.may
        found.append(
            Finding(
                f"need: {state.need.role}",
                "need",
                status,
                state.active,
                need=state.need,
                product=state.need.product,
                settled=np.asarray(settled),
                requirements=(Requirement(f"role:{state.need.role}", None, np.asarray(settled)),),
                reason=reason,
                basis=state.need.basis,
            )
        )
    for state in candidate.missing:
        # Whether the need applies or not, adding the layer settles it.
        rows = state.active.may
        status = np.where(rows, OPEN, NOT_APPLY).astype(np.int8)
        found.append(
            Finding(
                f"need: {state.need.role}",
                "need",
                status,
                state.active,
                need=state.need,
                product=state.need.product,
                settled=np.asarray(rows),
                requirements=(Requirement(f"role:{state.need.role}", None, np.asarray(rows)),),
                reason=f"{state.need.because} The stack names no {state.need.role}; needed: "
                f"{state.need.wanted}.",
                basis=state.need.basis,
            )
        )
    return found


def _verdict(candidate: Candidate, findings: list[Finding], facts: Frame) -> Judgement:
    rows = facts.rows
    status = np.empty((len(findings) + 1, rows), dtype=np.int8)
    settled = np.zeros((len(findings) + 1, rows), dtype=np.bool_)
    status[-1] = NOT_APPLY
    for place, finding in enumerate(findings):
        status[place] = finding.status
        if finding.settled is not _NONE:
            settled[place] = finding.settled
    bad = (status == EXCEEDS).any(axis=0)
    ruling = ((status == NOT_STATED) | (status == NOT_VALID)).any(axis=0)
    is_open = status == OPEN
    made = (is_open & settled).any(axis=0)
    asked = (is_open & ~settled).any(axis=0)
    if made.any():
        asked = asked | (made & _conflict(findings, facts))
    verdict = np.where(
        bad,
        NOT_SUITABLE,
        np.where(ruling, NEEDS_RULING, np.where(asked, NEEDS_FACTS, np.where(made, SUITABLE_IF, SUITABLE))),
    ).astype(np.int8)
    utilisation, governs = _governing(findings, status, settled)
    return Judgement(candidate, findings, verdict, utilisation, governs)


def _conflict(findings: Sequence[Finding], facts: Frame) -> Bools:
    """Rows in which one fact would have to be made two things at once."""
    allowed: dict[str, Any] = {}
    clash: Bools = _NONE
    for finding in findings:
        for need in finding.requirements:
            if need.spec is None or need.fact.startswith("role:"):
                continue
            if isinstance(need.spec, Span):
                low, high = allowed.get(need.fact, (-np.inf, np.inf))
                low = np.where(need.rows, np.maximum(low, need.spec.low), low)
                high = np.where(need.rows, np.minimum(high, need.spec.high), high)
                allowed[need.fact] = (low, high)
                clash = clash | np.asarray(low > high)
            else:
                bits = allowed.get(need.fact, np.array([(1 << 64) - 1], dtype=np.uint64))
                bits = np.where(need.rows, bits & np.uint64(need.spec.bits), bits)
                allowed[need.fact] = bits
                clash = clash | np.asarray(bits == 0)
    return clash


# Which status decides before which, by status code; what can be made so comes last.
_RANK = np.array([0, 4, 2, 3, 3, -2], dtype=np.int8)


def _governing(findings: Sequence[Finding], status: Any, settled: Any) -> tuple[Floats, NDArray[np.intp]]:
    """The limit that decides: a failing one first, then the one of greatest share used."""
    shared = [place for place, finding in enumerate(findings) if finding.utilisation is not None]
    plain = np.ones(len(status), dtype=np.bool_)
    plain[shared] = False
    rank = _RANK[status]
    rank[settled] = -1
    # A limit that is met and has no share to show never decides.
    rank[plain] = np.where(rank[plain] == 0, np.int8(-2), rank[plain])
    share = np.full((len(shared), status.shape[1]), -1.0)
    sure = np.zeros(share.shape, dtype=np.bool_)
    for row, place in enumerate(shared):
        share[row] = findings[place].utilisation
        sure[row] = findings[place].applies.must
    known = status[shared] <= EXCEEDS
    share[~known] = -1.0
    used = np.where(sure, share, -1.0).max(axis=0, initial=-1.0)
    first = rank.max(axis=0)
    score = np.where(rank == first, np.float32(-1.0), np.float32(-2.0))
    score[shared] = np.where(score[shared] > -2.0, share.astype(np.float32), np.float32(-2.0))
    governs = np.where(first <= -2, -1, score.argmax(axis=0))
    return np.where(used < 0, np.nan, used), governs
