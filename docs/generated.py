"""Parts of these pages that are made from the program itself when the documentation is built.

A page holds a line ``<!-- generated: NAME -->``; ``conf.py`` puts the text of ``PARTS[NAME]()`` there.
"""

from __future__ import annotations

import re
import sys
import tomllib
from collections import Counter, defaultdict
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from undercourse.advise.findings import valid_range
from undercourse.advise.sheets import GROUNDS
from undercourse.assembly.columns import candidate_domains
from undercourse.base.formulas import show_formula, show_symbol
from undercourse.base.units import UNITS, from_si
from undercourse.demands import DEMANDS, Demand
from undercourse.facts.vocabulary import MADE_SO
from undercourse.files.shipped import data_root, vocabulary

ROOT = Path(__file__).parent.parent
sys.path[:0] = [str(path) for path in (ROOT, ROOT / "tests") if str(path) not in sys.path]

from tests import formula_coverage as coverage  # noqa: E402

MARKER = re.compile(r"^<!-- generated: (\w+) -->$", re.M)

# Standards as the sources of checks name them; what fits none is a book, a guide or an identity.
STANDARD = re.compile(
    r"ASTM [A-Z]\d+|ANSI A\d+\.\d+|ISO \d+(?:-\d+)?|EN \d+(?:-\d+)*|DIN \d+(?:-\d+)?|ACI \d+(?:\.\d+)?R?|"
    r"\bNDS\b|\bIRC\b|\bIBC\b|ASCE \d+|ASHRAE Handbook|CEB-FIP Model Code 1990|Eurocode 5|BS \d+|"
    r"AASHTO Guide|ASD/LRFD Manual|[Pp]anel design specification|Wood Handbook|"
    r"OSHA 29 CFR [\d.]+|industry handbook"
)


def table(head: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """A Markdown table; bars inside cells are escaped."""

    def line(cells: Iterable[object]) -> str:
        return "| " + " | ".join(str(cell).replace("|", "\\|").replace("\n", " ") for cell in cells) + " |"

    names = list(head)
    return "\n".join([line(names), line(["---"] * len(names)), *(line(row) for row in rows)]) + "\n"


def _values(document: dict[str, Any]) -> str:
    domain = document["domain"]
    if isinstance(domain, dict):
        return f"{domain['low']:g} to {domain['high']:g} {document['unit']}"
    return ", ".join(domain)


def facts() -> str:
    """Every fact by group, from the vocabulary."""
    words = vocabulary()
    parts = []
    for group in words.groups:
        parts.append(f"## {group.replace('_', ' ').capitalize()}\n\nSection `[{group}]` of a job file.\n")
        rows = []
        for fact in words.facts.values():
            if fact.group != group:
                continue
            document = fact.document()
            part = fact.role
            if fact.role == MADE_SO:
                part += f": {fact.by_whom or 'contractor'}, {fact.when_checked or 'before tiling'}"
            asked = fact.question + (f" {fact.find}" if fact.find else "")
            values = _values(document) + (f" [{fact.domain_source}]" if fact.domain_source else "")
            rows.append((f"`{fact.name}`", asked, values, f"{part} ({fact.effort})"))
        parts.append(table(("Fact", "Question, and how to find out", "Values", "Part (effort)"), rows))
    return "\n".join(parts)


def demands() -> str:
    """Every computed demand by subject, from its declaration."""
    parts = []
    for subject in dict.fromkeys(demand.subject for demand in DEMANDS.values()):
        parts.append(f"## {subject[0].upper()}{subject[1:]}\n")
        parts += [_demand(demand) for demand in DEMANDS.values() if demand.subject == subject]
    return "\n".join(parts)


def _demand(demand: Demand) -> str:
    unit = demand.domain.unit
    rows = [("Is", demand.title + (" (informs only: no limit may name it)" if demand.informs else ""))]
    rows += [("Unit", unit.symbol if unit else "none"), ("Scale", demand.scale)]
    for title, named in (("Reads facts", demand.reads), ("Takes from the assembly", demand.takes)):
        said = ", ".join(f"`{name}` ({way})" for name, way in named.items())
        rows.append((title, said or "nothing"))
    for step in demand.steps:
        notation = demand.notation[step.name]
        symbol = show_symbol(notation.symbol)
        said = f"{symbol} = {show_formula(step.formula)}" if step.formula else symbol
        rows.append((notation.label, said + (f" ({step.source})" if step.source else "")))
    for span in demand.valid:
        name = demand.notation[span.name].label or span.name
        rows.append(("Holds for", f"{name} {valid_range(demand, span)} ({span.source})"))
    if demand.model_parameter:
        said = f"`{demand.model_parameter}`: decides only where both ends agree"
        rows.append(("Range of the model itself", said))
    rows += [("Source", demand.source), ("Ground", GROUNDS[demand.rests_on])]
    rows += [("Caution", caution) for caution in demand.cautions]
    return f"### `{demand.name}`\n\n{table(('', ''), rows)}"


def columns() -> str:
    """What a candidate adds to the facts of an area."""
    rows = []
    for name, domain in candidate_domains().items():
        if domain.unit is not None:
            low, high = from_si(domain.low, domain.unit), from_si(domain.high, domain.unit)
            rows.append((f"`{name}`", f"{low:g} to {high:g} {domain.unit.symbol}"))
        else:
            rows.append((f"`{name}`", ", ".join(domain.choices)))
    return table(("Column", "Values"), rows)


def units() -> str:
    """Units that may be written, by dimension."""
    found: dict[str, list[str]] = defaultdict(list)
    for unit in UNITS.values():
        found[unit.dimension].append(f"`{unit.symbol}`")
    return table(("Dimension", "Units"), ((name, ", ".join(symbols)) for name, symbols in found.items()))


def _tolerance(raw: object) -> str:
    if isinstance(raw, dict):
        return ", ".join(
            f"{'relative' if key == 'rel' else 'absolute'} {value:g}" for key, value in raw.items()
        )
    return str(raw)


def used_physics() -> str:
    """Which modules of formulas other packages use, and which stand alone so far."""
    source = ROOT / "src" / "undercourse"
    modules = {path.stem for path in (source / "physics").glob("[a-z]*.py")}
    users: dict[str, set[str]] = defaultdict(set)
    for path in source.glob("*/*.py"):
        if path.parent.name != "physics":
            for name in re.findall(r"undercourse\.physics\.(\w+)", path.read_text("utf-8")):
                users[name].add(path.parent.name)
    rows = [(f"`{name}`", ", ".join(f"`{user}`" for user in sorted(users[name]))) for name in sorted(users)]
    alone = ", ".join(f"`{name}`" for name in sorted(modules - set(users)))
    return (
        table(("Formulas", "Used by"), rows) + f"\nChecked functions that no other part uses yet: {alone}.\n"
    )


def formulas() -> str:
    """Checks of formulas by standard: where in it, which function, how often, how close, solved by what."""
    by_standard: dict[str, dict[tuple[str, str, str], Counter[str]]] = defaultdict(
        lambda: defaultdict(Counter)
    )
    for case in coverage.cases():
        match = STANDARD.search(case["source"])
        name = match.group(0) if match else "Books, guides, trade tables and identities"
        name = name[0].upper() + name[1:]
        key = (case["source"], case["name_of_function"], _tolerance(case["tolerance"]))
        by_standard[name][key][case["kind"]] += 1
    outside, deciding = coverage.outside(), coverage.deciding()
    parts = []
    for name in sorted(by_standard, key=lambda key: (key.startswith("Books"), key)):
        rows = []
        for (source, function, tolerance), kinds in by_standard[name].items():
            solved = ", ".join(outside.get(function, ()))
            decides = "yes" if function in deciding else ""
            rows.append((source, f"`{function}`", _counted(kinds), tolerance, solved, decides))
        head = ("Clause or place", "By what", "Checked how", "Tolerance", "Outside solver", "Decides")
        parts.append(f"### {name}\n\n{table(head, rows)}")
    return "\n".join(parts)


def _counted(kinds: Counter[str]) -> str:
    return ", ".join(f"{count} {kind}" for kind, count in sorted(kinds.items()))


def deciding() -> str:
    """Every demand with its formulas, where each comes from, and how each is checked."""
    named = coverage.tests_of_demands()
    parts = []
    for subject in dict.fromkeys(demand.subject for demand in DEMANDS.values()):
        rows: list[tuple[str, ...]] = []
        for name, demand in DEMANDS.items():
            if demand.subject != subject:
                continue
            part = "informs" if demand.informs else "decides"
            found = [_formula_row(function) for function in sorted(coverage.reaches()[name].all)]
            found = found or [("arithmetic of its sheet", demand.source, "", "")]
            rows += [(f"`{name}`", part, *row, ", ".join(named[name])) for row in found]
        head = ("Demand", "Part", "Formula", "From", "Cases", "Outside solver", "Demand judged in")
        parts.append(f"### {subject[0].upper()}{subject[1:]}\n\n{table(head, rows)}")
    return "\n".join(parts)


def _formula_row(function: str) -> tuple[str, str, str, str]:
    own = coverage.kinds().get(function, Counter())
    within = {case["name_of_function"] for case in coverage.running().get(function, ())} - {function}
    cases = _counted(own)
    if not own and within:
        cases = "within " + ", ".join(f"`{one}`" for one in sorted(within)[:2])
    solved = ", ".join(coverage.outside().get(function, ()))
    return f"`{function}`", coverage.reference(function), cases, solved


def unlisted() -> str:
    """Formulas without a case of their own: in whose cases they run."""
    rows = []
    for function in coverage.formulas():
        if function not in coverage.kinds():
            name, whence, cases, solved = _formula_row(function)
            rows.append((name, whence, cases, solved, "yes" if function in coverage.deciding() else ""))
    return table(("By what", "From", "Checked how", "Outside solver", "Decides"), rows)


def kinds() -> str:
    """How many checks there are of each kind."""
    counted = Counter(case["kind"] for case in coverage.cases())
    return (
        ", ".join(f"{count} {kind}" for kind, count in counted.most_common())
        + f"; {counted.total()} in all.\n"
    )


def rows_by_standard() -> str:
    """Trade rules whose basis is a clause of a standard, and the rows of the trade map that hold them."""
    mapped: dict[str, list[str]] = defaultdict(list)
    for row in tomllib.loads((ROOT / "tests/data/trade_map.toml").read_text("utf-8"))["row"]:
        for name in row.get("rules", []):
            mapped[name].append(row["id"])
    found: dict[tuple[str, str], list[str]] = defaultdict(list)
    checked: dict[tuple[str, str], list[str]] = defaultdict(list)
    for entry in sorted(data_root().joinpath("practice").iterdir(), key=lambda item: item.name):
        if not entry.name.endswith(".toml"):
            continue
        for kind, rows in tomllib.loads(entry.read_text("utf-8")).items():
            for row in rows:
                basis = str(row.get("basis", ""))
                if not basis.startswith("standard:"):
                    continue
                standard, _, clause = basis.removeprefix("standard:").partition("#")
                name = str(row.get("id") or f"{kind} in {entry.name}")
                found[standard, clause].append(name)
                checked[standard, clause] += mapped.get(name, [])
    lines = []
    for (standard, clause), names in sorted(found.items()):
        said = ", ".join(dict.fromkeys(checked[standard, clause]))
        shown = ", ".join(f"`{name}`" for name in dict.fromkeys(names))
        lines.append(
            (standard, clause, shown, f"trade map {said}" if said else "read by the program; not mapped")
        )
    return table(("Standard", "Clause", "By what", "Checked how"), lines)


def bases() -> str:
    """How many rows of the trade rules rest on what."""
    counted: Counter[str] = Counter()
    for entry in data_root().joinpath("practice").iterdir():
        if entry.name.endswith(".toml"):
            for rows in tomllib.loads(entry.read_text("utf-8")).values():
                for row in rows:
                    basis = str(row.get("basis", ""))
                    counted[
                        "a clause of a standard" if basis.startswith("standard:") else basis or "no basis"
                    ] += 1
    return table(("Basis", "Rows"), counted.most_common())


def inquiries() -> str:
    """The figures of the scored questions and every open one with its reason."""
    from tests.inquiries.scoring import HERE, scores, summary

    said = tomllib.loads((ROOT / "docs" / "inquiry_reasons.toml").read_text("utf-8"))
    asked = {row["id"]: row for row in tomllib.loads((HERE / "index.toml").read_text("utf-8"))["question"]}
    found = scores()
    figures = summary(found)
    parts = [
        table(
            ("What", "Figure"),
            (
                ("Questions", figures["questions"]),
                (
                    "of these kept as a job or a topic without saying more than was said",
                    figures["representable"],
                ),
                ("Questions about a floor", figures["floors"]),
                ("settled on what was said (yes, yes with conditions, or no)", figures["settled"]),
                ("agreeing with the answer given", figures["agree"]),
                ("left open (facts are asked for, or the maker does not state it)", figures["open"]),
                ("whose answer was stated, not inferred", figures["stated"]),
                ("of these agreeing", figures["stated_agree"]),
                (
                    "Questions for a rule, and answered with at least one",
                    f"{figures['rules_answered']} of {figures['rules']}",
                ),
                (
                    "Unexplained failures, and stopped",
                    f"{figures['symptoms_stopped']} of {figures['symptoms']}",
                ),
            ),
        )
    ]
    parts.append("## Left open or not agreeing\n")
    rows = []
    for one in found:
        if one.kind != "floor" or not one.representable or (one.agrees and not one.open):
            continue
        reason = said.get(one.id) or one.note or f"asks first for `{one.first_question}`"
        rows.append((one.id, asked[one.id]["paraphrase"], one.expected, one.ours, reason))
    parts.append(table(("Question", "In short", "Answer given", "Ours", "Why"), rows) if rows else "None.\n")
    parts.append("## Not asked\n")
    parts.append(
        table(
            ("Question", "In short", "Why"),
            ((s.id, asked[s.id]["paraphrase"], s.note) for s in found if not s.representable),
        )
    )
    return "\n".join(parts)


def layout_options() -> str:
    """Every option of ``undercourse layout``, from the command itself."""
    import typer

    from undercourse.cli.app import app

    command: Any = typer.main.get_command(app)
    rows = []
    for param in command.commands["layout"].params:
        if param.param_type_name != "option":
            continue
        shown = param.default is not None and not isinstance(param.default, bool)
        default = str(param.default) if shown else ""
        names = ", ".join(f"`{name}`" for name in (*param.opts, *param.secondary_opts))
        rows.append((names, param.help, f"`{default}`" if default else ""))
    return table(("Option", "Meaning", "If left out"), rows)


def asked_back() -> str:
    """What is asked first against what was asked back, before and since."""
    from tests.inquiries.asked_back import kept

    before, since = kept()["before"], kept()["since"]
    rows = [
        ("Floors left open", *(f"{one['left_open']} of {one['floors']}" for one in (before, since))),
        *(
            (name, *(f"{one[key]} of {one['compared']}" for one in (before, since)))
            for name, key in (
                ("First question among those asked back", "first"),
                ("One of the first five among them", "first_five"),
                ("One of all that are put to somebody who knows none of it", "ever"),
            )
        ),
        (
            "Questions put to somebody who knows none of it, mean",
            before["mean_questions"],
            since["mean_questions"],
        ),
        (
            f"Conditions listed, mean over the {since['with_list']} floors with a list",
            before["mean_provided"],
            since["mean_provided"],
        ),
    ]
    return table(("", "Before", "Since"), rows) + (f"\nBefore: {before['state']}. Since: {since['state']}.\n")


PARTS: dict[str, Callable[[], str]] = {
    "facts": facts,
    "demands": demands,
    "columns": columns,
    "units": units,
    "used_physics": used_physics,
    "formulas": formulas,
    "deciding": deciding,
    "unlisted": unlisted,
    "kinds": kinds,
    "rows_by_standard": rows_by_standard,
    "bases": bases,
    "inquiries": inquiries,
    "layout_options": layout_options,
    "asked_back": asked_back,
}


def fill(text: str) -> str:
    """A page's text with every marked part put in."""
    return MARKER.sub(lambda match: PARTS[match.group(1)](), text)


__all__ = ["MARKER", "PARTS", "fill"]
