"""Which suitable candidate is recommended: the line's own policy, step by step, ties named."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from undercourse.assembly.columns import WANTS
from undercourse.base.columns import ChoiceColumn, NumberColumn, pick
from undercourse.judge.results import SUITABLE, SUITABLE_IF, Judgement
from undercourse.line.records import RankingRow

_WORDS = {
    "unwanted_functions": "fewest functions nobody asked for",
    "installed_cost": "lowest cost of material and laying",
    "height": "lowest build-up",
    "days": "fewest days",
    "margin": "greatest margin",
}


@dataclass(frozen=True)
class Ranked:
    """The outcome of a ranking in one row."""

    recommended: str | None
    order: tuple[str, ...]
    sentence: str


def _measures(judgement: Judgement, row: int) -> dict[str, float]:
    """What the ranking policy looks at, at the unfavorable end."""
    frame = judgement.candidate.frame
    unwanted = 0.0
    for want, provide in WANTS.items():
        wanted, provided = frame[want], frame[provide]
        assert isinstance(wanted, ChoiceColumn)
        assert isinstance(provided, ChoiceColumn)
        unwanted += bool(int(pick(provided.bits, row)) & 2) and int(pick(wanted.bits, row)) != 2
    cost, height = frame["layers_cost"], frame["layers_height"]
    assert isinstance(cost, NumberColumn)
    assert isinstance(height, NumberColumn)
    membrane = judgement.candidate.membrane
    wait = membrane.number("cure_before_tile") if membrane is not None else None
    used = float(judgement.utilisation[row])
    return {
        "unwanted_functions": unwanted,
        "installed_cost": float(pick(cost.high, row)),
        "height": float(pick(height.high, row)),
        "days": (wait or 0.0) / 86400.0,
        "margin": 1.0 - used if used == used else 1.0,
    }


def rank(judgements: Sequence[Judgement], policy: Sequence[RankingRow], row: int) -> Ranked:
    """Rank the candidates that suit a row; suitable before suitable-provided."""
    for wanted in (SUITABLE, SUITABLE_IF):
        left = [j for j in judgements if j.verdict[row] == wanted and not j.candidate.proposed]
        if left:
            break
    else:
        return Ranked(None, (), "No candidate of the line is suitable on what is known.")
    measures = {j.candidate.id: _measures(j, row) for j in left}
    names = {j.candidate.id: j.candidate.membrane.name for j in left if j.candidate.membrane is not None}
    if len(left) == 1:
        only = left[0].candidate.id
        return Ranked(only, (only,), f"{names[only]} is the only one of the line that suits.")
    remaining = list(measures)
    reasons = []
    for step in policy:
        sign = 1.0 if step.prefer == "low" else -1.0
        best = min(sign * measures[name][step.by] for name in remaining)
        reach = best + abs(best) * step.tie_share + 1e-9
        kept = [name for name in remaining if sign * measures[name][step.by] <= reach]
        if len(kept) < len(remaining):
            reasons.append(_WORDS[step.by])
        remaining = kept
        if len(remaining) == 1:
            break
    first = remaining[0]
    order = sorted(measures, key=lambda name: _key(measures[name], policy, name != first))
    why = ", then ".join(reasons) if reasons else "file order"
    sentence = f"{names[first]} comes first of {len(left)} that suit: {why}."
    if len(remaining) > 1:
        tied = ", ".join(names[name] for name in remaining)
        sentence = f"A tie between {tied}; {names[first]} is listed first. Decided so far: {why}."
    return Ranked(first, tuple(order), sentence)


def _key(measure: dict[str, float], policy: Sequence[RankingRow], later: bool) -> tuple[float | bool, ...]:
    return (later, *(measure[step.by] if step.prefer == "low" else -measure[step.by] for step in policy))
