"""Floors of which little is told and the truth is hidden, asked about until the answer is settled."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Collection, Mapping, Sequence
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
from undercourse.judge.results import NOT_SUITABLE, STOP
from undercourse.judge.rulebook import Rulebook

# What nearly everybody tells unasked, and how many facts more: real questions give five to eight of them.
TOLD = ("exposure", "surface", "base", "finish")
TOLD_MORE = 3
MOST_ASKED = 60
Asked = tuple[str, ...]
Policy = Callable[[Evaluated, Rulebook, int, Collection[str]], Asked]


@dataclass(frozen=True)
class Hidden:
    """An area as it is told, and what is true of it."""

    area: Area
    truth: Mapping[str, Spec]


def hidden_floors(
    book: Rulebook, count: int, seed: int, date: dt.date, more: int = TOLD_MORE
) -> list[Hidden]:
    """Consistent floors with every deciding fact settled, drawn as usual values weigh; some facts are told.

    Parameters
    ----------
    more : int, optional
        How many facts beside ``TOLD`` are told, whichever they are.
    """
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
        others = rng.choice([name for name in names if name not in TOLD], more, replace=False).tolist()
        told = {name: Reading(truth[name], "told") for name in (*TOLD, *others)}
        found.append(Hidden(Area("floor", told), truth))
    assert len(found) == count
    return found


def open_questions(evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str]) -> list[Asked]:
    """Every question on which something turns, in the order of the vocabulary, as a person is asked them."""
    matter = set(deciding_facts(undecided(evaluated, row).values(), evaluated, book, row))
    matter |= {one.name for one in site_facts(evaluated, book, row)}
    asked = {stand_in(evaluated, book, row, name, apart) for name in matter - set(apart)}
    still = may_be_asked(evaluated, book, row, apart)
    names = [name for name in book.vocabulary.facts if name in asked and is_open(evaluated.facts[name], row)]
    return list(dict.fromkeys(asked_with(name, matter, still, book) for name in names))


def ours(evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str]) -> Asked:
    """The question that comes next by the order of asking."""
    order = ordered_facts(evaluated, book, row, apart, first_only=True)
    return order[0].facts if order else ()


def file_order(evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str]) -> Asked:
    """The first question of the vocabulary on which anything turns."""
    return next(iter(open_questions(evaluated, book, row, apart)), ())


def random_order(seed: int) -> Policy:
    """Any question on which anything turns, by chance."""
    rng = np.random.default_rng(seed)

    def policy(evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str]) -> Asked:
        found = open_questions(evaluated, book, row, apart)
        return found[int(rng.integers(len(found)))] if found else ()

    return policy


def settled(evaluated: Evaluated, book: Rulebook, row: int) -> bool:
    """Whether the site is stopped, or every verdict is closed by limits or by a proof."""
    if int(pick(evaluated.site.status, row)) == STOP:
        return True
    close_proven(evaluated, book, row)
    return not undecided(evaluated, row)


def questions_until_settled(
    floors: Sequence[Hidden], policy: Policy, book: Rulebook, date: dt.date
) -> list[int]:
    """How many questions are put for each floor until its answer is settled; the truth replies to each.

    What can be made so is no part of the truth: there the reply is that it is not known. All floors are
    asked about side by side, so that they are judged in one table.
    """
    known: list[list[str]] = [[] for _ in floors]
    apart: list[set[str]] = [set() for _ in floors]
    counts: dict[int, int] = {}
    for count in range(MOST_ASKED):
        left = [place for place in range(len(floors)) if place not in counts]
        if not left:
            break
        evaluated = evaluate([_told(floors[place], known[place]) for place in left], book, date)
        assert not evaluated.problems, evaluated.problems
        for row, place in enumerate(left):
            asked = () if settled(evaluated, book, row) else policy(evaluated, book, row, apart[place])
            if not asked:
                # Settled, or what is left open lies in the range of a formula that nobody could tell.
                counts[place] = count
            apart[place] |= set(asked)
            known[place] += [name for name in asked if name in floors[place].truth]
    return [counts.get(place, MOST_ASKED) for place in range(len(floors))]


def verdicts_of(floors: Sequence[Hidden], book: Rulebook, date: dt.date) -> list[int]:
    """The best verdict of any sheet on each floor of which all is known; on a stopped site nothing suits."""
    evaluated = evaluate([_told(one, list(one.truth)) for one in floors], book, date)
    stopped = [int(pick(evaluated.site.status, row)) == STOP for row in range(len(floors))]
    return [
        NOT_SUITABLE if stopped[row] else min(int(one.verdict[row]) for one in evaluated.of_row(row))
        for row in range(len(floors))
    ]


def _told(hidden: Hidden, known: Collection[str]) -> Area:
    """The area with more of its truth known."""
    more = {name: Reading(hidden.truth[name], "replied") for name in known}
    return replace(hidden.area, readings={**hidden.area.readings, **more})
