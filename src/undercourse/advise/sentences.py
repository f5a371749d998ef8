"""Rows of a line and of the trade's rules as sentences, in both unit systems."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from undercourse.advise.findings import show_text
from undercourse.base.domains import Choices, Domain, Span, Spec, read_spec
from undercourse.facts.vocabulary import Vocabulary
from undercourse.line.records import Capacity, Condition, Limit, Need, Product

# Facts that every row may name beside its own conditions; shown apart.
_SHOWN_APART = ("jurisdiction",)
# More choices than this are told by what is left out, where that is shorter.
_MANY = 6
# From this many choices on, one word that people use for just these is clearer than the list.
_SEVERAL = 3


def label(name: str, vocabulary: Vocabulary) -> str:
    """What people call a fact, a candidate column or a demand."""
    if name in vocabulary:
        text = vocabulary[name].label
        return f"{text.removeprefix('wants ')} wanted" if text.startswith("wants ") else text
    if name.startswith("provides_"):
        return f"a membrane that gives {name.removeprefix('provides_').replace('_', ' ')}"
    if name.startswith("has_"):
        return f"a {name.removeprefix('has_').replace('_', ' ')}"
    if name.endswith("_m"):
        return f"{name.removesuffix('_m').replace('_', ' ')}, as a length"
    return name.replace("_", " ")


def series(names: Sequence[str], last: str = "and", most: int = 0) -> str:
    """Names as a sentence lists them; with semicolons where a name holds a comma itself.

    Parameters
    ----------
    last : str
        The word before the last name.
    most : int, optional
        After so many names only how many more there are is told.
    """
    shown = list(names[:most] if most else names)
    rest = len(names) - len(shown)
    between = "; " if any("," in name for name in shown) else ", "
    if rest:
        return f"{between.join(shown)}{';' if between == '; ' else ''} {last} {rest} more"
    if len(shown) < 2:
        return "".join(shown)
    final = f"{between if between == '; ' and len(shown) > 2 else ' '}{last} {shown[-1]}"
    return between.join(shown[:-1]) + final


def spec_text(domain: Domain, spec: Spec) -> str:
    """A set of values in words, the shorter of what it holds and what it leaves out."""
    if isinstance(spec, Span):
        return show_text(domain, spec)
    inside = domain.names(spec.bits)
    outside = [choice for choice in domain.choices if choice not in inside]
    if not outside:
        return "anything"
    if outside == ["none"]:
        return "anything but none"
    if len(inside) >= _SEVERAL:
        for word, written in domain.words.items():
            if read_spec(domain, written) == spec:
                return word
    few = len(outside) < len(inside)
    if few and (len(inside) > _MANY or (len(outside) == 1 and outside != ["other"])):
        return f"anything but {_either(outside)}"
    return _either(inside)


def _either(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} or {words[-1]}"


def condition_text(condition: Condition | None, domains: Mapping[str, Domain], vocabulary: Vocabulary) -> str:
    """A condition as words that follow "where"; empty where there is none."""
    parts = []
    for name, spec in condition.terms if condition else ():
        if name in _SHOWN_APART:
            continue
        domain, called = domains[name], label(name, vocabulary)
        if domain.kind == "flag" and isinstance(spec, Choices) and spec.bits in (1, 2):
            parts.append(_flag_text(called, spec.bits == 2))
        else:
            parts.append(f"{called} is {spec_text(domain, spec)}")
    return " and ".join(parts)


def _flag_text(called: str, yes: bool) -> str:
    if called.endswith(" wanted"):
        return f"{called.removesuffix(' wanted')} is {'' if yes else 'not '}wanted"
    return f"there is {called}" if yes else f"there is no {called.removeprefix('a ').removeprefix('an ')}"


def where_text(limit: Limit | Need, domains: Mapping[str, Domain], vocabulary: Vocabulary) -> str:
    """The conditions of a row, ``unless`` included; empty where it always applies."""
    when = condition_text(limit.when, domains, vocabulary)
    unless = condition_text(limit.unless, domains, vocabulary)
    return ", ".join(
        part for part in (f"where {when}" if when else "", f"unless {unless}" if unless else "") if part
    )


def allowed_text(limit: Limit, domains: Mapping[str, Domain], vocabulary: Vocabulary) -> str:
    """What a row allows: its comparison and capacity."""
    if limit.comparison == "never":
        return "never"
    if limit.comparison == "not_stated":
        return "not stated"
    if limit.capacity.column:
        if domains[limit.capacity.column].kind == "flag":
            return f"only with {label(limit.capacity.column, vocabulary)}"
        words = {"at_most": "at most", "at_least": "at least", "none_of": "not"}.get(limit.comparison, "as")
        return f"{words} {label(limit.capacity.column, vocabulary)}"
    return _capacity_text(limit.comparison, limit.capacity, domains[limit.demand])


def _capacity_text(comparison: str, capacity: Capacity, domain: Domain) -> str:
    spec = capacity.spec
    assert spec is not None
    if isinstance(spec, Span):
        if comparison in ("at_most", "at_least"):
            end = spec.high if comparison == "at_most" else spec.low
            return f"{comparison.replace('_', ' ')} {show_text(domain, Span(end, end))}"
        text = show_text(domain, spec)
        return text if comparison == "one_of" else f"not {text}"
    words = {"at_most": "at most ", "at_least": "at least ", "none_of": "not "}.get(comparison, "")
    names = domain.names(spec.bits)
    return "anything" if len(names) == len(domain.choices) else words + _either(names)


def limit_text(limit: Limit, domains: Mapping[str, Domain], vocabulary: Vocabulary) -> str:
    """A limit as one sentence: what, how much, where."""
    where = where_text(limit, domains, vocabulary)
    if limit.comparison == "never":
        head = "Stop" if limit.stop else "Never"
        tail = f" Decides: {limit.who_decides}." if limit.stop and limit.who_decides else ""
        return f"{head} {where or 'anywhere'}.{tail}"
    called = label(limit.demand, vocabulary)
    allowed = allowed_text(limit, domains, vocabulary)
    if domains[limit.demand].kind == "flag" and allowed in ("yes", "not no"):
        sentence = f"{_capital(called)}: required"
    elif domains[limit.demand].kind == "flag" and allowed in ("no", "not yes"):
        sentence = f"{_capital(called)}: not allowed"
    else:
        sentence = f"{_capital(called)}: {allowed}"
    return f"{sentence}{', ' + where if where else ''}."


def need_text(
    need: Need,
    domains: Mapping[str, Domain],
    vocabulary: Vocabulary,
    products: Mapping[str, Product] | None = None,
) -> str:
    """A need as one sentence, products by name where ``products`` has them."""
    known = products or {}
    wanted = [known[one].name if one in known else one for one in need.products] or list(need.classes)
    what = f" of {_either(wanted)}" if wanted else ""
    where = where_text(need, domains, vocabulary)
    return f"Needed: {need.role}{what}{', ' + where if where else ''}."


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
