"""What the replies to a question lead to: verdicts that change, or what a reply makes likely."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from math import prod

import numpy as np

from undercourse.advise.evaluating import Evaluated
from undercourse.advise.findings import clip, show_text
from undercourse.advise.losing import describe
from undercourse.advise.narrowing import Failure, Prospect, prospect, undecided
from undercourse.advise.sentences import label, series
from undercourse.advise.site_questions import LIKELY, open_stops
from undercourse.advise.sweeps import Sweep, breakpoints
from undercourse.advise.trials import sweep_alone
from undercourse.advise.why import name_of
from undercourse.base.columns import Bools, ChoiceColumn, Floats
from undercourse.base.domains import Choices, Domain, Span, Spec
from undercourse.base.units import from_si, to_si
from undercourse.judge.results import SUITABLE, SUITABLE_IF
from undercourse.judge.rulebook import Rulebook

MOST_OUTCOMES = 4
# Facts of one question whose replies are told of.
MOST_FACTS = 3
# A share is told of a group of replies with at least so many plausible cases.
LEAST_CASES = 10
# Shares nearer to each other than this are not told apart.
LEAST_APART = 0.1
# Replies that change a verdict are a matter of this share of plausible cases, or estimates are told too.
LEAST_SHARE = 0.05
HARDLY_ANY = 0.01
_SAID = ("suitable", "suitable, provided …", "in need of facts", "not stated by the maker", "not suitable")


def leads_of(
    evaluated: Evaluated, book: Rulebook, row: int, facts: Sequence[str], about_site: bool
) -> tuple[str, ...]:
    """What each reply, or range of replies, to a question leads to; of several facts the first that matter.

    Where no plausible reply alone changes a verdict, what it makes likely is told, as an estimate.
    """
    chosen = _telling(evaluated, book, row, facts)
    lines: list[str] = []

    def tell(name: str, found: Sequence[str]) -> None:
        lines.extend([_named(name, text, book) if len(facts) > 1 else text for text in found])

    for name in facts if about_site else ():
        tell(name, _stops_on(evaluated, book, row, name))
    for one in _swept(evaluated, book, row, chosen):
        found = _verdicts_on(one, evaluated, book, row)
        if sum(share for _, share in found) < LEAST_SHARE:
            tell(one.fact, _likely_on(evaluated, book, row, one.fact))
        # A number that hardly any floor has is not worth a line where there is something else to tell.
        rare = [text for text, share in found if share < HARDLY_ANY and isinstance(one.values[0], Span)]
        common = [text for text, _ in found if text not in rare]
        tell(one.fact, common if common or lines else rare)
    more = len(lines) - MOST_OUTCOMES
    return tuple(
        lines if more <= 0 else [*lines[:MOST_OUTCOMES], f"and {more} more outcome{'' if more == 1 else 's'}"]
    )


def _swept(evaluated: Evaluated, book: Rulebook, row: int, names: Sequence[str]) -> list[Sweep]:
    """The verdicts of the candidates still open for each tried value, as far as they are not known yet."""
    if not undecided(evaluated, row):
        return []
    known = prospect(evaluated, book, row).sweeps
    more = {one.fact: one for one in sweep_alone(evaluated, book, row, [n for n in names if n not in known])}
    return [known[name] if name in known else more[name] for name in names]


def _named(fact: str, text: str, book: Rulebook) -> str:
    called = label(fact, book.vocabulary)
    return f"{called[:1].upper()}{called[1:]}, {text}"


def _telling(evaluated: Evaluated, book: Rulebook, row: int, facts: Sequence[str]) -> list[str]:
    """Of the facts of one question those on which most failings turn."""
    if len(facts) <= 1 or not undecided(evaluated, row):
        return list(facts[:MOST_FACTS])
    failures = prospect(evaluated, book, row).failures

    def weight(name: str) -> float:
        return sum(float(one.rows.mean()) * len(one.sheets) for one in failures if name in one.facts)

    return sorted(facts, key=lambda name: -weight(name))[:MOST_FACTS]


def _stops_on(evaluated: Evaluated, book: Rulebook, row: int, name: str) -> list[str]:
    """With which values a stop stays possible or becomes sure, how likely it is then, and who decides."""
    found: dict[str, str] = {}
    domain = book.vocabulary.domains[name]
    now = evaluated.facts.columns.spec(name, row)
    for rule, shares in open_stops(evaluated, book, row):
        if name not in shares:
            continue
        spec = next(spec for term, spec in rule.when.terms if term == name)
        if isinstance(now, Choices) and isinstance(spec, Choices):
            text = " or ".join(domain.names(now.bits & spec.bits))
        else:
            text = show_text(domain, clip(domain, spec))
        chance = prod(share for term, share in shares.items() if term != name)
        stops = "may stop the work" if chance >= LIKELY else "stops the work in rare cases"
        found.setdefault(text, f"{text}: {stops}; decides: {rule.who_decides}")
    return list(found.values())[: MOST_OUTCOMES // 2]


def _verdicts_on(one: Sweep, evaluated: Evaluated, book: Rulebook, row: int) -> list[tuple[str, float]]:
    """Per group of values with the same consequences, which verdicts change and to what.

    With each the share of plausible cases that have such a value.
    """
    judged = {judgement.candidate.id: judgement for judgement in evaluated.of_row(row)}
    # What a proof has closed stays closed, though limit by limit it looks open.
    waiting = undecided(evaluated, row)
    groups: dict[tuple[tuple[str, int], ...], list[Spec]] = {}
    for place, value in enumerate(one.values):
        changed = tuple(
            (name, codes[place])
            for name, codes in one.verdicts.items()
            if name in waiting and codes[place] != int(judged[name].verdict[row])
        )
        groups.setdefault(changed, []).append(value)
    domain = book.vocabulary.domains[one.fact]
    lines: list[tuple[str, float]] = []
    for changed, values in groups.items():
        if not changed:
            continue
        parts = []
        for code in sorted({code for _, code in changed}):
            names = [name_of(judged[name]) for name, new in changed if new == code]
            shown = series(names, most=2)
            parts.append(f"{shown} {'is' if len(names) == 1 else 'are'} then {_SAID[code]}")
        text = f"{describe(domain, one.values, values)}: {'; '.join(parts)}"
        lines.append((text, _share_of(one, set(values), evaluated, book, row)))
    return lines


def _share_of(one: Sweep, turning: set[Spec], evaluated: Evaluated, book: Rulebook, row: int) -> float:
    """The share of plausible cases whose value is, or lies nearest to, one of some tried values."""
    if not undecided(evaluated, row):
        return 1.0
    seen = prospect(evaluated, book, row)
    if one.fact not in seen.drawn.names or not seen.drawn.sound.any():
        return 1.0
    column, sound = seen.drawn.columns[one.fact], seen.drawn.sound
    if isinstance(column, ChoiceColumn):
        bits = np.broadcast_to(column.bits, sound.shape)[sound]
        return float(np.isin(bits, [spec.bits for spec in turning if isinstance(spec, Choices)]).mean())
    values = np.broadcast_to(column.low, sound.shape)[sound]
    tried = np.array([spec.low for spec in one.values if isinstance(spec, Span)])
    turns = np.array([spec in turning for spec in one.values])
    nearest = np.abs(values[:, None] - tried).argmin(axis=1)
    return float(turns[nearest].mean())


def suiting_shares(
    evaluated: Evaluated, book: Rulebook, row: int, name: str
) -> list[tuple[Spec, float, int]]:
    """Per range of replies the share of plausible cases in which a sheet still open suits, and of how many.

    An estimate: what is not known is drawn as usual values weigh, see ``prospect``.
    """
    waiting = undecided(evaluated, row)
    if not waiting:
        return []
    seen = prospect(evaluated, book, row)
    verdicts = np.array([seen.verdicts[sheet] for sheet in seen.verdicts if sheet in waiting])
    suits = ((verdicts == SUITABLE) | (verdicts == SUITABLE_IF)).any(axis=0)
    groups = _ranges(seen, book, name)
    return [(spec, float(suits[rows].mean()), int(rows.sum())) for spec, rows in groups]


def _likely_on(evaluated: Evaluated, book: Rulebook, row: int, name: str) -> list[str]:
    """Per range of replies how likely it is that some sheet still suits.

    Where that is no different from reply to reply, how likely it is that what turns on the fact fails.
    """
    domain = book.vocabulary.domains[name]
    shares = [(spec, share) for spec, share, _ in suiting_shares(evaluated, book, row, name)]
    told = _told(shares, domain, "some sheet still suits")
    if told or not shares:
        return told
    waiting = undecided(evaluated, row)
    seen = prospect(evaluated, book, row)
    turning = [one for one in seen.failures if name in one.facts and set(one.sheets) & set(waiting)]
    groups = _ranges(seen, book, name)
    failing = [[(spec, float(one.rows[rows].mean())) for spec, rows in groups] for one in turning]
    for place in sorted(range(len(turning)), key=lambda at: -_spread(failing[at]) * len(turning[at].sheets)):
        what = f"{label(turning[place].demand, book.vocabulary)} rules {_many(turning[place], waiting)} out"
        if found := _told(failing[place], domain, what):
            return found
    return []


def _many(one: Failure, waiting: Collection[str]) -> str:
    count = len(set(one.sheets) & set(waiting))
    return "a sheet" if count == 1 else f"{count} sheets"


def _spread(shares: Sequence[tuple[Spec, float]]) -> float:
    numbers = [share for _, share in shares]
    return max(numbers) - min(numbers) if numbers else 0.0


def _told(shares: Sequence[tuple[Spec, float]], domain: Domain, what: str) -> list[str]:
    if len(shares) < 2 or _spread(shares) < LEAST_APART:
        return []
    return [
        f"{show_text(domain, spec)}: {what} in {share_words(share)}, an estimate on usual values"
        for spec, share in shares
    ]


def share_words(share: float) -> str:
    """A share of plausible cases in plain words."""
    if share < 0.05:
        return "hardly any plausible case"
    if share > 0.95:
        return "nearly all plausible cases"
    return f"about {round(share * 10)} of 10 plausible cases"


def _ranges(seen: Prospect, book: Rulebook, name: str) -> list[tuple[Spec, Bools]]:
    """The values of a fact in the plausible cases, each choice or a few ranges, with their rows.

    What too few cases have is left out, and so is a fact that was not drawn.
    """
    sound = seen.drawn.sound
    if name not in seen.drawn.names or not sound.any():
        return []
    column = seen.drawn.columns[name]
    found: list[tuple[Spec, Bools]] = []
    if isinstance(column, ChoiceColumn):
        bits = np.broadcast_to(column.bits, sound.shape)
        # Where the fact means nothing it was left open.
        sound = sound & (bits & (bits - np.uint64(1)) == 0)
        found = [(Choices(int(one)), sound & (bits == one)) for one in np.unique(bits[sound])]
        return [(spec, rows) for spec, rows in found if rows.sum() >= LEAST_CASES]
    values = np.broadcast_to(column.low, sound.shape)
    sound = sound & (np.broadcast_to(column.high, sound.shape) == values)
    if not sound.any():
        return []
    domain = book.vocabulary.domains[name]
    edges = _edges(values[sound], breakpoints(book, name), domain)
    for low, high in zip((domain.low, *edges), (*edges, domain.high), strict=True):
        inside = sound & ((values > low) | (low == domain.low)) & (values <= high)
        # A range starts just beyond the end of the one before it.
        found.append((Span(max(low + 2e-9 * abs(low), domain.low), min(high, domain.high)), inside))
    return [(spec, rows) for spec, rows in found if rows.sum() >= LEAST_CASES]


def _edges(values: Floats, written: Sequence[float], domain: Domain) -> list[float]:
    """One or two numbers that part the values in about like shares, written ones where there are any."""
    assert domain.unit is not None
    ends = np.quantile(values, (0.05, 0.95))
    inside = [one for one in written if ends[0] < one < ends[1]]
    wanted = [float(one) for one in np.quantile(values, (1 / 3, 2 / 3))]
    if inside:
        return sorted({min(inside, key=lambda one: abs(one - at)) for at in wanted})
    # Two digits, as a person would part a range.
    round_ones = {to_si(float(f"{from_si(one, domain.unit):.2g}"), domain.unit) for one in wanted}
    return sorted(one for one in round_ones if ends[0] < one < ends[1])
