"""Verdicts that no single limit proves: in every case left some limit decides, not always the same."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from undercourse.advise.cases import Case, CaseJudge, JudgedCases
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.findings import show_text
from undercourse.advise.proof_words import because
from undercourse.advise.proving import Leaf, Proof, Prover
from undercourse.advise.rounds import run_together
from undercourse.advise.sentences import label, spec_text
from undercourse.advise.witnesses import Budget
from undercourse.base.columns import Bools, pick
from undercourse.base.domains import Choices, Domain, Span, Spec
from undercourse.judge.results import (
    EXCEEDS,
    NEEDS_FACTS,
    NOT_STATED,
    NOT_VALID,
    OPEN,
    Finding,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook

# What one proof may spend, counted in judgements.
BUDGET = 6_000
# Groups of cases that are told one by one.
MOST_TOLD = 4
_FAILS = (EXCEEDS, NOT_STATED, NOT_VALID)


def is_by_cases(judgement: Judgement, row: int) -> bool:
    """Whether a verdict was closed although its limits leave it open."""
    if int(judgement.verdict[row]) == NEEDS_FACTS:
        return False
    codes = [(int(pick(one.status, row)), bool(pick(one.settled, row))) for one in judgement.findings]
    failing = any(code in _FAILS for code, _ in codes)
    return not failing and any(code == OPEN and not settled for code, settled in codes)


def cases_of(
    judgement: Judgement, evaluated: Evaluated, book: Rulebook, row: int, first: tuple[str, ...] = ()
) -> Proof | None:
    """The proof by cases of a candidate's verdict; None where there is none within what may be spent.

    Facts named in ``first`` are divided before others.
    """
    judge = CaseJudge(evaluated, book, row, [judgement])
    proof = Proof(judgement.candidate.id, first=first)
    run_together(judge, Budget(BUDGET), [Prover(book, [proof]).steps()])
    return proof if proof.closed else None


def case_reasons(
    judgement: Judgement, evaluated: Evaluated, book: Rulebook, row: int, proof: Proof
) -> list[dict[str, str]]:
    """The limits that fail, each with the cases in which it does; none for a verdict that suits.

    What is said of a group of cases was judged for the group as a whole.
    """
    name = judgement.candidate.id
    judge = CaseJudge(evaluated, book, row, [judgement])
    judged = judge.judge([leaf.case for leaf in proof.leaves], [name])
    groups = _groups(judged, name)
    told = groups[:MOST_TOLD]
    hulls = [_hull([proof.leaves[at] for at in some], evaluated, row) for _, some in told]
    if not hulls:
        return []
    again = judge.judge(hulls, [name])
    found = []
    for at, ((place, some), hull) in enumerate(zip(told, hulls, strict=True)):
        finding = again.judgements[name].findings[place]
        surely = int(pick(finding.status, at)) in _FAILS
        where = _where(hull, book) if surely else ""
        row_of = at if surely else some[0]
        table = again if surely else judged
        document = _document(table.judgements[name].findings[place], book, table, name, row_of)
        if not surely:
            where = f"In {len(some)} of the {len(proof.leaves)} cases left"
        found.append(
            {**document, "reason": f"{where}: {document['reason']}" if where else document["reason"]}
        )
    rest = sum(len(some) for _, some in groups[MOST_TOLD:])
    if rest:
        found[-1]["reason"] += f" In the other {rest} cases other limits fail."
    return found


def _groups(judged: JudgedCases, name: str) -> list[tuple[int, list[int]]]:
    """Findings that fail, each with cases of its own: those that fail in most of the cases left first."""
    findings = judged.judgements[name].findings
    fails: Bools = np.array([np.isin(judged.own(one.status), _FAILS) for one in findings])
    left = fails.any(axis=0)
    groups = []
    while left.any():
        place = int((fails & left).sum(axis=1).argmax())
        some = fails[place] & left
        groups.append((place, np.flatnonzero(some).tolist()))
        left = left & ~some
    return groups


def _hull(leaves: Sequence[Leaf], evaluated: Evaluated, row: int) -> Case:
    """What cases have in common: by fact all the values of any; facts that may be anything are left out."""
    found: dict[str, Spec] = {}
    for name in leaves[0].case:
        specs = [leaf.case.get(name) for leaf in leaves]
        whole = evaluated.facts.columns.spec(name, row)
        known = [spec for spec in specs if spec is not None]
        if len(known) < len(specs):
            continue
        spec = known[0]
        for other in known[1:]:
            spec = _join(spec, other)
        if spec != whole:
            found[name] = spec
    return found


def _join(first: Spec, second: Spec) -> Spec:
    if isinstance(first, Span) and isinstance(second, Span):
        return Span(min(first.low, second.low), max(first.high, second.high))
    assert isinstance(first, Choices)
    assert isinstance(second, Choices)
    return Choices(first.bits | second.bits)


def _where(hull: Case, book: Rulebook) -> str:
    """A group of cases in words; empty where it is everything."""
    parts = [
        f"{label(name, book.vocabulary)} is {_text(book.domains[name], spec)}" for name, spec in hull.items()
    ]
    return f"Where {' and '.join(parts)}" if parts else ""


def _text(domain: Domain, spec: Spec) -> str:
    return spec_text(domain, spec) if isinstance(spec, Choices) else show_text(domain, spec)


def _document(finding: Finding, book: Rulebook, judged: JudgedCases, name: str, row: int) -> dict[str, str]:
    (found,) = because([finding], book, judged.judgements[name], judged.start + row)
    return found


def reasons_by_cases(
    judgement: Judgement, evaluated: Evaluated, book: Rulebook, row: int
) -> list[dict[str, Any]]:
    """Why a verdict that only cases prove stands, in a few sentences; empty where it cannot be told."""
    proof = cases_of(judgement, evaluated, book, row)
    return [] if proof is None else list(case_reasons(judgement, evaluated, book, row, proof))


__all__ = ["case_reasons", "cases_of", "is_by_cases", "reasons_by_cases"]
