"""Every fault of a line at once, what it does not state, and how it fares on sample areas."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from typing import Any

from undercourse.advise.audit_cracks import crack_faults
from undercourse.advise.audit_gaps import gap_notes
from undercourse.advise.audit_limits import FAULT, NOTE, Fault, Words, limit_faults
from undercourse.advise.audit_rows import line_faults
from undercourse.advise.audit_samples import sample_document
from undercourse.advise.audit_sound import sound_faults
from undercourse.advise.sentences import label, where_text
from undercourse.facts.jobs import Area
from undercourse.judge.rulebook import Rulebook


def audit(book: Rulebook, areas: Sequence[Area], date: dt.date | None = None) -> dict[str, Any]:
    """Look a line over.

    Parameters
    ----------
    areas : sequence of Area
        Sample areas; an empty sequence leaves that part out.
    date : date, optional
        The day for rulings, withdrawals and readings; the line's own date when left out.

    Returns
    -------
    dict
        ``line``, ``date``, ``faults`` (where, what, fix, severity; faults before notes), ``counts``,
        ``not_stated`` and ``samples``.
    """
    day = date or book.line.date
    faults = sorted(_faults(book, day), key=lambda fault: (fault.severity != FAULT, fault.where, fault.what))
    faults = list(dict.fromkeys(faults))
    return {
        "line": dict(book.basis.get("line", {})),
        "date": day.isoformat() if day else None,
        "faults": [
            {"where": one.where, "what": one.what, "fix": one.fix, "severity": one.severity} for one in faults
        ],
        "counts": {word: sum(one.severity == word for one in faults) for word in (FAULT, NOTE)},
        "not_stated": _not_stated(book, day),
        "samples": sample_document(areas, book, day),
    }


def _faults(book: Rulebook, day: dt.date | None) -> list[Fault]:
    words = Words(book.domains, book.vocabulary)
    found = list(line_faults(book.line, book.practice, book.domains["top_surface"], day))
    for product in book.line.products.values():
        found += limit_faults(product, words)
        found += sound_faults(product)
        found += crack_faults(product, book.tables, words)
        if product.on_sale(day):
            found += gap_notes(product, book, words)
    return found


def _not_stated(book: Rulebook, day: dt.date | None) -> list[dict[str, str]]:
    """What products say they do not state."""
    return [
        {
            "product": product.id,
            "demand": limit.demand,
            "label": label(limit.demand, book.vocabulary),
            "when": where_text(limit, book.domains, book.vocabulary),
            "because": limit.because,
        }
        for product in book.line.products.values()
        if product.on_sale(day)
        for limit in product.limits
        if limit.comparison == "not_stated"
    ]
