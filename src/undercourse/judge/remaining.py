"""A rulebook for one area: only what may still change its verdicts, for judging the area again and again.

What a limit says of half-known facts holds for all that they may turn out to be. So a limit that is met, or
does not apply, stays so whatever more is learned, and need not be looked at again.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from types import MappingProxyType

from undercourse.base.columns import pick
from undercourse.base.frame import Frame
from undercourse.facts.consistency import remaining_rows
from undercourse.judge.results import OPEN, Finding, Judgement
from undercourse.judge.rulebook import Rulebook
from undercourse.line.records import Limit

_STATED = "must state: "


def remaining_rules(book: Rulebook, facts: Frame, judgements: Collection[Judgement], row: int) -> Rulebook:
    """The part of a rulebook that is open in a row for some of these candidates.

    Verdicts of the row with more facts known come out as with the whole rulebook, for candidates whose
    verdict is open. Findings that are settled are left out. The line's products still need their whole
    limits where companions are picked, so candidates are assembled from the whole rulebook.
    """
    still = [
        finding
        for judgement in judgements
        for finding in judgement.findings
        if int(pick(finding.status, row)) == OPEN
    ]
    limits = {id(finding.limit) for finding in still if finding.limit is not None}
    weighed = {finding.demand for finding in still if _is_weighed(finding)}
    stated = {finding.demand for finding in still if finding.label.startswith(_STATED)}

    def stays(limit: Limit) -> bool:
        return id(limit) in limits or limit.demand in weighed

    practice = replace(
        book.practice,
        rules=tuple(rule for rule in book.practice.rules if stays(rule)),
        stops=(),
        must_state=tuple(one for one in book.practice.must_state if one.demand in stated),
    )
    products = {
        name: replace(product, limits=tuple(limit for limit in product.limits if stays(limit)))
        for name, product in book.line.products.items()
    }
    return replace(
        book,
        consistency=remaining_rows(book.consistency, facts.columns, row),
        practice=practice,
        line=replace(book.line, products=MappingProxyType(products)),
    )


def _is_weighed(finding: Finding) -> bool:
    """Whether what other limits say of the same demand counts: they may take precedence or settle it."""
    limit = finding.limit
    if limit is None:
        return False
    return limit.yields_to != "nobody" or limit.comparison == "not_stated" or limit.evidence is not None
