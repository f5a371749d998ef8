"""Prep: the cheapest work after which something suits, every undominated set of up to four items.

Exact. A smallest set that works clears every finding that blocks a candidate; so from any part of
it the next item can be sought among those that touch one chosen blocking finding. The search
follows, for each candidate, the blocking finding that fewest works touch, and judges all sets of a
size in one table.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.exact import tighten
from undercourse.advise.findings import number, show_text
from undercourse.advise.prep_floor import Floor, State
from undercourse.advise.prep_number import one_number
from undercourse.advise.prep_reach import Reads, enables, feasible, touched_facts
from undercourse.advise.prep_verdict import Look, Outcome
from undercourse.advise.provided import provided
from undercourse.assembly.candidates import PROPOSED
from undercourse.base.columns import pick
from undercourse.base.domains import Span
from undercourse.base.problems import Problem, Problems
from undercourse.facts.jobs import Job
from undercourse.facts.works import Cost, Gate, Work
from undercourse.judge.ranking import rank
from undercourse.judge.results import SITE_WORDS, STOP, SUITABLE_IF, VERDICT_WORDS
from undercourse.judge.rulebook import Rulebook

MOST_WORKS = 4
_DAY_S = 86400.0


@dataclass(frozen=True)
class Found:
    """One set of works after which a candidate suits."""

    state: State
    candidate: str
    verdict: str
    site: str
    outcome: Outcome


@dataclass
class Search:
    """The works that can matter on one floor, and what was found."""

    floor: Floor
    book: Rulebook
    only: tuple[str, ...] | None
    works: list[Work]
    masks: dict[str, int] = field(default_factory=dict)
    found: dict[int, Found] = field(default_factory=dict)
    judged: int = 0

    def __post_init__(self) -> None:
        for place, work in enumerate(self.works):
            for name in touched_facts(work, self.book):
                self.masks[name] = self.masks.get(name, 0) | 1 << place
        self._reads = Reads(self.book)
        self._mask_of: dict[tuple[Any, ...], int] = {}
        spec = self.floor.spec("schedule_days")
        assert isinstance(spec, Span)
        self._days_left = spec.high / _DAY_S

    def touching(self, facts: Sequence[str] | frozenset[str]) -> int:
        """The works that touch any of these facts, as bits."""
        mask = 0
        for name in facts:
            mask |= self.masks.get(name, 0)
        return mask

    def run(self, most: int = MOST_WORKS) -> list[Found]:
        """All undominated sets, cheapest first."""
        nodes = {0: State()}
        for size in range(most + 1):
            if not nodes:
                break
            reached = self._level(nodes, size < most)
            nodes = {}
            for mask in sorted(reached):
                state = self.floor.after(self._picked(mask))
                if state.days <= self._days_left + 1e-9 and not self._beaten(state):
                    nodes[mask] = state
        return self._undominated()

    def _picked(self, mask: int) -> list[Work]:
        return [work for place, work in enumerate(self.works) if mask >> place & 1]

    def _level(self, nodes: dict[int, State], go_on: bool) -> set[int]:
        """Judge the sets of one size; the sets to look at next."""
        states = list(nodes.values())
        evaluated, impossible = self.floor.judge([state.changed for state in states], self.only)
        self.judged += len(states)
        looks = [Look(judgement, evaluated, self.book) for judgement in evaluated.of_row(0)]
        reached: set[int] = set()
        for row, (mask, state) in enumerate(nodes.items()):
            if impossible[row]:
                continue
            outcomes = [look.at(row, state.weight_kg_m2) for look in looks]
            stops = _stops(evaluated, row)
            if not state.waiting and not stops and any(not outcome.blocking for outcome in outcomes):
                self._keep(mask, state, evaluated, outcomes, row)
            elif go_on:
                for outcome in outcomes:
                    reached |= self._next(mask, state, outcome, stops)
        return reached

    def _keep(
        self, mask: int, state: State, evaluated: Evaluated, outcomes: Sequence[Outcome], row: int
    ) -> None:
        good = [outcome for outcome in outcomes if not outcome.blocking]
        ranked = rank([outcome.judgement for outcome in good], self.book.line.ranking, row)
        chosen = ranked.recommended or good[0].judgement.candidate.id
        outcome = next(o for o in good if o.judgement.candidate.id == chosen)
        site = SITE_WORDS[int(np.broadcast_to(evaluated.site.status, (evaluated.facts.rows,))[row])]
        verdict = VERDICT_WORDS[int(outcome.judgement.verdict[row])]
        self.found[mask] = Found(state, chosen, verdict, site, outcome)

    def _next(self, mask: int, state: State, outcome: Outcome, stops: Sequence[frozenset[str]]) -> set[int]:
        """The sets with one more work that touches what blocks a candidate, by the narrowest block."""
        if not outcome.blocking and not stops:
            # What is done so far is enough without what waits; it is looked at as a set of its own.
            return set()
        masks = [self.touching(facts) for facts in stops]
        for finding in outcome.blocking:
            masks.append(self._finding_mask(outcome, finding))
        waiting = 0
        for work in state.waiting:
            for fact in self.floor.lacking(work, state):
                waiting |= self._enabling(work, fact)
        masks = [(touching | waiting) & ~mask for touching in masks]
        best = min(masks, key=int.bit_count)
        taken = {work.instead_of for work in self._picked(mask) if work.instead_of}
        return {
            mask | 1 << place
            for place, work in enumerate(self.works)
            if best >> place & 1 and work.instead_of not in taken
        }

    def _enabling(self, work: Work, fact: str) -> int:
        """The works that can bring about what another lacks in one fact, as bits."""
        key = ("enables", work.id, fact)
        if key not in self._mask_of:
            self._mask_of[key] = sum(
                1 << place for place, other in enumerate(self.works) if enables(other, work, fact, self.floor)
            )
        return self._mask_of[key]

    def _finding_mask(self, outcome: Outcome, place: int) -> int:
        if place < 0:
            return self.touching(outcome.facts_of(place))
        finding = outcome.judgement.findings[place]
        membrane = outcome.judgement.candidate.membrane
        own = membrane.id if membrane is not None and not outcome.judgement.candidate.proposed else ""
        key = (own, finding.label, finding.demand, finding.product, finding.reads)
        if key not in self._mask_of:
            self._mask_of[key] = self.touching(self._reads.of(finding, own))
        return self._mask_of[key]

    def _beaten(self, state: State) -> bool:
        return any(_dominates(found.state, state) for found in self.found.values())

    def _undominated(self) -> list[Found]:
        kept = []
        for mask, found in self.found.items():
            smaller = any(other != mask and other & mask == other for other in self.found)
            if not smaller and not self._beaten(found.state):
                kept.append(found)
        return sorted(kept, key=lambda f: (*f.state.burden, [work.id for work in f.state.done]))


def _dominates(first: State, second: State) -> bool:
    pairs = list(zip(first.burden, second.burden, strict=True))
    return all(a <= b + 1e-9 for a, b in pairs) and any(a < b - 1e-9 for a, b in pairs)


def _stops(evaluated: Evaluated, row: int) -> list[frozenset[str]]:
    """The facts of every site stop that surely holds."""
    found = []
    for rule, truth in evaluated.site.stops:
        if bool(np.broadcast_to(truth.must, (evaluated.facts.rows,))[row]):
            names = {name for name, _ in rule.when.terms}
            names |= {name for name, _ in rule.unless.terms} if rule.unless is not None else set()
            found.append(frozenset(names))
    return found


def search(
    evaluated: Evaluated, book: Rulebook, row: int, membrane: str = "", most: int = MOST_WORKS
) -> Search:
    """Search one area; the result's ``found`` holds every set that does, minimal or not."""
    floor = Floor(evaluated, book, row)
    only = (membrane,) if membrane else tuple(j.candidate.id for j in evaluated.judgements)
    return Search(floor, book, only, feasible(book.works.works, floor))


def prep(
    evaluated: Evaluated, book: Rulebook, row: int, membrane: str = "", most: int = MOST_WORKS
) -> dict[str, Any]:
    """What work would make something suit an area: all undominated sets, and one number that would do.

    Parameters
    ----------
    membrane : str, optional
        Only this candidate (``proposed`` for the asker's own stack); any of the line when left out.
    """
    looking = search(evaluated, book, row, membrane)
    floor = looking.floor
    already = _already(evaluated, book, row, looking.only)
    sets = [] if already else looking.run(most)
    return {
        "area": floor.area.name,
        "already": already,
        "prep": [_document(found, floor, book) for found in sets],
        "one_number": [] if already is not None else one_number(floor, book, looking.only),
        "area_m2": number(floor.area_m2),
        "area_assumed": not floor.area_is_known,
        "works_looked_at": len(looking.works),
        "sets_judged": looking.judged,
    }


def _already(evaluated: Evaluated, book: Rulebook, row: int, only: Collection[str] | None) -> str | None:
    """What suits the floor as it is, by its limits or by cases; None where nothing does."""
    if int(pick(evaluated.site.status, row)) == STOP:
        return None
    tighten(evaluated, book, row)
    judged = [one for one in evaluated.of_row(row) if only is None or one.candidate.id in only]
    good = [one for one in judged if int(one.verdict[row]) <= SUITABLE_IF]
    if not good:
        return None
    name = rank(good, book.line.ranking, row).recommended or good[0].candidate.id
    best = next(one for one in good if one.candidate.id == name)
    site = SITE_WORDS[int(pick(evaluated.site.status, row))]
    verdict = VERDICT_WORDS[int(best.verdict[row])]
    return _suits(name, verdict, len(provided(best, evaluated, book, row)), site, book)


def prep_of_answer(evaluated: Evaluated, book: Rulebook, row: int) -> dict[str, Any]:
    """The part of ``prep`` that goes into an answer."""
    found = prep(evaluated, book, row)
    return {"prep": found["prep"], "one_number": found["one_number"]}


def prep_job(job: Job, book: Rulebook, date: dt.date | None = None, membrane: str = "") -> dict[str, Any]:
    """What work would make something suit, for every area of a job.

    Raises
    ------
    Problems
        Contradictory facts, or a product that is not in the line.
    """
    known = sorted(product.id for product in book.line.of_role("membrane", job.date or date))
    if membrane and membrane not in (*known, PROPOSED):
        fix = f"write one of {', '.join(known)}, or {PROPOSED}"
        raise Problems([Problem("--membrane", f'"{membrane}" is no membrane of this line', fix)])
    if membrane == PROPOSED and not all(area.proposed for area in job.areas):
        raise Problems([Problem("--membrane", "an area proposes no stack", "write [[proposed]] layers")])
    evaluated = evaluate(job.areas, book, job.date or date)
    faults: list[Problem] = [p for row in sorted(evaluated.problems) for p in evaluated.problems[row]]
    if faults:
        raise Problems(dict.fromkeys(faults))
    areas = [prep(evaluated, book, row, membrane) for row in range(len(job.areas))]
    return {"job": job.name, "areas": areas}


def _then(found: Found, book: Rulebook) -> str:
    return _suits(found.candidate, found.verdict, found.outcome.to_provide, found.site, book)


def _suits(candidate: str, verdict: str, count: int, site: str, book: Rulebook) -> str:
    """That a candidate suits, in a sentence."""
    product = book.line.products.get(candidate)
    name = product.name if product is not None else "the asker's own stack"
    text = f"{name} is suitable"
    if verdict != "suitable":
        things = "one thing is" if count == 1 else f"{count} things are"
        text = f"{text}, provided {things} made so"
    return f"{text}." if site == "ready" else f"{text}, once the site is looked at."


def _document(found: Found, floor: Floor, book: Rulebook) -> dict[str, Any]:
    state = found.state
    costs = [*(work.cost for work in state.done), *(gate.cost for gate in state.gates.values())]
    return {
        "do": [work.do for work in state.done],
        "works": [work.id for work in state.done],
        "by_whom": [work.by_whom for work in state.done],
        "then": _then(found, book),
        "candidate": found.candidate,
        "verdict": found.verdict,
        "site": found.site,
        "cost": round(state.cost, 2),
        "currency": state.done[0].cost.currency,
        "cost_basis": _cost_basis(costs, floor),
        "days": round(state.days, 2),
        "height_m": number(state.height_m),
        "weight_kg_m2": number(state.weight_kg_m2),
        "gates": [_gate(gate, floor, book) for gate in state.gates.values()],
        "cautions": list(dict.fromkeys(work.caution for work in state.done if work.caution)),
    }


def _cost_basis(costs: Sequence[Cost], floor: Floor) -> str:
    """What a sum rests on: basis, the oldest date in it, the size of the floor."""
    bases = "; ".join(dict.fromkeys(cost.basis for cost in costs))
    size = f"{floor.area_m2:.1f} m²" + ("" if floor.area_is_known else " assumed")
    return f"{bases}, {min(cost.date for cost in costs)}, for {size}"


def _gate(gate: Gate, floor: Floor, book: Rulebook) -> dict[str, Any]:
    fact = book.vocabulary[gate.fact]
    return {
        "fact": gate.fact,
        "label": fact.label,
        "must_be": show_text(fact.domain, gate.must_be),
        "who": gate.who,
        "because": gate.because,
        "touches": gate.touches,
        "cost": round(gate.cost.fixed + gate.cost.per_m2 * floor.area_m2, 2),
        "days": gate.days,
    }
