"""The day that the clock gives, or that an option names."""

from __future__ import annotations

import datetime as dt

from undercourse.base.problems import Problem, Problems


def day(text: str = "") -> dt.date:
    """The date that a text names; today for an empty text."""
    if not text:
        return dt.date.today()
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise Problems([Problem("--date", f'"{text}" is not a date', "write it as 2026-11-25")]) from None
