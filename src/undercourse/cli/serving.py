"""The command that serves the page."""

from __future__ import annotations

from typing import Annotated

import typer

from undercourse.cli.app import Line, app


@app.command("serve")
def serve_command(
    port: Annotated[
        int, typer.Option("--port", min=0, max=65535, help="Port on this machine; 0 takes a free one.")
    ] = 8765,
    line: Line = None,
) -> None:
    """Serve the page to this machine's own browser; nothing is kept and nothing leaves the machine."""
    import socket

    import uvicorn

    from undercourse.base.problems import Problem, Problems
    from undercourse.web import make_app

    web = make_app(line)
    listener = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind(("127.0.0.1", port))
    except OSError as error:
        what = f"port {port} cannot be taken ({(error.strerror or 'unknown reason').lower()})"
        raise Problems([Problem("--port", what, "stop what uses it, or name another: --port 8766")]) from None
    print(f"The page is at http://127.0.0.1:{listener.getsockname()[1]}/ (Ctrl+C stops it)", flush=True)
    config = uvicorn.Config(web, log_level="warning", timeout_graceful_shutdown=2, server_header=False)
    uvicorn.Server(config).run(sockets=[listener])
