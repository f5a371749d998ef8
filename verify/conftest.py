"""Holds every outside check to saying what it compares and how closely."""

from __future__ import annotations

from pathlib import Path

import pytest

HERE = Path(__file__).parent


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Refuse a check whose docstring does not name its two routes and its tolerance."""
    for item in items:
        if HERE not in item.path.parents:
            continue
        text = getattr(getattr(item, "function", None), "__doc__", None) or ""
        if "Routes:" not in text or "Tolerance:" not in text:
            raise pytest.UsageError(f"{item.nodeid}: the docstring must say 'Routes: … Tolerance: …'")
