"""The one table from truths to a status: applies, within, evidence valid, each possibly and surely."""

from __future__ import annotations

import numpy as np

from undercourse.judge.results import EXCEEDS, MEETS, NOT_APPLY, NOT_STATED, NOT_VALID, OPEN


def _code(
    applies_may: bool, applies_must: bool, may: bool, must: bool, valid_may: bool, valid_must: bool
) -> int:
    if not applies_may:
        return NOT_APPLY
    if applies_must and not may:
        return EXCEEDS
    if must and valid_must:
        return MEETS
    if applies_must and not valid_may:
        return NOT_VALID
    return OPEN


# Six truths packed as bits 0 to 5: applies may, applies must, within may, must, evidence valid may, must.
STATUS = np.array([_code(*(bool(n >> bit & 1) for bit in range(6))) for n in range(64)], dtype=np.int8)
# A row that says "not stated": applies may, applies must.
SILENT = np.array([NOT_APPLY, OPEN, NOT_APPLY, NOT_STATED], dtype=np.int8)
