"""Questions about a rule of the trade, answered without a site: rules by topic and by word."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from functools import lru_cache
from typing import Any

from undercourse.advise.sentences import condition_text, label, limit_text, need_text
from undercourse.facts.vocabulary import Vocabulary
from undercourse.judge.rulebook import all_domains
from undercourse.line.records import Limit, Need, Note, Practice

# Words that say nothing about the matter.
# fmt: off
_SMALL = frozenset((
    "a", "an", "and", "any", "are", "as", "at", "be", "by", "can", "do", "does", "for", "from", "have",
    "how", "i", "if", "in", "is", "it", "its", "may", "me", "must", "my", "need", "needs", "no", "not",
    "of", "on", "one", "or", "over", "rule", "rules", "should", "than", "that", "the", "their", "there",
    "this", "to", "under", "what", "when", "where", "which", "who", "why", "will", "with", "without",
    "you", "your", "about", "allowed", "required", "requirement",
))
# fmt: on
_DIGIT = re.compile(r"\d")
_WORD = re.compile(r"[a-z0-9][a-z0-9./&-]*[a-z0-9]|[a-z0-9]")
# A row stays in the answer when it scores at least this share of the best one.
_KEPT = 0.6


def stem(word: str) -> str:
    """A word without its plural ending: ``joists`` and ``joist``, ``trusses`` and ``truss``, ``bodies``."""
    if len(word) > 4 and word.endswith("ies"):
        return word[:-3] + "y"
    if len(word) > 4 and word.endswith(("sses", "shes", "ches", "xes")):
        return word[:-2]
    if len(word) > 3 and word.endswith("s") and not word.endswith(("ss", "us", "is")):
        return word[:-1]
    return word


@lru_cache(maxsize=8192)
def words_of(text: str) -> tuple[str, ...]:
    """The telling words of a text, stemmed, in order; hyphens part words."""
    found = []
    for word in _WORD.findall(text.lower()):
        parts = [word] if _DIGIT.search(word) else word.replace("/", "-").split("-")
        found += [stem(part) for part in parts if part and part not in _SMALL]
    return tuple(found)


@dataclass(frozen=True)
class _Entry:
    """One row with what it can be found by."""

    document: dict[str, Any]
    topics: tuple[tuple[str, ...], ...]
    names: tuple[tuple[str, ...], ...]
    body: frozenset[str]
    order: int


def find_rules(text: str, practice: Practice, vocabulary: Vocabulary) -> dict[str, Any]:
    """The rules, needs, notes and cautions that a question is about, best first.

    A row is found where a whole topic of it (or a word that people use for its fact) stands in the
    question; where the row's words hold the question's; never by likeness of letters.

    Returns
    -------
    dict
        ``asked``, ``rules`` (each with kind, text, because, source, basis, edition, jurisdiction,
        yields_to, caution, topics) and ``topics``, all that can be asked for.
    """
    asked = words_of(text)
    entries = list(_entries(practice, vocabulary))
    scored = [(score, entry) for entry in entries if (score := _score(asked, entry)) > 0]
    best = max((score for score, _ in scored), default=0.0)
    kept = [(score, entry) for score, entry in scored if score >= best * _KEPT]
    kept.sort(key=lambda pair: (-pair[0], pair[1].order))
    topics = sorted({topic for entry in entries for topic in entry.document["topics"]}, key=str.lower)
    return {"asked": text, "rules": [entry.document for _, entry in kept], "topics": topics}


def near_topics(asked: str, topics: Sequence[str], most: int = 6) -> list[str]:
    """Topics that share a word with a question, or are written much like one of its words."""
    words = set(words_of(asked))
    shared = [topic for topic in topics if words & set(words_of(topic))]
    alike = [topic for word in sorted(words) for topic in get_close_matches(word, topics, 3, 0.75)]
    return list(dict.fromkeys([*shared, *alike]))[:most]


def _score(asked: tuple[str, ...], entry: _Entry) -> float:
    """How much of the question a row covers: whole topics count double, single words once."""
    telling = set(asked)
    if not telling:
        return 0.0
    known = (*entry.topics, *entry.names)
    whole = {word for phrase in known if _stands_in(phrase, asked) for word in phrase}
    loose = telling & (entry.body | {word for phrase in known for word in phrase})
    if not whole and loose != telling and len(loose) < 2:
        return 0.0
    score = (2 * len(whole & telling) + len(loose)) / len(telling)
    return score + (1.0 if asked in known else 0.0) + (0.5 if asked in entry.names else 0.0)


def _stands_in(topic: tuple[str, ...], asked: tuple[str, ...]) -> bool:
    """Whether a topic's words stand in the question one after the other."""
    size = len(topic)
    return size > 0 and any(asked[at : at + size] == topic for at in range(len(asked) - size + 1))


def _entries(practice: Practice, vocabulary: Vocabulary) -> Iterable[_Entry]:
    domains = all_domains(vocabulary)
    order = 0
    for kind, limits in (("limit", practice.rules), ("stop", practice.stops)):
        for limit in limits:
            sentence = limit_text(limit, domains, vocabulary)
            document = _limit_document(kind, limit, sentence)
            yield _entry(document, limit.topics, _names(limit, vocabulary), order)
            order += 1
    for need in practice.needs:
        document = _need_document(need, need_text(need, domains, vocabulary))
        yield _entry(document, need.topics, (need.role,), order)
        order += 1
    for kind, notes in (("note", practice.notes), ("caution", practice.cautions)):
        for note in notes:
            where = condition_text(note.when, domains, vocabulary)
            yield _entry(_note_document(kind, note, where), note.topics, (), order)
            order += 1


def _names(limit: Limit, vocabulary: Vocabulary) -> tuple[str, ...]:
    """What people call the thing that a rule limits."""
    if limit.comparison == "never" or limit.demand not in vocabulary:
        return (limit.demand.replace("_", " "),)
    fact = vocabulary[limit.demand]
    return (label(limit.demand, vocabulary), limit.demand.replace("_", " "), *fact.words)


def _entry(document: dict[str, Any], topics: Iterable[str], names: Iterable[str], order: int) -> _Entry:
    filed, called = (tuple(words for text in texts if (words := words_of(text))) for texts in (topics, names))
    body = " ".join(document[key] for key in ("text", "because", "source", "caution"))
    return _Entry(document, filed, called, frozenset(words_of(body)), order)


def _limit_document(kind: str, limit: Limit, sentence: str) -> dict[str, Any]:
    return {
        "id": limit.id,
        "kind": kind,
        "text": sentence,
        "because": limit.because,
        "source": limit.source or limit.basis,
        "basis": limit.basis,
        "edition": limit.edition,
        "jurisdiction": list(limit.jurisdictions),
        "yields_to": limit.yields_to,
        "caution": limit.caution,
        "topics": list(limit.topics),
    }


def _need_document(need: Need, sentence: str) -> dict[str, Any]:
    return {
        "id": need.id,
        "kind": "need",
        "text": sentence,
        "because": need.because,
        "source": need.source or need.basis,
        "basis": need.basis,
        "edition": "",
        "jurisdiction": [],
        "yields_to": "nobody",
        "caution": "",
        "topics": list(need.topics),
    }


def _note_document(kind: str, note: Note, where: str) -> dict[str, Any]:
    return {
        "id": note.id,
        "kind": kind,
        "text": note.text,
        "because": f"Where {where}." if where else "",
        "source": note.source or note.basis,
        "basis": note.basis,
        "edition": "",
        "jurisdiction": list(note.jurisdictions),
        "yields_to": "nobody",
        "caution": "",
        "topics": list(note.topics),
    }
