"""One application for all route tests; the clock is given, never read."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from undercourse.web import make_app


@pytest.fixture(scope="session")
def client() -> Iterator[TestClient]:
    """A client that turns no server fault into an exception: what a person would see is what is tested."""
    app = make_app(today=lambda: dt.date(2026, 11, 25))
    with TestClient(app, raise_server_exceptions=False) as made:
        yield made
