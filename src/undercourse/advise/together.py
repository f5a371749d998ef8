"""Facts that a person is asked for in one question: what the sheet is to do, the layers, the joists …"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from types import MappingProxyType

from undercourse.advise.evaluating import Evaluated
from undercourse.advise.sweeps import is_open
from undercourse.base.columns import pick
from undercourse.facts.jobs import WISHES
from undercourse.facts.layers import DERIVED
from undercourse.judge.rulebook import Rulebook


@dataclass(frozen=True)
class Together:
    """One question for several facts.

    ``whole`` marks those that one reply settles altogether, however few of the facts matter; ``in_order``
    those whose numbers can only be told apart by their order. ``examples`` holds a reply for each fact.
    """

    id: str
    facts: tuple[str, ...]
    label: str
    question: str
    find: str
    form: str
    whole: bool = False
    in_order: bool = False
    examples: tuple[str, ...] = ()

    def form_for(self, facts: Collection[str]) -> str:
        """How a reply is written where only some of the facts are asked for."""
        if not self.examples or len(facts) == len(self.facts):
            return self.form
        named = zip(self.facts, self.examples, strict=True)
        shown = ", ".join(example for name, example in named if name in facts)
        start = _IN_ORDER if self.in_order else _IN_PARTS
        return f"{start}{shown}{'; or none' if self.facts[0] in facts and 'or none' in self.form else ''}."


WANTED = Together(
    "wanted",
    WISHES,
    "what the sheet is to do",
    "What should the sheet under the tile do: uncouple, keep cracks out, waterproof, deal with moisture from "
    "below, quieten steps, hold a heating cable?",
    "What is feared for this floor, or what the specification says; what is not named is not asked for.",
    "Those wanted, with commas: uncoupling, crack isolation, waterproofing, vapor management, sound "
    "reduction, heating, joint relocation; or nothing.",
    whole=True,
)
LAYERS = Together(
    "layers",
    DERIVED,
    "the layers of the floor",
    "What does the floor consist of, layer by layer from the top down to what carries it?",
    "Look at a register, a threshold or a cut edge: kind and thickness of every layer that stays.",
    "From the top, with commas: 1/4 in cement board, 3/4 in plywood; a ? at the end leaves the rest open.",
    whole=True,
)
TILE_SIZE = Together(
    "tile size",
    ("tile_long_edge", "tile_short_edge", "tile_thickness"),
    "the size of the tile",
    "How large is the tile, and how thick?",
    "From the carton or the order: its longest and its shortest edge, and its thickness.",
    "Both edges and the thickness, as 12 x 24 in, 3/8 in; one number is the edge of a square.",
)
_IN_PARTS = "Those that are known, with commas, as "
_IN_ORDER = "In this order, with commas: "
JOISTS = Together(
    "joists",
    ("joist_size", "joist_spacing", "joist_span"),
    "the joists",
    "What size are the joists, how far apart are they, and how far do they span?",
    "From below or at a register: depth and thickness, center to center, and from bearing to bearing.",
    f"{_IN_PARTS}2x10, 16 in, 14 ft.",
    examples=("2x10", "16 in", "14 ft"),
)
LUMBER = Together(
    "lumber",
    ("joist_species", "joist_grade"),
    "the lumber of the joists",
    "What does the stamp on the joists say: which kind of lumber, which grade?",
    "The grade stamp on the side of a joist names both.",
    f"{_IN_PARTS}SPF, No.2.",
    examples=("SPF", "No.2"),
)
PANEL_STAMP = Together(
    "panel stamp",
    ("panel_kind", "panel_rating"),
    "the panel's stamp",
    "What does the panel's stamp say: plywood or OSB, and which span rating?",
    "On the underside, from below or at a cut edge; 32/16 or 48/24 or 24 oc.",
    f"{_IN_PARTS}plywood, 48/24.",
    examples=("plywood", "48/24"),
)
HEATING = Together(
    "heating",
    ("heating", "heating_position"),
    "floor heating",
    "Is there heating in the floor, and if so which, and where does it lie?",
    "What warms it, cable, mat or water, and whether it lies in, above or below the membrane.",
    f"{_IN_PARTS}electric cable, in the membrane; or none.",
    examples=("electric cable", "in the membrane"),
)
WHEELS = Together(
    "wheels",
    ("wheels", "wheel_load"),
    "what rolls over it",
    "Does anything on wheels roll over it: what are its wheels made of, and what does one carry?",
    "Carts, pallet trucks, lifts, wheelchairs: full weight over the wheels, half as much again if uneven.",
    f"{_IN_PARTS}hard rubber, 300 lb; or none.",
    examples=("hard rubber", "300 lb"),
)
SOUND = Together(
    "impact rating",
    ("iic_wanted", "iic_basis"),
    "the impact rating asked for",
    "Is an impact rating (IIC) asked for, how high, and for the laboratory or the field?",
    "From the lease, the association's rules or the specification; none if nothing is asked.",
    f"{_IN_PARTS}50 dB, field; or none.",
    examples=("50 dB", "field"),
)
CRACKS = Together(
    "cracks",
    ("cracks", "crack_width", "crack_offset"),
    "the cracks of the base",
    "What cracks are in the slab or floor below the tile, how wide, and does one side stand higher?",
    "Measure with a gauge or a coin at the widest place, and lay a straightedge across.",
    f"{_IN_ORDER}hairline, 1/16 in, 0 in; or none.",
    in_order=True,
    examples=("hairline", "1/16 in", "0 in"),
)
ALL = (WANTED, LAYERS, TILE_SIZE, JOISTS, LUMBER, PANEL_STAMP, HEATING, WHEELS, SOUND, CRACKS)
_OF_FACT = MappingProxyType({fact: one for one in ALL for fact in one.facts})


def together_of(fact: str) -> Together | None:
    """The question that asks for a fact and for others with it; None where it is asked alone."""
    return _OF_FACT.get(fact)


def words_of_question(book: Rulebook, fact: str, facts: Collection[str]) -> tuple[str, str]:
    """The question for a fact, or for several at once, and how to find out.

    Where some of the facts of one question are known, the others are asked for one by one in one go.
    """
    one = together_of(fact) if len(facts) > 1 else None
    if one is None:
        alone = book.vocabulary[fact]
        return alone.question, alone.find
    if one.whole or len(facts) == len(one.facts):
        return one.question, one.find
    return " ".join(book.vocabulary[name].question for name in one.facts if name in facts), one.find


def stand_in(evaluated: Evaluated, book: Rulebook, row: int, fact: str, apart: Collection[str]) -> str | None:
    """What to ask for a fact: itself, what must be known first, or nothing where it means nothing.

    What is asked for in the same question need not be known first, nor what nobody can tell.
    """
    passed: set[str] = set()
    while True:
        passed.add(fact)
        leaders = []
        for leader, spec in book.vocabulary[fact].asked_where:
            truth = evaluated.facts.says(leader, spec)
            if not bool(pick(truth.may, row)):
                return None
            if not bool(pick(truth.must, row)) and leader not in apart and leader not in passed:
                leaders.append(leader)
        if not leaders or together_of(fact) is together_of(leaders[0]) is not None:
            return fact
        fact = leaders[0]


def hangs_on(evaluated: Evaluated, book: Rulebook, row: int, fact: str, left: Collection[str]) -> bool:
    """Whether a fact is left open itself, or means something only with one that is."""
    waiting, seen = [fact], set()
    while waiting:
        name = waiting.pop()
        if name in left:
            return True
        if name not in seen:
            seen.add(name)
            terms = book.vocabulary[name].asked_where
            waiting += [
                one for one, spec in terms if not bool(pick(evaluated.facts.says(one, spec).must, row))
            ]
    return False


def may_be_asked(evaluated: Evaluated, book: Rulebook, row: int, apart: Collection[str]) -> set[str]:
    """Open facts of questions for several that mean something here."""
    return {
        name
        for name in _OF_FACT
        if name not in apart
        and is_open(evaluated.facts[name], row)
        and stand_in(evaluated, book, row, name, apart) is not None
    }


def asked_with(
    fact: str, matter: Collection[str], still_open: Collection[str], book: Rulebook
) -> tuple[str, ...]:
    """The facts that are asked for with one, itself among them, in the order of the question.

    Parameters
    ----------
    matter : collection of str
        Facts on which something turns.
    still_open : collection of str
        Facts that may be asked for.
    """
    one = together_of(fact)
    if one is None:
        return (fact,)
    wanted = set(still_open) if one.whole else (set(matter) | {fact}) & set(still_open)
    # With a wheel's load it is asked whether anything has wheels.
    wanted |= {leader for name in wanted & set(one.facts) for leader, _ in book.vocabulary[name].asked_where}
    return tuple(name for name in one.facts if name == fact or (name in wanted and name in still_open))
