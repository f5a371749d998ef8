"""The data that ships with the program and the line of a folder, read and bound once."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from functools import lru_cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path
from typing import Any

from undercourse import __version__
from undercourse.base.problems import Problem, Problems
from undercourse.facts.consistency import Consistency, read_consistency
from undercourse.facts.vocabulary import Vocabulary, read_vocabulary
from undercourse.facts.works import Works, read_works
from undercourse.files.reading import parse_toml, read_text
from undercourse.files.tables import nominal_sizes, standard_tables
from undercourse.judge.rulebook import Rulebook, all_domains, bind, unfit_asks, unfit_limits
from undercourse.line.practice import read_practice
from undercourse.line.products import read_line
from undercourse.line.records import Line, Practice

Parsed = list[tuple[str, Mapping[str, Any]]]


def data_root() -> Traversable:
    """The folder of shipped data."""
    return files("undercourse").joinpath("data")


def _parse_folder(folder: Traversable | Path, name: str) -> tuple[Parsed, str]:
    """All TOML files below a folder in name order, and the hash of their bytes."""
    found: list[tuple[str, Traversable | Path]] = []

    def walk(place: Traversable | Path, prefix: str) -> None:
        for entry in sorted(place.iterdir(), key=lambda item: item.name):
            if entry.is_dir():
                walk(entry, f"{prefix}{entry.name}/")
            elif entry.name.endswith(".toml"):
                found.append((f"{prefix}{entry.name}", entry))

    walk(folder, f"{name}/" if name else "")
    digest = hashlib.sha256()
    parsed: Parsed = []
    problems: list[Problem] = []
    for label, entry in found:
        try:
            text = read_text(entry) if isinstance(entry, Path) else entry.read_text(encoding="utf-8")
            digest.update(label.encode() + b"\0" + text.encode() + b"\0")
            parsed.append((label, parse_toml(text, label)))
        except Problems as error:
            problems.extend(error.problems)
    if problems:
        raise Problems(problems)
    return parsed, digest.hexdigest()[:16]


def _hash(*parts: bytes) -> str:
    digest = hashlib.sha256()
    for part in parts:
        digest.update(part + b"\0")
    return digest.hexdigest()[:16]


@lru_cache(maxsize=1)
def vocabulary() -> Vocabulary:
    """The shipped vocabulary."""
    text = data_root().joinpath("vocabulary.toml").read_text(encoding="utf-8")
    return read_vocabulary(parse_toml(text, "vocabulary.toml"), nominal_sizes(), "vocabulary.toml")


@lru_cache(maxsize=1)
def consistency() -> Consistency:
    """The shipped consistency rows."""
    text = data_root().joinpath("consistency.toml").read_text(encoding="utf-8")
    return read_consistency(parse_toml(text, "consistency.toml"), vocabulary(), "consistency.toml")


@lru_cache(maxsize=1)
def practice() -> tuple[Practice, str]:
    """The shipped trade rules and their hash."""
    parsed, digest = _parse_folder(data_root().joinpath("practice"), "practice")
    return read_practice(parsed, all_domains(vocabulary())), digest


@lru_cache(maxsize=1)
def works() -> tuple[Works, str]:
    """The shipped works on floors and their hash."""
    parsed, digest = _parse_folder(data_root().joinpath("prep"), "prep")
    return read_works(parsed, vocabulary()), digest


def parse_line(folder: Path | None) -> tuple[Parsed, str]:
    """The parsed files of a line (the demo line for None) and their hash."""
    if folder is None:
        return _parse_folder(data_root().joinpath("demo", "line"), "demo line")
    if not folder.is_dir():
        raise Problems([Problem(str(folder), "this is no folder", "name the folder that holds line.toml")])
    return _parse_folder(folder, str(folder))


def load_line(folder: Path | None) -> tuple[Line, str]:
    """A line and its hash; raises Problems with every fault of every file."""
    parsed, digest = parse_line(folder)
    return read_line(parsed, all_domains(vocabulary())), digest


@lru_cache(maxsize=8)
def rulebook(folder: Path | None = None) -> Rulebook:
    """A line under the shipped rules."""
    line, line_hash = load_line(folder)
    rules, rules_hash = practice()
    if unfit := [*unfit_limits(line, rules), *unfit_asks(line, rules, vocabulary())]:
        raise Problems(unfit)
    shipped_works, works_hash = works()
    root = data_root()
    tables = root.joinpath("tables")
    table_bytes = [
        entry.read_bytes() for entry in sorted(tables.iterdir(), key=lambda e: e.name) if entry.is_file()
    ]
    words = vocabulary()
    basis = {
        "program": __version__,
        "line": {"maker": line.maker, "name": line.name, "revision": line.revision, "hash": line_hash},
        "practice": _hash(rules_hash.encode(), works_hash.encode()),
        "vocabulary": _hash(
            root.joinpath("vocabulary.toml").read_bytes(), root.joinpath("consistency.toml").read_bytes()
        ),
        "tables": _hash(*table_bytes),
        "prices": _hash(
            *(
                f"{p.id}|{k.item_number}|{k.price}|{k.currency}|{k.price_date}".encode()
                for p in line.products.values()
                for k in p.packs
            )
        ),
    }
    return bind(words, consistency(), rules, line, standard_tables(words, rules), basis, shipped_works)
