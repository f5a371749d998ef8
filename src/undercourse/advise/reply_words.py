"""What a person types as a reply: one value, a list for several facts, or facts by name."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from undercourse.advise.together import LAYERS, TILE_SIZE, WANTED, Together
from undercourse.base.domains import Choices, Span, read_spec
from undercourse.base.problems import Problem
from undercourse.facts.jobs import Reading, read_reading
from undercourse.facts.vocabulary import SLOTS, Vocabulary

WHERE = "reply"
OPEN_END = "?"
# A single number below this is the thickness of a tile.
EDGE_OF_A_TILE_M = 0.0254
_NOTHING = ("nothing", "none", "no", "nothing else", "nothing more")
# Said in many ways; none of them is a fault.
_NOT_KNOWN = re.compile(
    r"(i )?(really )?(do not|don'?t|can'?t|can ?not) (know|say|tell|remember)( that| yet)?"
    r"|dunno|idk|(i have )?no (idea|clue)|(not known|unknown) yet|skip|[?]+"
    r"|(i'?m |i am )?(not|un)( ?sure| ?certain| ?known| ?clear)",
    re.I,
)
_YES_NO = {"y": "yes", "n": "no"}
_PARTS = re.compile(r"\s*[,;]\s*")
_TIMES = re.compile(r"\s*(?:x|×|\bby\b)\s*", re.I)
_NAMED = re.compile(r"^[A-Za-z][A-Za-z0-9 _()-]*=\s*\S")


@dataclass
class Said:
    """The readings of one reply, the facts that it leaves open on purpose, and what is wrong with it."""

    readings: dict[str, Reading] = field(default_factory=dict)
    left_open: set[str] = field(default_factory=set)
    problems: list[Problem] = field(default_factory=list)

    def fault(self, what: str, fix: str) -> None:
        """Note what cannot be read."""
        self.problems.append(Problem(WHERE, what, fix))


def read_reply(vocabulary: Vocabulary, facts: Sequence[str], together: Together | None, text: str) -> Said:
    """Read a reply to a question.

    Parameters
    ----------
    facts : sequence of str
        The facts that the question asks for; one, or several of ``together``.
    text : str
        A value as job files write it; for several facts a list in the form that the question tells;
        anywhere ``fact = value``, several with semicolons. Words such as "no idea" give no reading.
    """
    said = Said()
    if _NOT_KNOWN.fullmatch(text.strip().rstrip(".!").replace("\u2019", "'")):
        return said
    if _NAMED.match(text):
        _read_named(vocabulary, text, said)
    elif together is None or len(facts) == 1:
        _keep(vocabulary, facts[0], text, said)
    elif together is WANTED:
        _read_wanted(vocabulary, facts, text, said)
    elif together is LAYERS:
        _read_layers(vocabulary, facts, text, said)
    elif together is TILE_SIZE:
        _read_tile(vocabulary, facts, text, said)
    else:
        _read_parts(vocabulary, facts, together, text, said)
    return said


def _keep(vocabulary: Vocabulary, name: str, text: str, said: Said) -> None:
    value = text.strip()
    if vocabulary.domains[name].kind == "flag":
        value = _YES_NO.get(value.lower(), value)
    reading = read_reading(vocabulary, name, value, WHERE, said.problems)
    if reading is None:
        return
    if reading.spec == vocabulary.domains[name].everything:
        said.left_open.add(name)
    else:
        said.readings[name] = reading


def _read_named(vocabulary: Vocabulary, text: str, said: Said) -> None:
    for part in text.split(";"):
        name, _, value = part.partition("=")
        name = name.strip().lower()
        fact = name.replace(" ", "_")
        if fact not in vocabulary:
            called = [one.name for one in vocabulary.facts.values() if one.label.lower() == name]
            fact = called[0] if len(called) == 1 else fact
        if fact not in vocabulary:
            said.fault(f'"{name}" is not a fact', vocabulary.nearest(fact))
        else:
            _keep(vocabulary, fact, value, said)


def _read_wanted(vocabulary: Vocabulary, facts: Sequence[str], text: str, said: Said) -> None:
    """Functions by name; what is not named is not wanted, unless the list ends in a question mark."""
    lowered = text.strip().lower()
    parts = [part for part in re.split(r"\s*(?:[,;]|\band\b)\s*", lowered) if part]
    rest_open = parts[-1:] == [OPEN_END]
    named: set[str] = set()
    for part in [] if lowered in _NOTHING else parts:
        if part == OPEN_END:
            continue
        found = [name for name in WANTED.facts if part in _words_of(vocabulary, name)]
        if not found:
            functions = ", ".join(_function(name) for name in WANTED.facts)
            said.fault(f'"{part}" is no function of a sheet', f"write some of {functions}; or nothing")
        named |= set(found)
    if said.problems:
        return
    for name in dict.fromkeys((*facts, *sorted(named))):
        if name in named or not rest_open:
            spec = read_spec(vocabulary.domains[name], name in named)
            said.readings[name] = Reading(spec, WHERE, said=name in named)
        else:
            said.left_open.add(name)


def _function(name: str) -> str:
    return name.removeprefix("wants_").replace("_", " ")


def _words_of(vocabulary: Vocabulary, name: str) -> set[str]:
    return {_function(name), name, *(word.lower() for word in vocabulary[name].words)}


def _read_layers(vocabulary: Vocabulary, facts: Sequence[str], text: str, said: Said) -> None:
    """Layers from the top down; a list without a question mark at its end is whole."""
    parts = [part for part in _PARTS.split(text.strip()) if part]
    rest_open = parts[-1:] == [OPEN_END]
    parts = parts[:-1] if rest_open else parts
    if not parts or len(parts) > SLOTS:
        fix = f"write one to {SLOTS} layers from the top, as: {LAYERS.form}"
        said.fault(f"{len(parts)} layers" if parts else "no layer is named", fix)
        return
    for place, part in enumerate(parts, 1):
        found = next(_layer_of(vocabulary, place, part), None)
        if found is None:
            fix = "write kind and thickness, as 3/4 in plywood; kinds: undercourse facts layer_1_kind"
            said.fault(f'"{part}" is no layer', fix)
        else:
            said.readings |= found
    if rest_open:
        said.left_open |= set(facts)
        return
    none = read_spec(vocabulary.domains["layer_1_kind"], "nothing")
    for place in range(len(parts) + 1, SLOTS + 1):
        said.readings[f"layer_{place}_kind"] = Reading(none, WHERE, said="nothing")


def _layer_of(vocabulary: Vocabulary, place: int, part: str) -> Iterator[dict[str, Reading]]:
    """Every way to read a part as a kind of layer with or without a thickness before or after it."""
    words = [word for word in part.split() if word.lower() != "of"]
    names = f"layer_{place}_kind", f"layer_{place}_thickness"
    for at in range(len(words), -1, -1):
        for kind, thickness in ((words[:at], words[at:]), (words[at:], words[:at])):
            if not kind:
                continue
            faults: list[Problem] = []
            found: dict[str, Reading] = {}
            for name, value in zip(names, (" ".join(kind), " ".join(thickness)), strict=True):
                reading = read_reading(vocabulary, name, value, WHERE, faults) if value else None
                if reading is not None:
                    found[name] = reading
            if not faults:
                yield found


def _read_tile(vocabulary: Vocabulary, facts: Sequence[str], text: str, said: Said) -> None:
    """The size of a tile and its thickness, both or one of them."""
    parts = [part for part in _PARTS.split(text.strip()) if part and part != OPEN_END]
    thickness = TILE_SIZE.facts[2]
    if len(parts) == 1 and thickness in facts and _is_thin(vocabulary, parts[0]):
        parts.insert(0, "")
    if len(parts) > 2 or not parts:
        fault = f'"{text.strip()}" is no size of a tile' if parts else "nothing is said"
        said.fault(fault, "write both edges and the thickness, as 12 x 24 in, 3/8 in")
        return
    if parts[0]:
        _read_size(vocabulary, parts[0], said)
    if len(parts) > 1 and not said.problems:
        _keep(vocabulary, thickness, parts[1], said)
    said.left_open |= set(facts) - set(said.readings)


def _is_thin(vocabulary: Vocabulary, part: str) -> bool:
    """Whether a single number is under an inch, as the thickness of a tile is and its edge is not."""
    if not _fits(vocabulary, TILE_SIZE.facts[2], part):
        return False
    spec = read_spec(vocabulary.domains[TILE_SIZE.facts[2]], part)
    return isinstance(spec, Span) and spec.high < EDGE_OF_A_TILE_M


def _read_size(vocabulary: Vocabulary, text: str, said: Said) -> None:
    """Two edges, the longer one first or last; a single number is a square."""
    edges = _TIMES.split(text.strip())
    names = TILE_SIZE.facts[:2]
    if len(edges) == 1:
        for name in names:
            _keep(vocabulary, name, edges[0], said)
        said.problems = list(dict.fromkeys(said.problems))[:1]
        return
    if len(edges) != 2:
        said.fault(f'"{text.strip()}" is no size of a tile', "write both edges, as 12 x 24 in")
        return
    unit = re.sub(r"^[\d\s./,-]+", "", edges[1])
    first = edges[0] if re.search(r"[a-zA-Z\"']\s*$", edges[0]) else f"{edges[0]} {unit}"
    opening = re.match(r"^(about|around|roughly|up to|at least|over|under)\s", first, re.I)
    both = [first, f"{opening.group(0)}{edges[1]}" if opening else edges[1]]
    specs = []
    for edge in both:
        _keep(vocabulary, names[0], edge, said)
        found = said.readings.pop(names[0], None)
        if found is not None and isinstance(found.spec, Span):
            specs.append((found.spec, edge))
    if said.problems or len(specs) != 2:
        said.problems = said.problems[:1]
        return
    # The longer one by its upper end; the names come in the order long, short.
    specs.sort(key=lambda one: -one[0].high)
    for name, (_, edge) in zip(names, specs, strict=True):
        _keep(vocabulary, name, edge, said)


def _read_parts(
    vocabulary: Vocabulary, facts: Sequence[str], together: Together, text: str, said: Said
) -> None:
    """Parts in any order, each taken by the one fact that it fits, or by the one for which it is usual."""
    parts = [part for part in _PARTS.split(text.strip()) if part]
    for part in parts:
        if part == OPEN_END:
            said.left_open |= set(facts)
            continue
        left = [name for name in facts if name not in said.readings]
        fits = [name for name in left if _fits(vocabulary, name, part)]
        if len(fits) > 1:
            usual = [name for name in fits if _is_usual(vocabulary, name, part)]
            fits = usual or fits
        fits = fits[:1] if together.in_order else fits
        if len(fits) == 1:
            _keep(vocabulary, fits[0], part, said)
        elif fits:
            named = "; ".join(f"{name} = {part}" for name in fits[:1])
            said.fault(f'"{part}" may be {" or ".join(fits)}', f"say which, as: {named}")
        else:
            _keep(vocabulary, (left or list(facts))[0], part, said)
    if not parts:
        said.fault("nothing is said", f"write {together.form[:1].lower()}{together.form[1:]}")
    said.left_open -= set(said.readings)


def _fits(vocabulary: Vocabulary, name: str, part: str) -> bool:
    try:
        read_spec(vocabulary.domains[name], part)
    except ValueError:
        return False
    return True


def _is_usual(vocabulary: Vocabulary, name: str, part: str) -> bool:
    """Whether what is said lies within what is usual for a fact anywhere; of an open range its one end."""
    domain = vocabulary.domains[name]
    spec = read_spec(domain, part)
    for usual in (one.spec for one in vocabulary[name].usuals):
        if isinstance(spec, Span) and isinstance(usual, Span):
            ends = [end for end in spec if domain.low < end < domain.high] or list(spec)
            if all(usual.low <= end <= usual.high for end in ends):
                return True
        elif isinstance(spec, Choices) and isinstance(usual, Choices) and not spec.bits & ~usual.bits:
            return True
    return False
