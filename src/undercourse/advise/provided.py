"""What must be made so for a candidate to suit: the shortest list, each with who, when and by which rule."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import reduce
from typing import Any

import numpy as np

from undercourse.advise.cases import CaseJudge
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.findings import clip, show_text
from undercourse.advise.proving import Proof, Prover
from undercourse.advise.rounds import run_together
from undercourse.advise.sufficing import Item, Sufficing, meet
from undercourse.advise.witnesses import Budget
from undercourse.base.columns import pick
from undercourse.base.domains import Choices, Domain, Span, Spec
from undercourse.base.units import from_si
from undercourse.judge.results import NEEDS_FACTS, OPEN, SUITABLE_IF, Finding, Judgement
from undercourse.judge.rulebook import Rulebook
from undercourse.line.records import ROLES

# What may be spent on the lists of one area, counted in judgements: enough for the few items not plain.
BUDGET = 12_000


def provided(judgement: Judgement, evaluated: Evaluated, book: Rulebook, row: int) -> list[dict[str, Any]]:
    """What must be made so for one candidate; see ``provided_lists``."""
    return provided_lists([judgement], evaluated, book, row)[judgement.candidate.id]


def provided_lists(
    judgements: Sequence[Judgement], evaluated: Evaluated, book: Rulebook, row: int
) -> dict[str, list[dict[str, Any]]]:
    """By candidate one line a fact or missing layer, in the order in which one walks a site.

    Of a candidate that suits provided something is made so the list is enough: with it every completion
    suits; and minimal: without any one line some completion does not. Where facts are still needed it holds
    what would have to be made so besides; of other verdicts nothing is listed.
    """
    waiting = [one for one in judgements if int(one.verdict[row]) in (SUITABLE_IF, NEEDS_FACTS)]
    items = {one.candidate.id: _items(one, book, row) for one in waiting}
    ready = [one for one in waiting if int(one.verdict[row]) == SUITABLE_IF]
    if ready:
        judge = CaseJudge(evaluated, book, row, ready)
        for one in ready:
            items[one.candidate.id] += _hidden(one, items[one.candidate.id], judge, book, row)
        lists = [Sufficing(one.candidate.id, items[one.candidate.id], judge) for one in ready]
        run_together(judge, Budget(BUDGET), [one.steps() for one in lists])
        items |= {one.name: list(one.items) for one in lists}
    found = {}
    for one in waiting:
        strict = _by_fact(items[one.candidate.id], book)
        rows = [_document(fact, spec, some, book) for fact, spec, some in strict]
        found[one.candidate.id] = rows + _layers(one, book, row)
    return {one.candidate.id: found.get(one.candidate.id, []) for one in judgements}


def _settled(judgement: Judgement, row: int) -> Iterator[Finding]:
    """Open findings that making something so would settle."""
    for finding in judgement.findings:
        if int(pick(finding.status, row)) == OPEN and bool(pick(finding.settled, row)):
            yield finding


def _items(judgement: Judgement, book: Rulebook, row: int) -> list[Item]:
    """Every set of values that a finding asks of a fact; alike ones once, in the vocabulary's order."""
    wanted: dict[tuple[str, Spec], tuple[list[str], bool]] = {}
    for finding in _settled(judgement, row):
        source = finding.limit.source if finding.limit and finding.limit.source else finding.basis
        for need in finding.requirements:
            if need.spec is None or not bool(pick(need.rows, row)):
                continue
            spec = clip(book.domains[need.fact], need.spec)
            sources, plain = wanted.setdefault((need.fact, spec), ([], False))
            sources.append(source)
            wanted[need.fact, spec] = (sources, plain or _is_plain(finding, need.fact, judgement, book, row))
    order = list(book.vocabulary.facts)
    return [
        Item(fact, spec, tuple(dict.fromkeys(text for text in sources if text)), plain)
        for (fact, spec), (sources, plain) in sorted(wanted.items(), key=lambda one: order.index(one[0][0]))
    ]


def _is_plain(finding: Finding, fact: str, judgement: Judgement, book: Rulebook, row: int) -> bool:
    """Whether a finding surely fails where its fact is not made so, whatever else is."""
    limit = finding.limit
    if limit is None:
        return bool(pick(finding.applies.must, row))
    if limit.yields_to != "nobody" or limit.evidence is not None or limit.unless is not None:
        return False
    if limit.comparison != "never" and limit.demand != fact:
        return False
    frame = judgement.candidate.frame
    rest = [(name, spec) for name, spec in limit.when.terms if name != fact]
    switched = len(rest) < len(limit.when.terms)
    return (limit.comparison == "never") == switched and all(
        bool(pick(frame.says(name, spec).must, row)) for name, spec in rest
    )


def _hidden(
    judgement: Judgement, items: Sequence[Item], judge: CaseJudge, book: Rulebook, row: int
) -> list[Item]:
    """What must be made so in some case only, of a verdict that a proof by cases reached."""
    if all(
        int(pick(finding.status, row)) != OPEN or bool(pick(finding.settled, row))
        for finding in judgement.findings
    ):
        return []
    name = judgement.candidate.id
    proof = Proof(name)
    run_together(judge, Budget(), [Prover(book, [proof]).steps()])
    judged = judge.judge([leaf.case for leaf in proof.leaves] or [{}], [name])
    known = {(item.fact, item.spec) for item in items}
    found: dict[tuple[str, Spec], Item] = {}
    for place in np.flatnonzero(judged.sound).tolist():
        for item in _items(judged.judgements[name], book, place):
            if (item.fact, item.spec) not in known:
                found.setdefault((item.fact, item.spec), replace(item, plain=False))
    return list(found.values())


def _is_empty(spec: Spec) -> bool:
    return spec.low > spec.high if isinstance(spec, Span) else spec.bits == 0


def _by_fact(items: Sequence[Item], book: Rulebook) -> list[tuple[str, Spec, list[Item]]]:
    """The items of each fact together with the strictest set, in the order of the vocabulary.

    Two limits may pull apart: which of them holds turns on facts that are asked first; that fact is left out.
    """
    found: dict[str, list[Item]] = {}
    for item in items:
        found.setdefault(item.fact, []).append(item)
    order = list(book.vocabulary.facts)
    strict = [(fact, reduce(meet, (item.spec for item in some)), some) for fact, some in found.items()]
    return [one for one in sorted(strict, key=lambda one: order.index(one[0])) if not _is_empty(one[1])]


def _document(fact: str, spec: Spec, items: Sequence[Item], book: Rulebook) -> dict[str, Any]:
    """A fact that must be made so, and the rules that ask for it."""
    row = book.vocabulary[fact]
    sources = dict.fromkeys(text for item in items for text in item.sources)
    return {
        "fact": fact,
        "label": row.label,
        "must_be": show_text(row.domain, spec),
        "value": _exact(row.domain, spec),
        "question": row.question,
        "by_whom": row.by_whom or "contractor",
        "when_checked": row.when_checked or "before tiling",
        "source": "; ".join(sorted(sources)),
    }


def _layers(judgement: Judgement, book: Rulebook, row: int) -> list[dict[str, Any]]:
    """Layers that a stack lacks, each role once, in the order of roles."""
    found: dict[str, dict[str, Any]] = {}
    for finding in _settled(judgement, row):
        need = finding.need
        if need is None or not any(
            one.spec is None and bool(pick(one.rows, row)) for one in finding.requirements
        ):
            continue
        goods = [book.line.products[name].name for name in need.products]
        must = " or ".join(goods) or need.wanted
        if not bool(pick(finding.applies.must, row)):
            must = f"{must}, if it comes to be needed"
        found[need.role] = {
            "fact": need.role,
            "label": need.role,
            "must_be": must,
            "question": need.because,
            "by_whom": "contractor",
            "when_checked": "when ordering",
            "source": need.source or finding.basis,
        }
    return [
        found[role] for role in sorted(found, key=lambda role: ROLES.index(role) if role in ROLES else 99)
    ]


def _exact(domain: Domain, spec: Spec) -> Any:
    """The set as a job file takes it: ``{"from", "to"}`` in the fact's unit, or a list of choices."""
    if isinstance(spec, Choices):
        return domain.names(spec.bits)
    assert domain.unit is not None
    return {
        "from": float(f"{from_si(spec.low, domain.unit):.12g}"),
        "to": float(f"{from_si(spec.high, domain.unit):.12g}"),
    }
