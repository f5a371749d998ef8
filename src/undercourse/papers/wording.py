"""The words of an answer on paper: verdicts, statuses, names, lists."""

from __future__ import annotations

from typing import Any

from undercourse.advise.sentences import series
from undercourse.drawings import plain_name
from undercourse.drawings.materials import is_existing, is_membrane, layer_name

VERDICTS = {
    "suitable": "Suitable",
    "suitable_if": "Suitable, provided …",
    "needs_facts": "Need facts",
    "needs_ruling": "Not stated by the maker",
    "not_suitable": "Not suitable",
}
SITES = {"ready": "Ready", "stop": "Stop", "open": "Open"}
STATUSES = {
    "meets": "Meets",
    "exceeds": "Exceeds",
    "open": "Open",
    "not stated": "Not stated",
    "not valid here": "Not valid here",
    "does not apply": "Does not apply",
}
_COUNTS = (
    "no",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
)


def counted(number: int, one: str, many: str | None = None) -> str:
    """A number with its noun, in words to twelve: ``three things``."""
    noun = one if number == 1 else (many or f"{one}s")
    return f"{_COUNTS[number] if number < len(_COUNTS) else number} {noun}"


def listed(names: list[str]) -> str:
    """Names as a sentence lists them: ``a, b and c``; ``a, 8 mm; b; and c`` where a name has a comma."""
    return series(names)


def sentence(text: Any) -> str:
    """A text as a sentence: capital first, a full stop at the end."""
    words = str(text or "").strip()
    if not words:
        return ""
    words = words[0].upper() + words[1:]
    return words if words[-1] in ".!?…" else f"{words}."


def status_key(value: Any) -> str:
    """A status as the contract spells it, whichever way its words are joined."""
    return str(value or "").strip().lower().replace("_", " ")


def source_text(source: Any) -> str:
    """Where a statement comes from, as one line."""
    if not source:
        return "no source given"
    if isinstance(source, dict):
        return ", ".join(str(source[key]) for key in sorted(source) if source[key])
    if isinstance(source, list | tuple):
        return "; ".join(source_text(one) for one in source)
    text = str(source)
    kind, colon, rest = text.partition(":")
    if colon and kind in ("evidence", "standard", "ruling", "practice") and not rest.startswith(" "):
        return f"{kind}: {rest.replace('#', ', ')}"
    return text


def candidate_name(candidate: dict[str, Any]) -> str:
    """What an assembly is called: its membranes, else what is new in it."""
    if candidate.get("name"):
        return str(candidate["name"])
    layers = [layer for layer in candidate.get("layers") or () if layer.get("name") or layer.get("product")]
    sheets = [layer_name(layer) for layer in layers if is_membrane(layer)]
    if not sheets:
        sheets = [
            layer_name(layer)
            for layer in layers
            if not is_existing(layer) and str(layer.get("role") or "").lower() not in ("tile", "finish")
        ]
    return listed(list(dict.fromkeys(sheets))) or f"Assembly {candidate.get('id', 'not named')}"


def verdict_sentence(candidate: dict[str, Any] | None) -> str:
    """The verdict on an assembly as one sentence."""
    if candidate is None:
        return "No assembly could be proposed for this area."
    name = candidate_name(candidate)
    verdict = str(candidate.get("verdict") or "")
    if verdict == "suitable":
        return f"Suitable: {name} may be used here as shown."
    if verdict == "suitable_if":
        things = counted(len(candidate.get("provided") or ()), "thing is", "things are")
        return f"Suitable, provided {things} made so: {name}."
    if verdict == "needs_facts":
        facts = len(candidate.get("depends_on") or ())
        turns = f"the answer on {name} turns on {counted(facts, 'fact')} not known yet" if facts else name
        return f"Need facts: {turns}."
    if verdict == "needs_ruling":
        limits = len(candidate.get("not_stated") or ())
        what = counted(limits, "limit") if limits else "a limit"
        return f"Not stated by the maker: {what} of {name} need{'s' if limits < 2 else ''} a ruling."
    if verdict == "not_suitable":
        return f"Not suitable: {name} must not be used here."
    return f"No verdict was reached on {name}."


def governing_finding(candidate: dict[str, Any]) -> dict[str, Any] | None:
    """The finding that decides, matched by limit or demand."""
    governs = candidate.get("governs")
    if not governs:
        return None
    for finding in candidate.get("findings") or ():
        if governs in (finding.get("limit"), finding.get("demand")):
            return dict(finding)
    return None


def fact_name(name: Any) -> str:
    """A fact's name as words, capital first."""
    words = plain_name(name)
    return words[:1].upper() + words[1:]
