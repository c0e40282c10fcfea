"""``corallum serve``: the pages of one programme, on this machine or on the station's network."""

from __future__ import annotations

import logging
import signal
import socket
import sys
from pathlib import Path
from typing import Annotated

import typer

from corallum.errors import ConflictError

__all__ = ["own_addresses", "serve", "serve_programme"]

_LOCAL = "127.0.0.1"
_ANY = "0.0.0.0"  # noqa: S104  only where --network was asked for, and then with paired devices
_PORT = 8420
# Processes that work out answers beside the server.
_WORKERS = 2


def serve(
    folder: Annotated[Path, typer.Argument(help="Folder of the programme.")],
    port: Annotated[int, typer.Option(min=0, max=65535, help="Port; 0 takes a free one.")] = _PORT,
    network: Annotated[
        bool, typer.Option("--network", help="Let paired devices of the station's network in.")
    ] = False,
) -> None:
    """Show a programme as pages, until stopped with Ctrl-C.

    Example: corallum serve my-reef
    """
    serve_programme(folder, port, network=network)


def own_addresses() -> list[str]:
    """Return this machine's addresses on its networks, found without sending anything."""
    found: list[str] = []
    try:
        known = socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)
        found += [str(one[4][0]) for one in known]
    except OSError:
        pass
    try:
        # Connecting a datagram socket only asks the routing table.
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
            asked.connect(("192.0.2.1", 9))
            found.append(str(asked.getsockname()[0]))
    except OSError:
        pass
    return sorted({one for one in found if not one.startswith("127.")})


def serve_programme(folder: Path, port: int, *, network: bool) -> None:
    """Open a programme and serve it.

    Raises
    ------
    ConflictError
        Where the port is taken.
    """
    # Slow to import, and no other command needs them.
    import uvicorn  # noqa: PLC0415

    from corallum.actions.programmes import open_programme  # noqa: PLC0415
    from corallum.web.app import create_app  # noqa: PLC0415
    from corallum.web.warm import warm_up  # noqa: PLC0415

    # The server hands on the signal that ended it: end in order then, as after Ctrl-C.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(0))
    programme = open_programme(folder)
    app = None
    try:
        listening = _listen(_ANY if network else _LOCAL, port)
        app = create_app(programme, network=network, workers=_WORKERS)
        warm_up(programme, app.state.answers)
        config = uvicorn.Config(
            app,
            log_level=logging.WARNING,
            access_log=False,
            server_header=False,
            proxy_headers=False,
            limit_concurrency=400,
            timeout_graceful_shutdown=3,
        )
        _say(programme.settings.name, listening.getsockname()[1], network=network)
        uvicorn.Server(config).run(sockets=[listening])
    finally:
        if app is not None:
            app.state.answers.close()
            app.state.long_work.close()
        programme.close()


def _listen(host: str, port: int) -> socket.socket:
    """Open the port, so that what is printed is true."""
    found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        found.bind((host, port))
    except OSError as error:
        found.close()
        message = f"port {port} can't be opened ({error.strerror}). Choose another with --port."
        raise ConflictError(message) from error
    found.listen(128)
    return found


def _say(name: str, port: int, *, network: bool) -> None:
    """Say where the pages are."""
    print(f"{name}")
    print(f"  on this machine: http://{_LOCAL}:{port}/")
    if network:
        for address in own_addresses():
            print(
                f"  on the network:  http://{address}:{port}/  (pair each device under Programme)"
            )
        print("  The network is not encrypted: let only devices in that you know.")
    print("  Stop with Ctrl-C. What was entered is kept at once.", flush=True)
