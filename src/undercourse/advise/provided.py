"""What must be made so for a candidate to suit: the shortest list, each with who and when."""

from __future__ import annotations

from typing import Any

from undercourse.advise.findings import clip, show_text
from undercourse.base.columns import pick
from undercourse.base.domains import Choices, Span, Spec
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
    for fact, (spec, sources) in wanted.items():
        if _is_empty(spec):
            # Two limits pull apart; which of them holds turns on facts that are asked first.
            continue
        row_of = book.vocabulary[fact]
        found.append(
            {
                "fact": fact,
                "label": row_of.label,
                "must_be": show_text(row_of.domain, clip(row_of.domain, spec)),
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


def _is_empty(spec: Spec) -> bool:
    return spec.low > spec.high if isinstance(spec, Span) else spec.bits == 0


def _meet(first: Spec, second: Spec) -> Spec:
    if isinstance(first, Span) and isinstance(second, Span):
        return Span(max(first.low, second.low), min(first.high, second.high))
    assert isinstance(first, Choices)
    assert isinstance(second, Choices)
    return Choices(first.bits & second.bits)
