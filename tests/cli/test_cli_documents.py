"""What commands print is what their schemas say, and help costs nothing."""

from __future__ import annotations

import json
import subprocess
import sys
import tomllib
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator, FormatChecker
from typer.testing import CliRunner

import undercourse
from undercourse.base.domains import read_spec
from undercourse.base.problems import Problems
from undercourse.base.units import UNITS, to_si
from undercourse.cli.app import app
from undercourse.cli.schemas import SCHEMAS
from undercourse.facts.vocabulary import DECIDES, EFFORTS, MADE_SO
from undercourse.files.shipped import vocabulary
from undercourse.line.practice import LOAD_CLASSES

DATA = Path(undercourse.__file__).parent / "data"
JOBS = sorted((DATA / "demo" / "jobs").glob("*.toml"))
Print = Callable[..., Any]


@pytest.fixture
def printed() -> Print:
    """The one JSON document that a command prints."""

    def command(*arguments: str, stdin: str = "") -> Any:
        result = CliRunner().invoke(app, list(arguments), input=stdin, catch_exceptions=False)
        assert result.exit_code == 0
        return json.loads(result.stdout)

    return command


def holds(name: str, document: Any) -> None:
    """Fail with the first places where a document breaks its schema."""
    validator = Draft202012Validator(SCHEMAS[name], format_checker=FormatChecker())
    broken = [
        f"{'/'.join(map(str, inner.absolute_path))}: {inner.message[:200]}"
        for error in validator.iter_errors(document)
        for inner in (error.context or [error])
    ]
    assert not broken, broken[:5]


@pytest.mark.parametrize("name", SCHEMAS)
def test_schema_is_one_and_is_printed(printed: Print, name: str) -> None:
    """Each schema is a valid one of its draft, and `schema NAME` prints just it."""
    Draft202012Validator.check_schema(SCHEMAS[name])
    assert printed("schema", name) == SCHEMAS[name]


@pytest.mark.parametrize("job", JOBS, ids=[job.stem for job in JOBS])
@pytest.mark.parametrize("command", ["answer", "layout", "takeoff"])
def test_job_documents_keep_their_schemas(printed: Print, command: str, job: Path) -> None:
    """The demo jobs' answers, laying plans and quantities."""
    holds(command, printed(command, str(job), "--json"))


LOOKS = [
    ("facts", ["facts"]),
    ("facts", ["facts", "place"]),
    ("rule", ["rule", "flatness"]),
    ("rule", ["rule", "silica"]),
    ("rule", ["rule"]),
    ("demand", ["demand", "joist_live_deflection", "--set", "joist_span=13 ft 2 in"]),
    ("demand", ["demand", "floor_load_class", "--set", "wheels=steel"]),
    ("demand-list", ["demand"]),
    (
        "demand-sweep",
        ["demand", "joist_live_deflection", "--sweep", "joist_span=8 ft..16 ft", "--points", "3"],
    ),
    ("line-check", ["line", "check"]),
    ("line-show", ["line", "show"]),
    ("line-show", ["line", "show", "low-meadow-3"]),
    ("line-compare", ["line", "compare", "low-meadow-3", "high-meadow-8"]),
]


@pytest.mark.parametrize(("name", "arguments"), LOOKS, ids=[" ".join(case[1]) for case in LOOKS])
def test_looked_up_documents_keep_their_schemas(printed: Print, name: str, arguments: list[str]) -> None:
    """Facts, rules, demands and the line."""
    holds(name, printed(*arguments, "--json"))


def test_lines_of_many_answers_keep_their_schema() -> None:
    """Whole, brief, and a faulty one."""
    jobs = '{"name": "a", "facts": {"base": "slab on ground"}}\n{"name": "b", "facts": {"base": 3}}\n'
    for more in ([], ["--brief"]):
        result = CliRunner().invoke(app, ["answer", "--jsonl", *more], input=jobs, catch_exceptions=False)
        for line in result.stdout.splitlines():
            holds("answer-line", json.loads(line))


def test_schema_refuses_what_is_not_in_the_contract(printed: Print) -> None:
    """Schemas that let everything pass would prove nothing."""
    document = printed("answer", str(JOBS[0]), "--json")
    validator = Draft202012Validator(SCHEMAS["answer"])
    for spoil in (
        lambda d: d.pop("basis"),
        lambda d: d.update(extra=1),
        lambda d: d["areas"][0]["candidates"][0].update(verdict="perhaps"),
        lambda d: d["areas"][0]["candidates"][0].pop("findings"),
        lambda d: d["areas"][0]["site"].update(status="green"),
        lambda d: d["basis"].update(date="25.11.2026"),
    ):
        spoiled = json.loads(json.dumps(document))
        spoil(spoiled)
        assert not validator.is_valid(spoiled)


JOB_TEXTS = [
    {
        "name": "x",
        "date": "2026-11-25",
        "facts": {"joist_spacing": 16, "base": ["wall studs", "other"]},
        "areas": [],
    },
    {
        "areas": [
            {"name": "a", "outline": [[0, 0], [1, 0], [1, 1]], "facts": {"slab_rh": {"from": 70, "to": 80}}}
        ]
    },
    {"facts": {"slab_rh": {"value": "80 %", "how": "measured", "on": "2026-11-01", "for": "today"}}},
    {
        "proposed": [
            {"role": "membrane", "kind": "uncoupling sheet"},
            {"role": "mortar below", "classes": ["A118.4"]},
        ]
    },
]
NO_JOBS = [
    {"fakts": {}},
    {"facts": {"base": []}},
    {"facts": {"base": {"value": "x", "who": "Ann"}}},
    {"areas": [{"outline": [[0, 0], [1, 0]]}]},
    {"proposed": [{"product": "x"}]},
    {"proposed": [{"role": "carpet"}]},
    {"date": "soon"},
    [],
]


@pytest.mark.parametrize("job", JOB_TEXTS)
def test_job_schema_takes_what_the_reader_takes(printed: Print, tmp_path: Path, job: dict[str, Any]) -> None:
    """Numbers, sets, ranges, provenance, outlines, a proposed stack."""
    holds("job", job)
    (tmp_path / "job.json").write_text(json.dumps(job), "utf-8")
    assert printed("answer", str(tmp_path / "job.json"), "--json", "--without", "advise")["areas"]


@pytest.mark.parametrize("job", NO_JOBS)
def test_job_schema_refuses_what_the_reader_refuses(tmp_path: Path, job: Any) -> None:
    """Unknown keys, empty sets, outlines of two points, layers without a role."""
    assert not Draft202012Validator(SCHEMAS["job"]).is_valid(job)
    (tmp_path / "job.json").write_text(json.dumps(job), "utf-8")
    with pytest.raises(Problems):
        CliRunner().invoke(app, ["answer", str(tmp_path / "job.json")], catch_exceptions=False)


def test_facts_are_those_of_the_vocabulary(printed: Print) -> None:
    """Every row says what the file says: unit, ends in that unit, role, question, effort."""
    raw = tomllib.loads((files("undercourse") / "data" / "vocabulary.toml").read_text("utf-8"))
    rows = {row["name"]: row for row in printed("facts", "--json")}
    assert list(rows) == list(raw)
    for name, row in rows.items():
        written = raw[name]
        for key in ("group", "kind", "role", "effort", "question"):
            assert row[key] == written[key], name
        assert row["role"] in (DECIDES, MADE_SO)
        assert row["effort"] in EFFORTS
        domain = vocabulary().domains[name]
        if row["kind"] == "number":
            assert row["unit"] == written["unit"]
            assert [row["domain"]["low"], row["domain"]["high"]] == pytest.approx(written["domain"])
            assert domain.low == pytest.approx(to_si(written["domain"][0], UNITS[written["unit"]]))
        elif row["kind"] == "choice":
            assert row["domain"] == written["domain"]
            assert row["domain"][-1] == "other"
            assert row["unit"] is None
        else:
            assert row["domain"] == ["no", "yes"]


def test_bare_number_is_in_the_unit_that_facts_lists(printed: Print) -> None:
    """A job as JSON may write 16 for joist_spacing where `facts` says in."""
    row = next(row for row in printed("facts", "--json") if row["name"] == "joist_spacing")
    domain = vocabulary().domains["joist_spacing"]
    assert read_spec(domain, 16) == read_spec(domain, f"16 {row['unit']}")


def test_floor_load_classes_are_the_five_of_the_test() -> None:
    """ASTM C627 rates floors residential, light, moderate, heavy, extra heavy (kind = published)."""
    assert LOAD_CLASSES == ("residential", "light", "moderate", "heavy", "extra heavy")


HEAVY = ("numpy", "scipy", "shapely", "typst", "ezdxf", "jinja2", "fastapi")


@pytest.mark.parametrize(
    "arguments", [["--help"], ["--version"], ["answer", "--help"], ["line", "--help"], ["demand", "--help"]]
)
def test_help_and_version_import_nothing_heavy(arguments: list[str]) -> None:
    """Help must not wait for arrays, geometry or typesetting."""
    program = (
        "import sys\n"
        f"sys.argv = ['undercourse', *{arguments!r}]\n"
        "from undercourse.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        f"sys.stderr.write(' '.join(name for name in {HEAVY!r} if name in sys.modules))\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout.strip()
    assert done.stderr == ""


def test_nothing_that_a_library_prints_gets_into_a_document() -> None:
    """Text written past Python's own streams, as compiled solvers do, goes to standard error."""
    program = (
        "import os, sys\n"
        "from undercourse.cli import app as commands\n"
        "real = commands.app\n"
        "def noisy():\n    os.write(1, b'noise of a solver')\n    real()\n"
        "commands.app = noisy\n"
        "sys.argv = ['undercourse', 'facts', '--json']\n"
        "commands.main()\n"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert json.loads(done.stdout)
    assert done.stderr == "noise of a solver"


def test_version_is_that_of_the_package() -> None:
    """One number."""
    assert CliRunner().invoke(app, ["--version"]).stdout.strip() == undercourse.__version__


SCREENS = [
    (["facts", "framing"], ["joist_spacing", "How far apart are the joists"]),
    (["rule", "flatness"], ["1/4 in (6.4 mm)", "ANSI A108.02"]),
    (["rule"], ["flatness", "curb height"]),
    (["demand"], ["joist_live_deflection: Joist deflection under live load"]),
    (["demand", "joist_live_deflection"], ["Still open: base"]),
    (["schema"], ["line-check: "]),
    (["line", "check"], ["fault", "On ", "sample areas", "Recommended"]),
    (["line", "show"], ["low-meadow-3", "membrane"]),
    (["line", "show", "low-meadow-3"], ["Limits", "Joist spacing: at most", "(488 mm)", "Tests", "Needs"]),
    (["line", "compare", "low-meadow-3", "high-meadow-8"], ["Both provide", "Stated by", "joist spacing"]),
]


@pytest.mark.parametrize(("arguments", "words"), SCREENS, ids=[" ".join(case[0]) for case in SCREENS])
def test_screens_are_plain_text_when_piped(arguments: list[str], words: list[str]) -> None:
    """No color codes, and what matters is there."""
    result = CliRunner().invoke(app, arguments, catch_exceptions=False)
    assert result.exit_code == 0
    assert "\x1b" not in result.stdout
    for word in words:
        assert word in result.stdout
