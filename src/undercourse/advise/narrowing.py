"""Which open fact narrows an answer most, for its effort: from plausible ways the floor may turn out.

A verdict falls by whatever first fails, and of a floor of which little is known nearly every plausible
case fails somewhere. So narrowing is measured at what the verdict is made of: how much less uncertain each
demand's failing becomes once the fact is known. Facts that matter only together each narrow a little, so
they are found too. All weights are assumptions: usual values weigh 0.9 together, others the same.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from undercourse.advise.completions import Completions, draw_completions
from undercourse.advise.evaluating import Evaluated
from undercourse.advise.sweeps import Sweep, breakpoints, concerned_facts, is_open
from undercourse.advise.together import asked_with, hangs_on, may_be_asked, stand_in
from undercourse.advise.trials import stacked, trials
from undercourse.base.columns import Bools, ChoiceColumn, Floats, NumberColumn, pick
from undercourse.base.domains import Span
from undercourse.facts.vocabulary import DECIDES, EFFORTS
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

DRAWS = 256
# Values of single facts that are tried beside them.
MOST_TRIALS = 400
# People tell what they worry about: facts of the groups that they spoke of weigh this much more. An
# assumption, and only for the order of asking. Where, what and why a floor is are told with any worry.
SPOKEN_OF = 2.0
COMMON_GROUPS = ("place", "service", "finish", "wanted", "limits")
# Parts into which the range of a number is divided, beside the limits written for it.
_PARTS = 5
# What every fact that a failing reads has of it, beside what it tells: as a part of the failing's spread.
EVEN = 0.02
# A question tells of a sheet from this chance on.
LEAST_TOLD = 0.01
# Facts that few people can tell count as this much more effort: an assumption.
SELDOM_KNOWN = 3.0
EFFORT = dict(zip(EFFORTS, (1.0, 1.5, 2.0, 4.0), strict=True))


@dataclass(frozen=True)
class Failure:
    """Where one demand fails some candidates: in which rows, by which facts it may."""

    demand: str
    rows: Bools
    facts: frozenset[str]
    sheets: tuple[str, ...]


@dataclass(frozen=True)
class Prospect:
    """Plausible completions of one area with the verdicts of the candidates still open.

    ``sweeps`` holds their verdicts where one fact alone has one value, for the facts most concerned.
    """

    drawn: Completions
    verdicts: dict[str, NDArray[np.int8]]
    failures: tuple[Failure, ...]
    sweeps: Mapping[str, Sweep]


@dataclass(frozen=True)
class Gain:
    """What one fact is expected to narrow: ``gain`` for its effort, ``tells`` whatever it takes."""

    fact: str
    gain: float
    settles: tuple[str, ...]
    asked: tuple[str, ...] = ()
    tells: float = 0.0


def deciding_facts(
    judgements: Collection[Judgement], evaluated: Evaluated, book: Rulebook, row: int
) -> list[str]:
    """Open facts that decide, of open findings, those that touch most findings first."""
    read_by: dict[int, tuple[Finding, list[str]]] = evaluated.facts.keep_here(
        "facts that decide of findings", dict
    )
    counts: dict[str, int] = {}
    for judgement in judgements:
        for finding in judgement.findings:
            if int(pick(finding.status, row)) != OPEN:
                continue
            if id(finding) not in read_by:
                found = concerned_facts(finding, book)
                # The finding is kept too, so that no other gets its number.
                read_by[id(finding)] = finding, [n for n in found if book.vocabulary[n].role == DECIDES]
            for name in read_by[id(finding)][1]:
                counts[name] = counts.get(name, 0) + 1
    still = [name for name in counts if is_open(evaluated.facts[name], row)]
    return sorted(still, key=lambda name: (-counts[name], name))


def undecided(evaluated: Evaluated, row: int) -> dict[str, Judgement]:
    """The candidates whose verdict is still open, by id."""
    found = evaluated.of_row(row)
    return {one.candidate.id: one for one in found if int(one.verdict[row]) == NEEDS_FACTS}


def prospect(evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str] = ()) -> Prospect:
    """Plausible completions of a row, drawn and judged once.

    Parameters
    ----------
    apart : collection of str
        Facts that nobody can tell: they are left open in every completion, and so is what means something
        only with them.
    """
    left = left_open(evaluated, book, row, apart)
    key = f"prospect {row} {' '.join(sorted(left))}"
    found: Prospect = evaluated.facts.keep_here(key, lambda: _draw(evaluated, book, row, left))
    return found


def left_open(evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str]) -> frozenset[str]:
    """Of facts that are not asked for again those that decide and are open: put off, or told as a range."""
    return frozenset(
        name
        for name in apart
        if book.vocabulary[name].role == DECIDES and is_open(evaluated.facts[name], row)
    )


def _draw(evaluated: Evaluated, book: Rulebook, row: int, left: Collection[str]) -> Prospect:
    waiting = undecided(evaluated, row)
    names = deciding_facts(waiting.values(), evaluated, book, row)
    names += _leading(names, evaluated, book, row)
    names = [name for name in names if not hangs_on(evaluated, book, row, name, left)]
    drawn = draw_completions(evaluated, book, row, names, DRAWS, seed=1)
    # What a single reply changes is judged in the same table: rows more cost little, calls much.
    laid = trials(evaluated, book, row, [] if left else names, MOST_TRIALS)
    both = drawn
    if laid.columns.rows:
        sound = np.concatenate([drawn.sound, laid.sound])
        both = Completions(stacked(drawn.columns, laid.columns), (), sound)
    again = both.judge(evaluated, book, row, list(waiting))
    judged = {one.candidate.id: one for one in (*again.own.values(), *again.judgements)}
    rows = (both.columns.rows,)
    whole = {name: np.broadcast_to(one.verdict, rows) for name, one in judged.items()}
    verdicts = {name: one[:DRAWS] for name, one in whole.items()}
    sweeps = laid.sweeps({name: one[DRAWS:] for name, one in whole.items()})
    return Prospect(drawn, verdicts, _failures(judged, rows, book, set(names)), sweeps)


def _leading(names: Sequence[str], evaluated: Evaluated, book: Rulebook, row: int) -> list[str]:
    """Open facts on which it hangs what is possible, or usual, for others; drawn with them."""
    found: dict[str, None] = {}
    for name in names:
        implies, _ = book.consistency.naming.get(name, ((), ()))
        for fact in (fact for rule in implies if name in rule.then for fact in rule.when):
            found.setdefault(fact)
        for fact in (fact for usual in book.vocabulary[name].usuals for fact, _ in usual.when):
            found.setdefault(fact)
    known = set(names)
    return [name for name in found if name not in known and is_open(evaluated.facts[name], row)]


def _settling(book: Rulebook) -> dict[str, set[str]]:
    """By fact those of which one value leaves a single value for it: no cracks, no width of one."""
    found: dict[str, set[str]] = {}
    for rule in book.consistency.implies:
        if len(rule.when) != 1:
            continue
        (leader,) = rule.when
        if book.vocabulary[leader].role != DECIDES:
            continue
        for name, spec in rule.then.items():
            single = spec.low == spec.high if isinstance(spec, Span) else spec.bits.bit_count() == 1
            if single:
                found.setdefault(name, set()).add(leader)
    return found


def _failures(
    judged: Mapping[str, Judgement], rows_in_all: tuple[int], book: Rulebook, names: set[str]
) -> tuple[Failure, ...]:
    """Demand by demand, the rows that fail; what fails several candidates alike stands once."""
    settling = _settling(book)
    found: dict[tuple[str, bytes], tuple[Bools, set[str], list[str]]] = {}
    for sheet, judgement in judged.items():
        by_demand: dict[str, tuple[Bools, set[str]]] = {}
        for finding in judgement.findings:
            status = np.broadcast_to(finding.status, rows_in_all)[:DRAWS]
            fails = (status == EXCEEDS) | (status == NOT_STATED) | (status == NOT_VALID)
            if not fails.any():
                continue
            rows, facts = by_demand.get(finding.demand, (np.zeros(DRAWS, dtype=np.bool_), set()))
            reads = set(concerned_facts(finding, book)) & names
            reads |= {leader for name in reads for leader in settling.get(name, ())} & names
            by_demand[finding.demand] = (rows | fails, facts | reads)
        for demand, (rows, facts) in by_demand.items():
            kept = found.setdefault((demand, rows.tobytes()), (rows, set(), []))
            kept[1].update(facts)
            kept[2].append(sheet)
    return tuple(
        Failure(key[0], rows, frozenset(facts), tuple(sheets)) for key, (rows, facts, sheets) in found.items()
    )


def rank_questions(evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str] = ()) -> list[Gain]:
    """What to ask by expected narrowing per effort, the best first; none where nothing can change.

    A candidate is closed by whatever first surely fails, so a fact counts by the chance that something
    fails which turns on it, shared with the other facts of that failing by how much each tells of it.
    """
    if not undecided(evaluated, row):
        return []
    seen = prospect(evaluated, book, row, apart)
    sound = seen.drawn.sound
    if not sound.any() or not seen.failures:
        return []
    spoken = _spoken_of(evaluated, book, row)
    fails = np.array([one.rows[sound] for one in seen.failures], dtype=np.float64)
    waiting = undecided(evaluated, row)
    sheets = [sheet for sheet in seen.verdicts if sheet in waiting]
    member = np.array([[sheet in one.sheets for one in seen.failures] for sheet in sheets], dtype=np.float64)
    shares = _asked_for(_shares(seen, fails, book), evaluated, book, row, apart)
    still_open = may_be_asked(evaluated, book, row, apart)
    found = []
    for asked in dict.fromkeys(asked_with(name, shares, still_open, book) for name in shares):
        share = np.minimum(1.0, sum(shares[name] for name in asked if name in shares))
        # Per candidate and row the chance that none of its failings is found by this question.
        missed = np.exp(member @ (np.log1p(-0.999 * share)[:, None] * fails))
        by_sheet = (1.0 - missed).mean(axis=1)
        gain = tells = float(by_sheet.mean())
        gain *= SPOKEN_OF if any(book.vocabulary[name].group in spoken for name in asked) else 1.0
        gain /= max(effort_of(book, name) for name in asked)
        order = np.argsort(-by_sheet, kind="stable")
        told = tuple(sheets[place] for place in order if by_sheet[place] > LEAST_TOLD)
        lead = max(asked, key=lambda name: float(shares[name].sum()) if name in shares else -1.0)
        found.append(Gain(lead, gain, told, asked, tells))
    # What the draws do not tell apart keeps the order of how many findings read it.
    found.sort(key=lambda one: -one.gain)
    return found


def effort_of(book: Rulebook, name: str) -> float:
    """What it takes to reply: by the effort of the fact, more where few people can tell."""
    fact = book.vocabulary[name]
    return EFFORT[fact.effort] * (SELDOM_KNOWN if fact.seldom_known else 1.0)


def _asked_for(
    shares: Mapping[str, Floats], evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str]
) -> dict[str, Floats]:
    """Shares of the facts that may be asked for: what must be known first stands for what hangs on it."""
    found: dict[str, Floats] = {}
    for name, share in shares.items():
        if name in apart:
            continue
        asked = stand_in(evaluated, book, row, name, apart)
        if asked is not None and is_open(evaluated.facts[asked], row):
            found[asked] = found[asked] + share if asked in found else share
    return found


def _shares(seen: Prospect, fails: Floats, book: Rulebook) -> dict[str, Floats]:
    """By fact its share in each failing, [failings,]: by how much it tells of it; they sum to at most 1."""
    sound = seen.drawn.sound
    spread = fails.mean(axis=1) * (1.0 - fails.mean(axis=1))
    told: dict[str, Floats] = {}
    for name in seen.drawn.names:
        read = np.array([name in one.facts for one in seen.failures])
        if not read.any():
            continue
        # Where a fact means nothing it tells nothing: that it does is told by what it hangs on.
        groups, settled = _groups(seen.drawn, name, book)
        drawn = settled[sound]
        value = np.zeros(len(seen.failures))
        value[read] = _explained(fails[read][:, drawn], groups[sound][drawn])
        # What the draws do not tell apart is shared alike.
        told[name] = np.where(read, value + EVEN * np.maximum(spread, EVEN), 0.0) * drawn.mean()
    whole = np.maximum(sum(told.values()), 1e-12)
    return {name: value / whole for name, value in told.items()}


def _spoken_of(evaluated: Evaluated, book: Rulebook, row: int) -> set[str]:
    """Groups of facts in which something was told."""
    told = {book.vocabulary[name].group for name in evaluated.areas[row].readings if name in book.vocabulary}
    return told - set(COMMON_GROUPS)


def _groups(drawn: Completions, name: str, book: Rulebook) -> tuple[NDArray[np.intp], Bools]:
    """The answer that each row gives to a question, as a small number, and where the fact was drawn."""
    column = drawn.columns[name]
    rows = drawn.columns.rows
    if isinstance(column, ChoiceColumn):
        bits = np.broadcast_to(column.bits, (rows,))
        return np.unique(bits, return_inverse=True)[1], bits & (bits - np.uint64(1)) == 0
    assert isinstance(column, NumberColumn)
    values = np.broadcast_to(column.low, (rows,))
    settled = values == np.broadcast_to(column.high, (rows,))
    some = values[settled] if settled.any() else values
    inside = [value for value in breakpoints(book, name) if some.min() < value < some.max()]
    edges = sorted({*inside, *np.quantile(some, np.linspace(0, 1, _PARTS + 1)[1:-1]).tolist()})
    return np.digitize(values, edges, right=True), settled


def _explained(fails: Floats, groups: NDArray[np.intp]) -> Floats:
    """Variance of each failing that knowing the group takes away, less what chance alone would take.

    ``fails`` is [demands, rows] of 0 and 1.
    """
    count = fails.shape[1]
    sizes = np.bincount(groups).astype(np.float64)
    filled = sizes > 0
    kinds = int(filled.sum())
    if kinds < 2 or count <= kinds:
        return np.zeros(len(fails))
    member = (groups[:, None] == np.flatnonzero(filled)).astype(np.float64)
    sums = fails @ member
    whole = fails.mean(axis=1) * (1.0 - fails.mean(axis=1))
    within = (sums - sums**2 / sizes[filled]).sum(axis=1) / count
    chance = within * (kinds - 1) / (count - kinds)
    found: Floats = np.maximum(0.0, whole - within - chance)
    return found
