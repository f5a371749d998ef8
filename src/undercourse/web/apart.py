"""Work in a process of its own: it tells as it goes, and ends with the time, or when nobody listens."""

from __future__ import annotations

import asyncio
import contextlib
import json
import os
import signal
import sys
import time
from collections.abc import AsyncGenerator
from typing import Any

MOST_LINE = 64_000_000
"""A line that the process tells has at most so many bytes."""

WORKER = "undercourse.web.plan_worker"


class TimeUpError(Exception):
    """The work took longer than it may."""


async def work_apart(
    orders: dict[str, Any], seconds: float, slots: asyncio.Semaphore, data: bytes = b""
) -> AsyncGenerator[dict[str, Any]]:
    """What the process tells, and ``{"seconds": …}`` while it is silent.

    Parameters
    ----------
    orders : dict
        What is to be done, as the process reads it.
    seconds : float
        It is ended after so long. [s]
    slots : Semaphore
        How many may work at once; the others wait, which does not count.
    data : bytes
        What it reads after its orders.

    Raises
    ------
    TimeUpError
        When the time is over.
    """
    began = time.monotonic()
    while slots.locked():
        yield {"seconds": time.monotonic() - began, "waits": True}
        await asyncio.sleep(0.5)
    async with slots:
        began = time.monotonic()
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-m",
            WORKER,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            stderr=asyncio.subprocess.DEVNULL,
            limit=MOST_LINE,
            start_new_session=True,
        )
        try:
            feeding = asyncio.create_task(_feed(process, json.dumps(orders).encode() + b"\n" + data))
            async with contextlib.aclosing(_listen(process, began, seconds)) as listening:
                async for told in listening:
                    yield told
            await feeding
        finally:
            _end(process)
            feeding.cancel()
            await process.wait()


async def _feed(process: asyncio.subprocess.Process, data: bytes) -> None:
    assert process.stdin is not None
    with contextlib.suppress(ConnectionError):
        process.stdin.write(data)
        await process.stdin.drain()
    process.stdin.close()


async def _listen(
    process: asyncio.subprocess.Process, began: float, seconds: float
) -> AsyncGenerator[dict[str, Any]]:
    assert process.stdout is not None
    line = asyncio.ensure_future(process.stdout.readline())
    try:
        while True:
            gone = time.monotonic() - began
            if gone > seconds:
                raise TimeUpError
            done, _ = await asyncio.wait({line}, timeout=min(1.0, seconds - gone + 0.01))
            if not done:
                yield {"seconds": time.monotonic() - began}
                continue
            text = line.result()
            if not text:
                return
            yield {**json.loads(text), "seconds": time.monotonic() - began}
            line = asyncio.ensure_future(process.stdout.readline())
    finally:
        line.cancel()


def _end(process: asyncio.subprocess.Process) -> None:
    """End the process and what it started; it leads a group of its own."""
    if process.returncode is not None:
        return
    with contextlib.suppress(ProcessLookupError, PermissionError):
        if hasattr(os, "killpg"):
            os.killpg(process.pid, signal.SIGKILL)
        else:
            process.kill()
