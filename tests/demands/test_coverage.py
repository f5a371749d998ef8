"""Every formula that can decide a verdict has a proof from outside, and the proof would notice an error.

A proof is a case of tests/published whose value is printed somewhere, or recalled with its confidence, of the
formula itself or of a chain of formulas with it; or else a worked case and an outside solver in verify/.
"""

from __future__ import annotations

import sys
from collections import Counter
from functools import partial
from importlib import import_module
from typing import Any

import numpy as np
import pytest
from tests import formula_coverage
from tests.demands.test_declarations import BASES, BOOK, points
from tests.formula_coverage import (
    PHYSICS,
    Reach,
    deciding,
    entered,
    forget,
    kinds,
    outside,
    reaches,
    run,
    standing,
    traced,
)
from tests.test_published import compare, to_si

from undercourse.base.frame import Frame
from undercourse.demands import DEMANDS
from undercourse.physics import sound

# A check that would let an error of a quarter pass proves nothing.
WRONG = (1.25, 0.75)


def bend(value: Any, factor: float) -> Any:
    """A result with its numbers off by a factor."""
    if isinstance(value, tuple) and hasattr(value, "_replace"):
        return value._replace(**{name: bend(part, factor) for name, part in value._asdict().items()})
    if isinstance(value, tuple):
        return tuple(bend(part, factor) for part in value)
    array = np.asarray(value)
    if array.dtype == bool:
        return np.logical_not(array)
    return array * factor if array.dtype.kind in "if" else value


def notices(function: str, case: dict[str, Any], factor: float, patch: pytest.MonkeyPatch) -> bool:
    """Whether a case fails once a formula is off by a factor."""
    home, _, name = function.rpartition(".")
    right = getattr(import_module(PHYSICS + home), name)

    def wrong(*given: Any, **named: Any) -> Any:
        return bend(right(*given, **named), factor)

    with patch.context() as changed:
        for module in list(sys.modules.values()):
            if getattr(module, "__name__", "").startswith((PHYSICS, "floor_work", "span_tables")):
                for key, one in list(vars(module).items()):
                    if one is right:
                        changed.setattr(module, key, wrong)
        forget()
        try:
            with np.errstate(all="ignore"):
                compare(run(case), to_si(case["expect"]), case["tolerance"])
        except (AssertionError, ValueError, ZeroDivisionError):
            return True
        finally:
            forget()
    return False


def test_every_deciding_formula_is_found() -> None:
    """The list is not empty by mistake, and what a demand calls itself is on it."""
    assert len(deciding()) > 40
    assert entered() <= set(deciding())
    assert "joists.simple_span_deflection" not in entered()
    assert {"sound.bare_slab_level", "panels.uniform_deflection"} <= entered()


@pytest.mark.parametrize("name", list(DEMANDS))
def test_what_runs_was_found_by_reading(name: str) -> None:
    """No formula runs for a demand that reading its code did not find."""
    demand, ran = DEMANDS[name], set[str]()
    for base in BASES:
        frame = Frame(points(3, base))
        ran |= traced(partial(demand.value, frame, BOOK.tables))
        ran |= traced(partial(demand.validity, frame, BOOK.tables))
    assert ran <= reaches()[name].all


@pytest.mark.parametrize("function", list(deciding()))
def test_deciding_formula_has_a_proof_from_outside(function: str) -> None:
    """Printed or recalled values that run through it, or a worked case and an outside solver."""
    proofs = standing().get(function, [])
    worked = kinds().get(function, Counter())["derived"] and outside().get(function)
    demands = ", ".join(deciding()[function][:3])
    assert proofs or worked, f"{function} decides {demands} and nothing from outside checks it"


@pytest.mark.parametrize("function", [name for name in deciding() if not outside().get(name)])
def test_proof_notices_an_error(function: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Off by a quarter either way, some case fails; checks in verify/ see 1 % by themselves."""
    for factor in WRONG:
        proofs = standing().get(function, [])
        assert any(notices(function, case, factor, monkeypatch) for case in proofs), f"{function} x {factor}"


def test_an_identity_alone_is_no_proof(monkeypatch: pytest.MonkeyPatch) -> None:
    """A derived case counts with an outside solver only; practice never counts."""
    only = {"a.b": Counter({"derived": 3}), "c.d": Counter({"practice": 2}), "e.f": Counter({"memory": 1})}
    monkeypatch.setattr(formula_coverage, "kinds", lambda: only)
    monkeypatch.setattr(formula_coverage, "outside", lambda: {"c.d": ["test_beams.py"]})
    assert [formula_coverage.stands(name) for name in ("a.b", "c.d", "e.f", "g.h")] == [
        False,
        False,
        True,
        False,
    ]
    monkeypatch.setattr(formula_coverage, "outside", lambda: {"a.b": ["test_beams.py"]})
    assert formula_coverage.stands("a.b")


def test_finder_follows_partials_lambdas_and_containers() -> None:
    """The ways in which a demand may hold a formula."""
    assert Reach(partial(sound.bare_slab_level, 100.0)).direct == {"sound.bare_slab_level"}
    assert Reach({"a": [lambda: sound.floating_resonance(1.0, 1.0)]}).direct == set()
    assert "sound.covered_slab_level" in Reach(DEMANDS["floated_slab_impact_level"]).direct
    assert "sound.bare_slab_level" in Reach((sound.covered_slab_level,)).all
