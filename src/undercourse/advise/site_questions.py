"""Open facts on which it turns whether the site is stopped before any product is looked at."""

from __future__ import annotations

from math import prod
from typing import NamedTuple

from undercourse.advise.evaluating import Evaluated
from undercourse.advise.narrowing import effort_of
from undercourse.advise.plausible import share_inside, usual_here
from undercourse.base.columns import pick
from undercourse.facts.vocabulary import EFFORTS
from undercourse.judge.rulebook import Rulebook
from undercourse.line.records import Limit

# Efforts that settle a site stop on one visit, before anything about products is asked.
ON_THE_SPOT = EFFORTS[:3]
# A stop less likely than this on what is known is asked about after what narrows the answer.
LIKELY = 0.05


class SiteFact(NamedTuple):
    """An open fact on which a site stop turns."""

    name: str
    gain: float
    chance: float
    on_the_spot: bool
    reasons: tuple[str, ...]

    @property
    def comes_first(self) -> bool:
        """Whether it is asked before anything about products."""
        return self.on_the_spot and self.chance >= LIKELY


def site_facts(evaluated: Evaluated, book: Rulebook, row: int) -> list[SiteFact]:
    """Open facts that can clear an open site stop: what is asked first by its chance, then by the gain.

    The gain is the expected number of stops that a reply clears, divided by the effort: the fewest
    questions until the site is ready. The chance is that of any stop that turns on the fact, at most.
    Values weigh what the vocabulary calls usual: an assumption.
    """
    gains: dict[str, float] = {}
    chances: dict[str, float] = {}
    reasons: dict[str, list[str]] = {}
    for rule, shares in open_stops(evaluated, book, row):
        chance = prod(shares.values())
        for name, share in shares.items():
            if name == "jurisdiction":
                continue
            gains[name] = gains.get(name, 0.0) + (1.0 - share) / effort_of(book, name)
            chances[name] = min(1.0, chances.get(name, 0.0) + chance)
            reasons.setdefault(name, []).append(rule.because)
    order = sorted(gains, key=lambda name: (-gains[name], name))
    found = [
        SiteFact(
            name,
            gains[name],
            chances[name],
            book.vocabulary[name].effort in ON_THE_SPOT,
            tuple(dict.fromkeys(reasons[name])),
        )
        for name in order
    ]
    # The likeliest stop first, for the effort of finding out; how many it clears parts what is alike.
    found.sort(key=lambda one: -one.chance / effort_of(book, one.name) if one.comes_first else 0.0)
    return found


def open_stops(evaluated: Evaluated, book: Rulebook, row: int) -> list[tuple[Limit, dict[str, float]]]:
    """Stops neither sure nor out of the question, with the weight of what each open fact has in them."""
    facts = evaluated.facts.columns
    found = []
    for rule, truth in evaluated.site.stops:
        if not bool(pick(truth.may, row)) or bool(pick(truth.must, row)):
            continue
        shares = {
            name: share_inside(
                book.vocabulary[name],
                facts.spec(name, row),
                spec,
                usual_here(book.vocabulary[name], facts, row),
            )
            for name, spec in rule.when.terms
            if not bool(pick(evaluated.facts.says(name, spec).must, row))
        }
        found.append((rule, shares))
    return found
