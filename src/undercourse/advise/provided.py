"""What must be made so for a candidate to suit: the shortest list, each with who and when."""

from __future__ import annotations

from typing import Any

from undercourse.advise.findings import clip, show_text
from undercourse.base.columns import Columns, lies_in, narrow, pick, spec_column
from undercourse.base.domains import Choices, Domain, Span, Spec
from undercourse.base.units import from_si
from undercourse.facts.consistency import make_consistent
from undercourse.judge.results import OPEN, Judgement
from undercourse.judge.rulebook import Rulebook


def provided(judgement: Judgement, book: Rulebook, row: int) -> list[dict[str, Any]]:
    """One line a fact or missing layer; several limits on one fact join into the strictest."""
    wanted: dict[str, tuple[Spec, list[str]]] = {}
    roles: dict[str, tuple[str, str, str]] = {}
    for finding in judgement.findings:
        if int(pick(finding.status, row)) != OPEN or not bool(pick(finding.settled, row)):
            continue
        source = finding.limit.source if finding.limit and finding.limit.source else finding.basis
        for need in finding.requirements:
            if not bool(pick(need.rows, row)):
                continue
            if need.spec is None:
                if finding.need is not None:
                    goods = [book.line.products[name].name for name in finding.need.products]
                    must = " or ".join(goods) or finding.need.wanted
                    if not bool(pick(finding.applies.must, row)):
                        must = f"{must}, if it comes to be needed"
                    roles[finding.need.role] = (must, finding.need.because, source)
                continue
            if need.fact in wanted:
                spec, sources = wanted[need.fact]
                wanted[need.fact] = (_meet(spec, need.spec), [*sources, source])
            else:
                wanted[need.fact] = (need.spec, [source])
    found = []
    implied = _implied({name: spec for name, (spec, _) in wanted.items()}, judgement, book, row)
    for fact, (spec, sources) in wanted.items():
        if fact in implied:
            continue
        if _is_empty(spec):
            # Two limits pull apart; which of them holds turns on facts that are asked first.
            continue
        row_of = book.vocabulary[fact]
        found.append(
            {
                "fact": fact,
                "label": row_of.label,
                "must_be": show_text(row_of.domain, clip(row_of.domain, spec)),
                "value": _exact(row_of.domain, clip(row_of.domain, spec)),
                "question": row_of.question,
                "by_whom": row_of.by_whom or "contractor",
                "when_checked": row_of.when_checked or "before tiling",
                "source": "; ".join(dict.fromkeys(text for text in sources if text)),
            }
        )
    for role, (must, because, source) in roles.items():
        found.append(
            {
                "fact": role,
                "label": role,
                "must_be": must,
                "question": because,
                "by_whom": "contractor",
                "when_checked": "when ordering",
                "source": source,
            }
        )
    return found


def _implied(wanted: dict[str, Spec], judgement: Judgement, book: Rulebook, row: int) -> set[str]:
    """What the rest of the list already makes so by the consistency rows, one item after another."""
    facts = judgement.candidate.frame.below
    if facts is None:
        return set()
    dropped: set[str] = set()
    for fact, spec in wanted.items():
        if not _linked(fact, wanted, book):
            continue
        table = Columns(facts.columns.domains, 1)
        for name in facts.columns:
            table[name] = spec_column(facts.columns.spec(name, row))
        for name, other in wanted.items():
            if name != fact and name not in dropped:
                clipped = spec_column(clip(table.domains[name], other))
                table[name] = narrow(table[name], clipped)
        if make_consistent(table, book.consistency):
            continue
        if bool(lies_in(table[fact], spec).must[0]):
            dropped.add(fact)
    return dropped


def _linked(fact: str, wanted: dict[str, Spec], book: Rulebook) -> bool:
    """Whether a consistency row can lead from another item of the list to this one."""
    rows = book.consistency
    return any(
        (row.fact == fact and row.other in wanted) or (row.other == fact and row.fact in wanted)
        for row in rows.at_most
    ) or any(fact in row.then and any(name in wanted for name in row.when) for row in rows.implies)


def _exact(domain: Domain, spec: Spec) -> Any:
    """The set as a job file takes it: ``{"from", "to"}`` in the fact's unit, or a list of choices."""
    if isinstance(spec, Choices):
        return domain.names(spec.bits)
    assert domain.unit is not None
    return {
        "from": float(f"{from_si(spec.low, domain.unit):.12g}"),
        "to": float(f"{from_si(spec.high, domain.unit):.12g}"),
    }


def _is_empty(spec: Spec) -> bool:
    return spec.low > spec.high if isinstance(spec, Span) else spec.bits == 0


def _meet(first: Spec, second: Spec) -> Spec:
    if isinstance(first, Span) and isinstance(second, Span):
        return Span(max(first.low, second.low), min(first.high, second.high))
    assert isinstance(first, Choices)
    assert isinstance(second, Choices)
    return Choices(first.bits & second.bits)
