"""Floors of which little is told and the truth is hidden, asked about until the answer is settled."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace

import numpy as np

from undercourse.advise.completions import draw_completions
from undercourse.advise.evaluating import Evaluated, evaluate
from undercourse.advise.narrowing import deciding_facts, undecided
from undercourse.advise.question_order import close_proven, ordered_facts
from undercourse.advise.site_questions import site_facts
from undercourse.advise.sweeps import is_open
from undercourse.advise.together import asked_with, may_be_asked, stand_in
from undercourse.base.columns import pick
from undercourse.base.domains import Spec
from undercourse.facts.jobs import Area, Reading
from undercourse.facts.vocabulary import DECIDES
from undercourse.judge.results import STOP
from undercourse.judge.rulebook import Rulebook

# What nearly everybody tells unasked, and how many facts more.
TOLD = ("exposure", "surface", "base", "finish")
TOLD_MORE = 3
MOST_ASKED = 60
Asked = tuple[str, ...]
Policy = Callable[[Evaluated, Rulebook, Collection[str]], Asked]


@dataclass(frozen=True)
class Hidden:
    """An area as it is told, and what is true of it."""

    area: Area
    truth: Mapping[str, Spec]


def hidden_floors(book: Rulebook, count: int, seed: int, date: dt.date) -> list[Hidden]:
    """Consistent floors with every deciding fact settled, drawn as usual values weigh; some facts are told."""
    rng = np.random.default_rng(seed)
    names = [
        fact.name
        for fact in book.vocabulary.facts.values()
        if fact.role == DECIDES and not fact.name.startswith("layer_")
    ]
    empty = evaluate([Area("floor", {})], book, date, only=())
    drawn = draw_completions(empty, book, 0, names, 2 * count + 20, seed)
    found = []
    for row in np.flatnonzero(drawn.sound)[:count]:
        truth = {name: drawn.columns.spec(name, int(row)) for name in names}
        more = rng.choice([name for name in names if name not in TOLD], TOLD_MORE, replace=False).tolist()
        told = {name: Reading(truth[name], "told") for name in (*TOLD, *more)}
        found.append(Hidden(Area("floor", told), truth))
    assert len(found) == count
    return found


def judged(hidden: Hidden, known: Collection[str], book: Rulebook, date: dt.date) -> Evaluated:
    """The area with more of its truth known."""
    more = {name: Reading(hidden.truth[name], "replied") for name in known}
    area = replace(hidden.area, readings={**hidden.area.readings, **more})
    return evaluate([area], book, date)


def open_questions(evaluated: Evaluated, book: Rulebook, apart: Collection[str]) -> list[Asked]:
    """Every question on which something turns, in the order of the vocabulary, as a person is asked them."""
    matter = set(deciding_facts(undecided(evaluated, 0).values(), evaluated, book, 0))
    matter |= {one.name for one in site_facts(evaluated, book, 0)}
    asked = {stand_in(evaluated, book, 0, name, apart) for name in matter - set(apart)}
    still = may_be_asked(evaluated, book, 0, apart)
    names = [name for name in book.vocabulary.facts if name in asked and is_open(evaluated.facts[name], 0)]
    return list(dict.fromkeys(asked_with(name, matter, still, book) for name in names))


def ours(evaluated: Evaluated, book: Rulebook, apart: Collection[str]) -> Asked:
    """The question that comes next by the order of asking."""
    order = ordered_facts(evaluated, book, 0, apart, first_only=True)
    return order[0].facts if order else ()


def file_order(evaluated: Evaluated, book: Rulebook, apart: Collection[str]) -> Asked:
    """The first question of the vocabulary on which anything turns."""
    return next(iter(open_questions(evaluated, book, apart)), ())


def random_order(seed: int) -> Policy:
    """Any question on which anything turns, by chance."""
    rng = np.random.default_rng(seed)

    def policy(evaluated: Evaluated, book: Rulebook, apart: Collection[str]) -> Asked:
        found = open_questions(evaluated, book, apart)
        return found[int(rng.integers(len(found)))] if found else ()

    return policy


def settled(evaluated: Evaluated, book: Rulebook) -> bool:
    """Whether the site is stopped, or every verdict is closed by limits or by a proof."""
    if int(pick(evaluated.site.status, 0)) == STOP:
        return True
    close_proven(evaluated, book, 0)
    return not undecided(evaluated, 0)


def questions_until_settled(hidden: Hidden, policy: Policy, book: Rulebook, date: dt.date) -> int:
    """How many questions are put until the answer is settled; the truth replies to each.

    What can be made so is no part of the truth: there the reply is that it is not known.
    """
    known: list[str] = []
    apart: set[str] = set()
    for count in range(MOST_ASKED):
        evaluated = judged(hidden, known, book, date)
        assert not evaluated.problems, evaluated.problems
        if settled(evaluated, book):
            return count
        asked = policy(evaluated, book, apart)
        if not asked:
            # What is left open lies in the range of a formula, not in a fact that anybody could tell.
            return count
        apart |= set(asked)
        known += [name for name in asked if name in hidden.truth]
    return MOST_ASKED
