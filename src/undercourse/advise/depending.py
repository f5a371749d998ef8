"""What an open verdict depends on: for each open fact the values with which a candidate may still suit.

A value counts as out only where that is proven: where no completion with it suits. That it may suit is
shown by a completion that does; where none was found the value stays in, and its line is not exact.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from functools import cached_property

import numpy as np

from undercourse.advise.cases import Case, CaseJudge, JudgedCases
from undercourse.advise.edges import Border, Edge, EdgeSearch
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.exact import Exact
from undercourse.advise.lines import IMPOSSIBLE, OUT, RULING, SUITS, UNSURE, Line, ends_of
from undercourse.advise.mending import Mender, Target
from undercourse.advise.narrowing import deciding_facts, prospect, undecided
from undercourse.advise.parts import is_point, parts_of
from undercourse.advise.proving import Proof, Prover, kind_of
from undercourse.advise.rounds import Steps, run_together
from undercourse.advise.sweeps import breakpoints
from undercourse.advise.witnesses import Budget
from undercourse.base.columns import pick
from undercourse.base.domains import Span, Spec
from undercourse.judge.results import NEEDS_RULING, OPEN, SUITABLE_IF, Finding
from undercourse.judge.rulebook import Rulebook

# Numbers tried inside a range in one round, and rounds.
INNER, ROUNDS = 60, 2
# Cases of one proof that may wait, and rounds of proving.
MOST_CASES, PROOF_ROUNDS = 48, 6
# Where more facts are open than these, values are looked into only where some value of the fact is out.
MOST_FACTS = 36
# What may be spent beside the exact verdicts.
BUDGET = 30_000
# Of what is left, what boundaries and first completions may take; the rest is for pairs and proofs.
SEARCHED = 0.6
Asked = tuple[str, str, Spec]


class Dependence:
    """The open facts of one area that decide, and what their values do to each candidate that is open.

    ``lines`` holds, by candidate and fact, the values in parts; ``witnesses`` completions that suit;
    ``left`` what is left of facts for a candidate: a completion that suits has no value that is out.

    Parameters
    ----------
    proven : mapping
        The exact verdicts of the row, as ``exact_verdicts`` gives them.
    budget : Budget
        How much may be judged, counted in judgements and not in seconds.
    """

    def __init__(
        self, evaluated: Evaluated, book: Rulebook, row: int, proven: Mapping[str, Exact], budget: Budget
    ) -> None:
        self.book, self.row, self.budget = book, row, budget
        self.waiting = undecided(evaluated, row)
        self._judge = CaseJudge(evaluated, book, row, self.waiting.values())
        self.witnesses = _witnesses(evaluated, book, row, self.waiting, proven) if self.waiting else {}
        self.lines: dict[tuple[str, str], Line] = {}
        self.left: dict[str, Case] = {name: {} for name in self.witnesses}
        facts = evaluated.facts.columns
        for name, judgement in self.waiting.items():
            for fact in deciding_facts([judgement], evaluated, book, row):
                whole = facts.spec(fact, row)
                parts = parts_of(whole, breakpoints(book, fact) if isinstance(whole, Span) else ())
                self.lines[name, fact] = Line(fact, whole, parts, [UNSURE] * len(parts))
        self.specs = {line.fact: line.whole for line in self.lines.values()}
        self._rooms: dict[tuple[str, Spec], int] = {}
        self._out: set[Asked] = set()
        self._targets: dict[Asked, Target] = {}
        if self.lines:
            self._judge_alone()
            self._narrow()
            self._search()

    def run(self, *searches: Steps, share: float = 1.0) -> None:
        """Take searches forward together, as far as a share of the budget goes; the first matter most."""
        lent = Budget(int(self.budget.left * share))
        self.budget.left -= lent.left
        run_together(self._judge, lent, searches)
        self.budget.left += lent.left

    def of(self, candidate: str) -> Iterator[Line]:
        """The lines of one candidate."""
        return (line for (name, _), line in self.lines.items() if name == candidate)

    def open_findings(self, candidate: str) -> list[Finding]:
        """What is open about a candidate in the row."""
        findings = self.waiting[candidate].findings
        return [finding for finding in findings if int(pick(finding.status, self.row)) == OPEN]

    def _judge_alone(self) -> None:
        """Judge every part as a whole, and ranges at their ends too, all else as it stands."""
        plan: dict[tuple[str, Spec], None] = {}
        for line in self.lines.values():
            for part in line.parts:
                plan |= dict.fromkeys((line.fact, spec) for spec in (part, *ends_of(part)))
        self._rooms = {key: place for place, key in enumerate(plan)}
        names = list(self.witnesses)
        self.budget.spend(len(plan), len(names))
        self._alone = self._judge.judge([{fact: spec} for fact, spec in plan], names)
        for name in names:
            self._note(name, self._alone, self._rooms)

    def _narrow(self) -> None:
        """Judge what is still unsure once more, with what is out of all other facts taken away."""
        self.left = {name: self._left(name) for name in self.left}
        for names, left in self.groups:
            if not left:
                continue
            plan: dict[tuple[str, Spec], None] = {}
            for line in (line for name in names for line in self.of(name) if line.matters):
                for part in (p for p, state in zip(line.parts, line.states, strict=True) if state == UNSURE):
                    plan |= dict.fromkeys((line.fact, spec) for spec in (part, *ends_of(part)))
            if not plan or not self.budget.affords(len(plan), len(names)):
                continue
            self.budget.spend(len(plan), len(names))
            judged = self._judge.judge([{**left, fact: spec} for fact, spec in plan], names)
            for name in names:
                self._note(name, judged, {key: place for place, key in enumerate(plan)})

    def _note(self, name: str, judged: JudgedCases, rooms: Mapping[tuple[str, Spec], int]) -> None:
        """Write down what single values of each fact came to."""
        codes, sound, out = judged.codes(name).tolist(), judged.sound.tolist(), judged.out(name).tolist()
        for line in self.of(name):
            for place, part in enumerate(line.parts):
                at = rooms.get((line.fact, part))
                if at is not None and line.states[place] == UNSURE:
                    line.states[place] = _state(codes[at], sound[at])
                for end in ends_of(part):
                    at = rooms.get((line.fact, end))
                    if at is not None and sound[at] and out[at]:
                        self._out.add((name, line.fact, end))

    def _left(self, name: str) -> Case:
        """What is left of the facts of which some values are out for a candidate."""
        found = {line.fact: line.left() for line in self.of(name)}
        wholes = {line.fact: line.whole for line in self.of(name)}
        return {fact: spec for fact, spec in found.items() if spec is not None and spec != wholes[fact]}

    @cached_property
    def groups(self) -> list[tuple[list[str], Case]]:
        """Candidates for which the same is left of every fact."""
        found: list[tuple[list[str], Case]] = []
        for name, left in self.left.items():
            same = next((names for names, other in found if other == left), None)
            if same is None:
                found.append(([name], left))
            else:
                same.append(name)
        return found

    def _search(self) -> None:
        """Sharpen the boundaries, and look for completions that suit with every other value."""
        sharp = [EdgeSearch(self.book, self._edges(*group), INNER, ROUNDS) for group in self.groups]
        apart = {(n, edge.fact, edge.span) for one in sharp for edge in one.edges for n in edge.candidates}
        self._targets = self._asked(apart)
        for place, ((names, _), one) in enumerate(zip(self.groups, sharp, strict=True)):
            mender = Mender(self.book, self.specs, self._unreached(names), 1)
            self.run(one.steps(), mender.steps(), share=SEARCHED / (len(sharp) - place))
            self._cut(one)
        self._settle()

    def show(self, names: Sequence[str]) -> Steps:
        """Go on looking for completions that suit candidates, at the boundaries too."""
        for key, target in self._asked(()).items():
            self._targets.setdefault(key, target)
        yield from Mender(self.book, self.specs, self._unreached(names), 2).steps()
        self._settle()

    def _unreached(self, names: Sequence[str]) -> list[Target]:
        """What is still looked for of some candidates."""
        return [target for (name, _, _), target in self._targets.items() if name in names and not target.done]

    def _settle(self) -> None:
        """Write down what was reached."""
        for (name, fact, value), target in self._targets.items():
            if target.done:
                self.lines[name, fact].shown.add(value)
        for line in self.lines.values():
            line.settle()

    def prove(self, names: Sequence[str]) -> Steps:
        """Try by cases to put the parts out for which no completion was found."""
        asked = []
        # Where no completion is known to suit, maybe none does.
        unseen = [(key, line) for key, line in self.lines.items() if not self.witnesses[key[0]]]
        for (name, _), line in [*self._looked_into(), *unseen]:
            if name not in names:
                continue
            for place, state in enumerate(line.states):
                if state == UNSURE:
                    cases: list[Case] = [{**self.left[name], line.fact: line.parts[place]}]
                    asked.append((line, place, Proof(name, cases, frozenset(("suits",)), MOST_CASES)))
        yield from Prover(self.book, [proof for _, _, proof in asked], PROOF_ROUNDS).steps()
        for line, place, proof in asked:
            suiting = [leaf.case for leaf in proof.leaves if kind_of(leaf.verdict) == "suits"]
            if proof.closed:
                line.states[place] = OUT if "fails" in proof.kinds else RULING
            elif any(case[line.fact] == line.parts[place] for case in suiting):
                line.states[place] = SUITS

    def _looked_into(self) -> Iterator[tuple[tuple[str, str], Line]]:
        """The lines whose values are looked into one by one."""
        few = len(self.specs) <= MOST_FACTS
        for key, line in self.lines.items():
            if self.witnesses[key[0]] and (few or line.matters):
                yield key, line

    def _edges(self, names: Sequence[str], left: Case) -> list[Edge]:
        """The ranges that are not out as a whole and are out at an end, of candidates that are alike."""
        found: dict[tuple[str, Span, bool], list[str]] = {}
        for name in names:
            for line in self.of(name):
                for part, state in zip(line.parts, line.states, strict=True):
                    if state != UNSURE or not isinstance(part, Span) or is_point(part):
                        continue
                    for upper, end in enumerate(ends_of(part)):
                        if (name, line.fact, end) in self._out:
                            found.setdefault((line.fact, part, bool(upper)), []).append(name)
        return [Edge(left, *key, tuple(some)) for key, some in found.items()]

    def _cut(self, sharp: EdgeSearch) -> None:
        """Cut ranges where an end of theirs begins to be out."""
        cuts: dict[tuple[str, str, Span], dict[bool, Border]] = {}
        for (at, name), border in sharp.borders().items():
            edge = sharp.edges[at]
            cuts.setdefault((name, edge.fact, edge.span), {})[edge.upper] = border
        for (name, fact, span), cut in cuts.items():
            self.lines[name, fact].cut(span, cut.get(False), cut.get(True))

    def _asked(self, apart: Collection[Asked]) -> dict[Asked, Target]:
        """Every value to look into; parts set apart are left out."""
        found = {}
        for (name, fact), line in self._looked_into():
            for value in line.unsure({part for one, other, part in apart if (one, other) == (name, fact)}):
                at = self._rooms.get((fact, value))
                room = None if at is None else (self._alone, at)
                found[name, fact, value] = Target(name, {fact: value}, self.witnesses[name], room)
        return found


def _witnesses(
    evaluated: Evaluated, book: Rulebook, row: int, waiting: Collection[str], proven: Mapping[str, Exact]
) -> dict[str, list[Case]]:
    """Completions that suit each candidate: one that was looked for, and a plausible one."""
    seen = prospect(evaluated, book, row)
    found: dict[str, list[Case]] = {}
    for name in waiting:
        one = proven[name].witness
        found[name] = [one] if one is not None else []
        if name in seen.verdicts:
            good = np.flatnonzero((seen.verdicts[name] <= SUITABLE_IF) & seen.drawn.sound)
            for place in good[-1:].tolist():
                found[name].append({fact: seen.drawn.columns.spec(fact, place) for fact in seen.drawn.names})
    return found


def _state(code: int, sound: bool) -> int:
    if not sound:
        return IMPOSSIBLE
    if code >= NEEDS_RULING:
        return RULING if code == NEEDS_RULING else OUT
    return SUITS if code <= SUITABLE_IF else UNSURE
