"""Completions with one value given, mended until a candidate suits, from one that suits with another."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np

from undercourse.advise.cases import Case, JudgedCases
from undercourse.advise.parts import parts_of
from undercourse.advise.rounds import Ask, Steps
from undercourse.advise.sweeps import breakpoints, concerned_facts
from undercourse.advise.witnesses import ways_to_keep
from undercourse.base.columns import Bools
from undercourse.base.domains import Choices, Span, Spec
from undercourse.demands.record import LOWERS, RAISES
from undercourse.judge.results import EXCEEDS, NOT_STATED, NOT_VALID, OPEN, Finding
from undercourse.judge.rulebook import Rulebook

# Children of each completion in one round.
CHILDREN = 10


@dataclass
class Target:
    """Values of some facts with which a candidate is to suit.

    ``cases`` are completions to begin with, the nearest so far first. ``room`` is the values alone, judged,
    and their place there: what they leave of the other facts, for completions that contradict them.
    A target that was not reached can be taken up again: its next ``children`` are kept.
    """

    candidate: str
    given: Case
    cases: Sequence[Case]
    room: tuple[JudgedCases, int] | None
    done: bool = False
    children: Sequence[Case] = ()


@dataclass
class Mender:
    """Mends completions of several targets in the same rounds, each at most ``turns`` times."""

    book: Rulebook
    specs: Mapping[str, Spec]
    targets: Sequence[Target]
    turns: int
    rng: np.random.Generator = field(default_factory=lambda: np.random.default_rng(5))

    def steps(self) -> Steps:
        """Judge each completion, then children of it in which what fails is given other values."""
        for target in self.targets:
            target.children = target.children or [{**target.cases[0], **target.given}]
        left = list(self.targets)
        for _ in range(self.turns + 1):
            if not left:
                return
            names = sorted({target.candidate for target in left})
            judged = yield Ask([case for target in left for case in target.children], names)
            self._next(left, judged)
            left = [target for target in left if not target.done]

    def _next(self, targets: Sequence[Target], judged: JudgedCases) -> None:
        """Mark targets that are reached; of the others keep the child that fails least and breed from it."""
        failing: dict[str, Bools] = {}
        suits = {name: judged.suits(name) for name in {target.candidate for target in targets}}
        start = 0
        for target in targets:
            rows = slice(start, start + len(target.children))
            start += len(target.children)
            target.done = bool(suits[target.candidate][rows].any())
            if target.done:
                continue
            if target.candidate not in failing:
                failing[target.candidate] = _failing(judged, target.candidate)
            self._breed(target, judged, failing[target.candidate][:, rows], judged.sound[rows])

    def _breed(self, target: Target, judged: JudgedCases, fails: Bools, sound: Bools) -> None:
        """The target's next children."""
        best = int(np.where(sound, fails.sum(axis=0), 1000).argmin())
        # Other completions that suit the candidate are tried as they are before they are mended.
        bred: list[Case] = [{**case, **target.given} for case in target.cases[1:]]
        target.cases = [target.children[best]]
        if sound[best]:
            findings = judged.judgements[target.candidate].findings
            against = [findings[place] for place in np.flatnonzero(fails[:, best]).tolist()]
            bred += [self._child(target, against) for _ in range(CHILDREN)]
        else:
            rooms = _rooms(target)
            bred += [self._fitted(target, rooms) for _ in range(CHILDREN)]
        target.children = bred

    def _child(self, target: Target, findings: list[Finding]) -> Case:
        """The completion with most of what fails given other values."""
        case = dict(target.cases[0])
        for finding in findings:
            if len(findings) > 1 and self.rng.random() < 0.2:
                continue
            changed = self._mended(finding)
            case.update({name: spec for name, spec in changed.items() if name not in target.given})
        return case

    def _mended(self, finding: Finding) -> dict[str, Spec]:
        """Values for facts behind one failing finding."""
        rng = self.rng
        demand = self.book.demand(finding.demand)
        options = ways_to_keep(finding, self.specs)
        if demand is not None and finding.limit is not None and rng.random() < 0.7:
            return self._gentle(finding)
        if options and rng.random() < 0.8:
            name, spec = options[int(rng.integers(len(options)))]
            return {name: self._value(spec)}
        reads = [name for name in concerned_facts(finding, self.book) if name in self.specs]
        if not reads:
            return {}
        name = reads[int(rng.integers(len(reads)))]
        whole = self.specs[name]
        parts = parts_of(whole, breakpoints(self.book, name) if isinstance(whole, Span) else ())
        return {name: self._value(parts[int(rng.integers(len(parts)))])}

    def _gentle(self, finding: Finding) -> dict[str, Spec]:
        """The numbers behind a computed demand at their gentle ends, now and then a choice anew."""
        demand = self.book.demand(finding.demand)
        assert demand is not None
        assert finding.limit is not None
        gentle = {RAISES: 0, LOWERS: 1} if finding.limit.comparison == "at_most" else {RAISES: 1, LOWERS: 0}
        found: dict[str, Spec] = {}
        for name, way in demand.reads.items():
            spec = self.specs.get(name)
            if isinstance(spec, Span) and way in gentle:
                if self.rng.random() < 0.7:
                    end = spec[gentle[way]]
                    found[name] = Span(end, end)
            elif spec is not None and self.rng.random() < 0.3:
                found[name] = self._value(spec)
        return found

    def _fitted(self, target: Target, rooms: Case) -> Case:
        """The completion with every fact moved to where its value leaves room."""
        case = dict(target.cases[0])
        for name, room in rooms.items():
            spec = case[name]
            if isinstance(spec, Choices) and isinstance(room, Choices) and not spec.bits & room.bits:
                case[name] = self._value(room)
            elif isinstance(spec, Span) and isinstance(room, Span) and room.low <= room.high:
                value = min(max(spec.low, room.low), room.high)
                case[name] = Span(value, value)
        return {**case, **target.given}

    def _value(self, spec: Spec) -> Spec:
        """One value of a set: any choice, an end of a range or any number inside."""
        if isinstance(spec, Choices):
            places = [place for place in range(spec.bits.bit_length()) if spec.bits >> place & 1]
            return Choices(1 << int(self.rng.choice(places))) if places else spec
        value = spec.low + (spec.high - spec.low) * float(self.rng.choice([0.0, 1.0, self.rng.random()]))
        return Span(value, value)


def _rooms(target: Target) -> Case:
    """What the given values of a target leave of the facts of its nearest completion."""
    if target.room is None:
        return {}
    judged, at = target.room
    return {name: judged.spec(name, at) for name in target.cases[0]}


def _failing(judged: JudgedCases, candidate: str) -> Bools:
    """What stands against a candidate, [findings, cases]."""
    judgement = judged.judgements[candidate]
    found = np.zeros((len(judgement.findings), len(judged.sound)), dtype=np.bool_)
    for place, finding in enumerate(judgement.findings):
        status, settled = judged.own(finding.status), judged.own(finding.settled)
        found[place] = (status == EXCEEDS) | (status == NOT_STATED) | (status == NOT_VALID)
        found[place] |= (status == OPEN) & ~settled
    return found
