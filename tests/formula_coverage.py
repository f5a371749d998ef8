"""Which formulas decide what, and how each is checked: from the program, the cases and the outside checks.

From each demand's kernel, collapse and branches every function of ``undercourse.physics`` that they name is
followed, through other demands' modules and through formulas that call formulas. Only ``running`` runs
anything: the cases.
"""

from __future__ import annotations

import ast
import dis
import inspect
import re
import sys
import tomllib
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping
from functools import cache, lru_cache, partial
from importlib import import_module
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import Any

from undercourse.demands import DEMANDS, Demand

ROOT = Path(__file__).parent.parent
PHYSICS = "undercourse.physics."
# What a case stands on: print at hand, or a recalled value with its confidence. An identity is neither.
STANDS_ALONE = ("published", "memory")


class Reach:
    """Formulas that something names, directly and through what it calls."""

    def __init__(self, start: object) -> None:
        self.direct: set[str] = set()
        self.all: set[str] = set()
        self._seen: set[int] = set()
        self._kept: list[object] = []
        self._follow(start, False)

    def _follow(self, one: object, inside: bool) -> None:
        """Take up one thing; ``inside`` says that a formula named it."""
        if isinstance(one, partial):
            for part in (one.func, *one.args, *one.keywords.values()):
                self._follow(part, inside)
            return
        one = inspect.unwrap(one) if callable(one) and hasattr(one, "__wrapped__") else one
        if isinstance(one, FunctionType) and one.__module__.startswith(PHYSICS) and not inside:
            self._note(one, self.direct)
        if id(one) in self._seen:
            return
        self._seen.add(id(one))
        self._kept.append(one)
        if isinstance(one, FunctionType) and one.__module__.startswith("undercourse."):
            formula = one.__module__.startswith(PHYSICS)
            if formula:
                self._note(one, self.all)
            for other in named_by(one):
                self._follow(other, formula or inside)
        elif isinstance(one, Demand):
            for part in (one.kernel, one.collapse, one.branches):
                self._follow(part, inside)
        elif isinstance(one, type) and one.__module__.startswith("undercourse."):
            for part in vars(one).values():
                self._follow(getattr(part, "fget", part), inside or one.__module__.startswith(PHYSICS))
        elif isinstance(one, Mapping):
            for part in one.values():
                self._follow(part, inside)
        elif isinstance(one, (tuple, list)):
            for part in one:
                self._follow(part, inside)

    @staticmethod
    def _note(function: FunctionType, found: set[str]) -> None:
        path = short_name(f"{function.__module__}.{function.__qualname__}")
        if path.count(".") == 1 and not path.startswith("_") and "._" not in path:
            found.add(path)


def short_name(path: str) -> str:
    """``joists.simple_span_deflection`` for a path with dots or a colon."""
    return path.replace(":", ".").removeprefix(PHYSICS)


@cache
def named_by(function: FunctionType) -> tuple[object, ...]:
    """Every global, attribute of a module, and enclosed value that a function's code loads."""
    return tuple(_loads(function))


def _loads(function: FunctionType) -> Iterator[object]:
    for cell in function.__closure__ or ():
        yield cell.cell_contents
    yield from (function.__defaults__ or ())
    for code in _codes(function.__code__):
        module: ModuleType | None = None
        for step in dis.get_instructions(code):
            if step.opname in ("LOAD_GLOBAL", "LOAD_NAME"):
                one = function.__globals__.get(step.argval)
                module = one if isinstance(one, ModuleType) else None
                if module is None and one is not None:
                    yield one
            elif step.opname == "IMPORT_NAME" and str(step.argval).startswith("undercourse."):
                module = import_module(step.argval)
            elif step.opname in ("LOAD_ATTR", "LOAD_METHOD", "IMPORT_FROM") and module is not None:
                if module.__name__.startswith("undercourse") and hasattr(module, step.argval):
                    yield getattr(module, step.argval)
                module = module if step.opname == "IMPORT_FROM" else None
            elif step.opname not in ("PUSH_NULL", "CACHE"):
                module = None if step.opname != "STORE_FAST" else module


def _codes(code: CodeType) -> Iterator[CodeType]:
    yield code
    for part in code.co_consts:
        if isinstance(part, CodeType):
            yield from _codes(part)


@lru_cache(maxsize=1)
def reaches() -> dict[str, Reach]:
    """What each demand reaches."""
    return {name: Reach(demand) for name, demand in DEMANDS.items()}


@lru_cache(maxsize=1)
def deciding() -> dict[str, list[str]]:
    """Formulas behind demands that a limit may name, with the demands that lead to each."""
    found: dict[str, list[str]] = defaultdict(list)
    for name, reach in reaches().items():
        if not DEMANDS[name].informs:
            for function in reach.all:
                found[function].append(name)
    return dict(sorted(found.items()))


def entered() -> set[str]:
    """Formulas that a deciding demand calls itself, not through another formula."""
    return set().union(*(reach.direct for name, reach in reaches().items() if not DEMANDS[name].informs))


@lru_cache(maxsize=1)
def cases() -> list[dict[str, Any]]:
    """Every case of tests/published with what it inherits, its file and its function's short name."""
    found = []
    for path in sorted((ROOT / "tests" / "published").glob("*.toml")):
        content = tomllib.loads(path.read_text("utf-8"))
        for group in content.get("check", [content]):
            shared = {key: value for key, value in group.items() if key != "case"}
            for case in group["case"]:
                whole = {**shared, **case, "file": path.name}
                found.append({**whole, "name_of_function": short_name(whole["function"])})
    return found


@lru_cache(maxsize=1)
def kinds() -> dict[str, Counter[str]]:
    """How many cases of each kind a formula has."""
    found: dict[str, Counter[str]] = defaultdict(Counter)
    for case in cases():
        found[case["name_of_function"]][case["kind"]] += 1
    return dict(found)


@lru_cache(maxsize=1)
def outside() -> dict[str, list[str]]:
    """Formulas that outside solvers are held against, with the checks' file names."""
    found: dict[str, set[str]] = defaultdict(set)
    for path in sorted((ROOT / "verify").glob("test_*.py")):
        for function in _named_in(ast.parse(path.read_text("utf-8"))):
            found[function].add(path.name)
    return {name: sorted(files) for name, files in sorted(found.items())}


def _named_in(tree: ast.Module) -> set[str]:
    """Formulas that a file of checks uses within its functions."""
    modules: dict[str, str] = {}
    functions: dict[str, str] = {}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module == PHYSICS[:-1]:
            modules |= {each.asname or each.name: each.name for each in node.names}
        elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith(PHYSICS):
            home = (node.module or "").removeprefix(PHYSICS)
            functions |= {each.asname or each.name: f"{home}.{each.name}" for each in node.names}
    found = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in modules:
            found.add(f"{modules[node.value.id]}.{node.attr}")
        elif isinstance(node, ast.Name) and node.id in functions:
            found.add(functions[node.id])
    return found


def stands(function: str) -> bool:
    """Whether a formula's own checks suffice: print or recalled value, or derived and an outside solver."""
    own = kinds().get(function, Counter())
    return any(own[kind] for kind in STANDS_ALONE) or bool(own["derived"] and outside().get(function))


def traced(call: Callable[[], object]) -> set[str]:
    """Formulas that run while something is worked out."""
    seen: set[str] = set()

    def note(frame: Any, event: str, _: Any) -> None:
        home, name = frame.f_globals.get("__name__", ""), frame.f_code.co_name
        public = home.startswith(PHYSICS) and not home.startswith(f"{PHYSICS}_")
        if event == "call" and public and not name.startswith(("_", "<")):
            found = getattr(sys.modules[home], name, None)
            if callable(found) and getattr(found, "__module__", "") == home and not isinstance(found, type):
                seen.add(short_name(f"{home}.{name}"))

    sys.setprofile(note)
    try:
        call()
    finally:
        sys.setprofile(None)
    return seen


def forget() -> None:
    """Let nothing remembered stand in for a formula."""
    for name, module in list(sys.modules.items()):
        if name.startswith(PHYSICS):
            for one in vars(module).values():
                if hasattr(one, "cache_clear"):
                    one.cache_clear()


def run(case: Mapping[str, Any]) -> Any:
    """The result of a case."""
    from tests.test_published import resolve, to_si

    return resolve(case["function"])(**to_si(case["input"]))


@lru_cache(maxsize=1)
def running() -> dict[str, list[dict[str, Any]]]:
    """Cases of every kind by the formulas that run in them."""
    import_module("tests.test_published")  # not while tracing
    found: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for case in cases():
        forget()
        for function in traced(partial(run, case)) | {case["name_of_function"]}:
            found[function].append(case)
    return dict(found)


def standing() -> dict[str, list[dict[str, Any]]]:
    """Cases with an outside value, by every formula that runs in them."""
    kept = {name: [case for case in ran if case["kind"] in STANDS_ALONE] for name, ran in running().items()}
    return {name: ran for name, ran in kept.items() if ran}


def formulas() -> list[str]:
    """Every public function of ``undercourse.physics``."""
    found = []
    for path in sorted((ROOT / "src" / "undercourse" / "physics").glob("[a-z]*.py")):
        module = import_module(PHYSICS + path.stem)
        for name, one in sorted(vars(module).items()):
            function = inspect.unwrap(one) if callable(one) else one
            if (
                isinstance(function, FunctionType)
                and function.__module__ == module.__name__
                and name[0] != "_"
            ):
                found.append(f"{path.stem}.{name}")
    return found


@lru_cache(maxsize=1)
def tests_of_demands() -> dict[str, list[str]]:
    """Files of tests that name a demand, beside those that go through all of them alike."""
    words = {
        path.name: set(re.findall(r"\w+", path.read_text("utf-8")))
        for path in sorted((ROOT / "tests" / "demands").glob("test_*.py"))
        if path.name not in ("test_declarations.py", "test_coverage.py", "test_sheets.py")
    }
    return {name: [file for file, said in words.items() if name in said] for name in DEMANDS}


@cache
def reference(function: str) -> str:
    """What a formula's own text names as its source; empty where it names none."""
    home, _, name = function.rpartition(".")
    text = inspect.getdoc(getattr(import_module(PHYSICS + home), name)) or ""
    match = re.search(r"^References\n-+\n(.*?)(?=\n\n[A-Z]\w+\n---|\Z)", text, re.M | re.S)
    return " ".join(match[1].split()) if match else ""
