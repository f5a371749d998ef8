"""Outcomes, row by row: statuses of findings, verdicts of candidates, status of a site."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from undercourse.assembly.candidates import Candidate
from undercourse.base.columns import Bools, Column, Floats, Truth
from undercourse.base.domains import Spec
from undercourse.line.records import Limit, Need

MEETS, EXCEEDS, OPEN, NOT_STATED, NOT_VALID, NOT_APPLY = range(6)
STATUS_WORDS = ("meets", "exceeds", "open", "not stated", "not valid here", "does not apply")
SUITABLE, SUITABLE_IF, NEEDS_FACTS, NEEDS_RULING, NOT_SUITABLE = range(5)
VERDICT_WORDS = ("suitable", "suitable_if", "needs_facts", "needs_ruling", "not_suitable")
READY, SITE_OPEN, STOP = range(3)
SITE_WORDS = ("ready", "open", "stop")

Codes = NDArray[np.int8]
NO_ROW: Bools = np.array([False])


@dataclass(frozen=True)
class Requirement:
    """What a fact must be made so that a finding is settled, in the rows where it is open."""

    fact: str
    spec: Spec | None
    rows: Bools


@dataclass(slots=True)
class Finding:
    """One limit, need, pair or missing statement, for every row."""

    label: str
    demand: str
    status: Codes
    applies: Truth
    limit: Limit | None = None
    need: Need | None = None
    product: str = ""
    value: Column | None = None
    capacity: Column | None = None
    settled: Bools = field(default_factory=lambda: NO_ROW)
    requirements: tuple[Requirement, ...] = ()
    utilisation: Floats | None = None
    reason: str = ""
    basis: str = ""
    overridden_by: str = ""
    overridden: Bools = field(default_factory=lambda: NO_ROW)
    within: Truth | None = None
    respects: Truth | None = None
    reads: tuple[str, ...] = ()


@dataclass
class Judgement:
    """One candidate judged in every row."""

    candidate: Candidate
    findings: list[Finding]
    verdict: Codes
    utilisation: Floats
    governs: NDArray[np.intp]


@dataclass
class Site:
    """Site status and the stops behind it, row by row."""

    status: Codes
    stops: list[tuple[Limit, Truth]]
