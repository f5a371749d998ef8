"""Areas judged again on some of their stated facts, everything else unknown."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

from undercourse.advise.cases import Case
from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.proof_words import LAYERS
from undercourse.advise.proving import kind_of
from undercourse.facts.jobs import Reading
from undercourse.judge.results import NEEDS_FACTS, Judgement
from undercourse.judge.rulebook import Rulebook


def fact_units(names: Iterable[str]) -> dict[str, tuple[str, ...]]:
    """Stated facts as they can be left out one by one; the slots of the stack go together."""
    units: dict[str, tuple[str, ...]] = {}
    for name in names:
        key = LAYERS if name.startswith("layer_") and name[6:7].isdigit() else name
        units[key] = (*units.get(key, ()), name)
    return units


class Trial:
    """One area judged again on some of its stated facts, everything else unknown."""

    def __init__(self, evaluated: Evaluated, book: Rulebook, row: int, candidate: str) -> None:
        self.area = evaluated.areas[row]
        self.book = book
        self.date = evaluated.judge.date
        self.candidate = candidate
        self.units = fact_units(self.area.readings)

    def judged(
        self, sets: Sequence[Collection[str]], cases: Sequence[Case] = ({},)
    ) -> tuple[Evaluated, Judgement]:
        """The candidate judged on each set of units, in each of some cases."""
        areas = []
        for chosen in sets:
            names = [name for unit in self.units if unit in chosen for name in self.units[unit]]
            kept = {name: self.area.readings[name] for name in names}
            for case in cases:
                said = {name: Reading(spec, "case") for name, spec in case.items()}
                areas.append(replace(self.area, readings={**kept, **said}))
        found = evaluate(areas, self.book, self.date, only={self.candidate})
        return found, of_candidate(found, 0, self.candidate)

    def verdicts(self, sets: Sequence[Collection[str]]) -> list[int]:
        """Its verdict on each set of units."""
        if not sets:
            return []
        _, judgement = self.judged(sets)
        return [int(judgement.verdict[place]) for place in range(len(sets))]


class CaseTrial(Trial):
    """As ``Trial``, where a verdict is that of a set in every case of a proof.

    The facts that the cases divide must be known as well as they are in the area, else there are more cases.
    """

    def __init__(
        self, evaluated: Evaluated, book: Rulebook, row: int, candidate: str, cases: Sequence[Case]
    ) -> None:
        super().__init__(evaluated, book, row, candidate)
        self.cases = cases
        facts = evaluated.facts.columns
        self.divided = {name: facts.spec(name, row) for case in cases for name in case}

    def verdicts(self, sets: Sequence[Collection[str]]) -> list[int]:
        """The gentlest verdict that holds in every case; facts are needed where kinds differ."""
        if not sets:
            return []
        found, judgement = self.judged(sets, [{}, *self.cases])
        verdicts = []
        for first in range(0, len(found.areas), len(self.cases) + 1):
            rows = [row for row in range(first + 1, first + len(self.cases) + 1) if row not in found.problems]
            codes = {int(judgement.verdict[row]) for row in rows}
            wider = any(found.facts.columns.spec(name, first) != spec for name, spec in self.divided.items())
            alike = len({kind_of(code) for code in codes}) == 1 and not wider
            verdicts.append(max(codes) if alike else NEEDS_FACTS)
        return verdicts


def of_candidate(evaluated: Evaluated, row: int, candidate: str) -> Judgement:
    """The judgement of a candidate by its id; KeyError where it is not judged here."""
    for judgement in evaluated.of_row(row):
        if judgement.candidate.id == candidate:
            return judgement
    raise KeyError(candidate)
