"""Proofs by cases: an area, or a part of it, is cut until a candidate's verdict is closed in each case."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from undercourse.advise.cases import Case, JudgedCases
from undercourse.advise.rounds import Ask, Steps
from undercourse.advise.sweeps import concerned_facts
from undercourse.base.columns import Bools, NumberColumn
from undercourse.base.domains import Choices, Span, Spec
from undercourse.facts.vocabulary import DECIDES
from undercourse.judge.results import (
    NEEDS_FACTS,
    NEEDS_RULING,
    NOT_SUITABLE,
    OPEN,
    SUITABLE,
    SUITABLE_IF,
    Judgement,
)
from undercourse.judge.rulebook import Rulebook

# Cases of one proof that are judged in one round.
BATCH = 256


def kind_of(verdict: int) -> str:
    """Verdicts that people act on alike; empty for one that is still open."""
    if verdict in (SUITABLE, SUITABLE_IF):
        return "suits"
    return {NEEDS_RULING: "ruling", NOT_SUITABLE: "fails"}.get(verdict, "")


@dataclass(frozen=True)
class Leaf:
    """A case of a proof in which a verdict is closed."""

    case: Case
    verdict: int


@dataclass
class Proof:
    """A proof for one candidate, as far as it has come.

    ``cases`` are still to be judged. ``stuck`` where a case turns on what cases do not settle, or where there
    are more cases than ``most``. ``against`` holds the kinds of which one ends the proof; without any, two
    different kinds do. A ``firm`` proof does not let a case suit as long as something must be made so.
    """

    candidate: str
    cases: list[Case] = field(default_factory=lambda: [{}])
    against: frozenset[str] = frozenset()
    most: int = 1_000_000
    firm: bool = False
    first: tuple[str, ...] = ()
    leaves: list[Leaf] = field(default_factory=list)
    voids: list[Case] = field(default_factory=list)
    kinds: set[str] = field(default_factory=set)
    stuck: bool = False

    @property
    def differs(self) -> bool:
        """Whether a case was found that ends the proof."""
        return bool(self.kinds & self.against) if self.against else len(self.kinds) > 1

    @property
    def closed(self) -> bool:
        """Whether every case is closed alike."""
        return bool(self.leaves) and not (self.cases or self.stuck or self.differs)

    @property
    def going(self) -> bool:
        """Whether there is more to judge."""
        return bool(self.cases) and not (self.stuck or self.differs)


@dataclass
class Prover:
    """Takes several proofs forward in the same rounds, at most so many; with none named, to their end."""

    book: Rulebook
    proofs: Sequence[Proof]
    rounds: int = 1_000_000

    def steps(self) -> Steps:
        """Judge the cases of every proof that is still going, and cut those that are open."""
        for _ in range(self.rounds):
            going = [proof for proof in self.proofs if proof.going]
            if not going:
                return
            batches = [proof.cases[:BATCH] for proof in going]
            names = sorted({proof.candidate for proof in going})
            judged = yield Ask([case for batch in batches for case in batch], names)
            keys = dict.fromkeys((proof.candidate, proof.firm) for proof in going)
            tables = {(name, firm): _Cutting(judged, name, self.book, firm) for name, firm in keys}
            start = 0
            for proof, batch in zip(going, batches, strict=True):
                proof.cases = proof.cases[BATCH:]
                self._take(proof, batch, judged, start, tables[proof.candidate, proof.firm])
                start += len(batch)

    def _take(
        self, proof: Proof, batch: Sequence[Case], judged: JudgedCases, start: int, cutting: _Cutting
    ) -> None:
        """Keep the cases that are closed and cut the others."""
        for place, case in enumerate(batch, start):
            if not judged.sound[place]:
                proof.voids.append(case)
                continue
            verdict = int(cutting.codes[place])
            if verdict != NEEDS_FACTS:
                proof.leaves.append(Leaf(case, verdict))
                proof.kinds.add(kind_of(verdict))
                continue
            parts = cutting.cut(place, case, proof.first)
            proof.stuck = proof.stuck or not parts or len(proof.cases) > proof.most
            proof.cases += parts


class _Cutting:
    """Which fact to cut each open case at: the one that most of its open findings read."""

    def __init__(self, judged: JudgedCases, candidate: str, book: Rulebook, firm: bool) -> None:
        self.judged, self.book = judged, book
        judgement = judged.judgements[candidate]
        self.names, reads = _reads(judgement, book, firm)
        self._smooth = _smooth(judgement, book)
        shape = (len(judgement.findings), len(judged.sound))
        is_open = np.zeros(shape, dtype=np.bool_)
        for place, finding in enumerate(judgement.findings):
            is_open[place] = judged.own(finding.status) == OPEN
        self._order = np.where(self._open(), is_open.T.astype(np.int64) @ reads, 0)
        self.codes = judged.codes(candidate)
        if firm:
            # A layer that a need asks for is in the list; what else is open is not made so yet.
            facts = np.array([finding.need is None for finding in judgement.findings], dtype=np.bool_)
            waits = (is_open & facts[:, None]).any(axis=0) & (self.codes == SUITABLE_IF)
            self.codes = np.where(waits, np.int8(NEEDS_FACTS), self.codes)

    def _open(self) -> Bools:
        """Which facts have more than one value left, [cases, facts]."""
        found = np.zeros((len(self.judged.sound), len(self.names)), dtype=np.bool_)
        for place, name in enumerate(self.names):
            column = self.judged.table.facts[name]
            if isinstance(column, NumberColumn):
                low, high = self.judged.own(column.low), self.judged.own(column.high)
                found[:, place] = high > low * (1 + 1e-9) + 1e-12
            else:
                bits = self.judged.own(column.bits)
                found[:, place] = (bits & (bits - np.uint64(1))) != 0
        return found

    def cut(self, place: int, case: Case, first: Sequence[str]) -> list[Case]:
        """A case in two or more; none where no fact that decides is open."""
        counts = self._order[place]
        order = [at for at in np.argsort(-counts, kind="stable").tolist() if counts[at]]
        idle: list[Case] = []
        for at in sorted(order, key=lambda at: self.names[at] not in first):
            name = self.names[at]
            spec = self.judged.spec(name, place)
            inside = _cuts_inside(spec, self.book.cuts.get(name, ()))
            parts = cut_spec(spec, inside)
            if len(parts) > 1:
                cases: list[Case] = [{**case, name: part} for part in parts]
                if inside or isinstance(spec, Choices) or name in self._smooth:
                    return cases
                # Between two written numbers nothing changes but what is computed.
                idle = idle or cases
        return idle


def _smooth(judgement: Judgement, book: Rulebook) -> set[str]:
    """Facts that change something between written numbers too: something is computed from or held to them."""
    found = {name for bound in book.consistency.at_most for name in (bound.fact, bound.other)}
    for finding in judgement.findings:
        demand = book.demand(finding.demand)
        if demand is not None:
            found |= set(demand.reads)
        if finding.limit is not None and finding.limit.capacity.column:
            found |= {finding.limit.capacity.column, finding.demand}
    return found


def _reads(judgement: Judgement, book: Rulebook, made_so: bool) -> tuple[list[str], NDArray[np.int64]]:
    """The facts behind a candidate's findings, by name, and which finding reads which.

    Only those that decide, unless those that can be made so are asked for too.
    """
    behind = [
        {name for name in concerned_facts(finding, book) if made_so or book.vocabulary[name].role == DECIDES}
        for finding in judgement.findings
    ]
    names = sorted(set().union(*behind))
    found = np.zeros((len(behind), len(names)), dtype=np.int64)
    for row, some in enumerate(behind):
        found[row, [names.index(name) for name in some]] = 1
    return names, found


def _cuts_inside(spec: Spec, cuts: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Those of the cuts that part a range."""
    if isinstance(spec, Choices):
        return []
    return [cut for cut in cuts if spec.low <= cut[0] and cut[1] <= spec.high]


def cut_spec(spec: Spec, cuts: Sequence[tuple[float, float]]) -> list[Spec]:
    """A set of values in parts: each choice; a range in two, at the written limit nearest its middle.

    Parameters
    ----------
    cuts : sequence of tuple
        Where written numbers part a range: the last before and the first after. Between the two lies only
        what no comparison tells from the number itself.
    """
    if isinstance(spec, Choices):
        return [Choices(1 << place) for place in range(spec.bits.bit_length()) if spec.bits >> place & 1]
    if spec.high - spec.low <= 1e-6 * max(1.0, abs(spec.high)):
        return [spec]
    middle = (spec.low + spec.high) / 2
    inside = _cuts_inside(spec, cuts)
    last, first = min(inside, key=lambda cut: abs(cut[0] - middle)) if inside else (middle, middle)
    return [Span(spec.low, last), Span(first, spec.high)]
