"""Holds every outside check to saying what it compares and how closely."""

from __future__ import annotations

import pytest


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Refuse a check whose docstring does not name its two routes and its tolerance."""
    for item in items:
        text = getattr(getattr(item, "function", None), "__doc__", None) or ""
        if "Routes:" not in text or "Tolerance:" not in text:
            raise pytest.UsageError(f"{item.nodeid}: the docstring must say 'Routes: … Tolerance: …'")
