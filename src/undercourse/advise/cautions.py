"""Cautions of an answer: where someone can be hurt or misled, and where a computed number warns."""

from __future__ import annotations

from undercourse.advise.evaluating import Evaluated
from undercourse.advise.findings import row_spec, show_text
from undercourse.base.columns import pick
from undercourse.base.domains import Choices
from undercourse.base.frame import Frame
from undercourse.judge.limits import Values, judge_limit
from undercourse.judge.results import EXCEEDS, NOT_SUITABLE, OPEN, Judgement
from undercourse.judge.rulebook import Rulebook
from undercourse.line.comparing import holds
from undercourse.line.records import Note


def cautions_of(
    evaluated: Evaluated, book: Rulebook, row: int, recommended: str | None
) -> list[dict[str, str]]:
    """Where someone can be hurt or misled: the site's stops first, then what is in play."""
    found: dict[str, dict[str, str]] = {}

    def add(text: str, source: str) -> None:
        if text:
            found.setdefault(text, {"text": text, "source": source})

    for rule, truth in evaluated.site.stops:
        if bool(pick(truth.must, row)):
            add(rule.caution, rule.source or rule.basis)
    every = evaluated.of_row(row)
    live = [j for j in every if int(j.verdict[row]) != NOT_SUITABLE] or every
    chosen = [j for j in every if j.candidate.id == recommended] or live
    for note in book.practice.cautions:
        for judgement in chosen:
            if text := _caution_text(note, judgement.candidate.frame, book, row):
                add(text, note.source or note.basis)
                break
    for judgement in chosen:
        for finding in judgement.findings:
            limit = finding.limit
            if limit is None or int(pick(finding.status, row)) not in (EXCEEDS, OPEN):
                continue
            if bool(pick(finding.applies.must, row)):
                add(limit.caution, limit.source or limit.basis)
        add(
            _not_sold(judgement, evaluated, row) if judgement.candidate.id == recommended else "", "line data"
        )
    return list(found.values())


def warnings(frame: Frame, book: Rulebook, row: int) -> list[Note]:
    """The cautions that hang on a number which surely goes past its mark."""
    numbers = [note for note in book.practice.cautions if note.limit is not None]
    return [note for note in numbers if _caution_text(note, frame, book, row)]


def _caution_text(note: Note, frame: Frame, book: Rulebook, row: int) -> str:
    """A caution's text where it surely holds; with a limit, where the number surely goes past it."""
    if note.limit is None:
        return note.text if bool(pick(holds(note.when, frame).must, row)) else ""
    finding = judge_limit(note.limit, frame, Values(book))
    if finding is None or int(pick(finding.status, row)) != EXCEEDS or finding.value is None:
        return ""
    value = show_text(book.domains[note.limit.demand], row_spec(finding.value, row))
    return note.text.replace("{value}", value)


def _not_sold(judgement: Judgement, evaluated: Evaluated, row: int) -> str:
    """A country that the line does not list the membrane for."""
    membrane = judgement.candidate.membrane
    spec = evaluated.facts.columns.spec("jurisdiction", row)
    if membrane is None or not membrane.regions or not isinstance(spec, Choices):
        return ""
    names = evaluated.facts.domain("jurisdiction").names(spec.bits)
    if set(names) & set(membrane.regions):
        return ""
    places = " and ".join(membrane.regions)
    return (
        f"{membrane.name} is listed for {places}; packs, prices and delivery elsewhere are to be asked for."
    )
