"""Starts and ends the server of the page, on this computer's own address alone."""

import gc
import logging
import os
import socket
import webbrowser
from asyncio import to_thread
from collections.abc import Callable
from pathlib import Path
from secrets import token_urlsafe
from tempfile import TemporaryDirectory
from threading import Lock

import uvicorn
from starlette.types import ASGIApp, Receive, Scope, Send

from woodshop.errors import InputError, Problem, WoodshopError
from woodshop.page.guard import Guard

HOST = "127.0.0.1"
PORT = 7420
"""The usual port: what a browser keeps for a page belongs to its port."""


def start(folder: Path, port: int | None, announce: Callable[[str], None], opens_browser: bool = False) -> None:
    """Serves the page for the designs of a folder until Ctrl-C.

    `port` is the port to use, or None for the usual one, or any free one if that is taken. `announce` gets the address
    once the server answers there. `opens_browser` also opens it. Raises InputError if the folder or the port cannot be
    used.
    """
    if not folder.is_dir():
        raise InputError(Problem("page, folder", str(folder), "a folder with your designs", "Name one that is there."))
    with _bound(port) as bound, TemporaryDirectory(prefix="woodshop-page-") as scratch:
        gc.disable()  # next to nothing that is loaded until then is garbage, and looking for it takes a tenth
        # The web library keeps what it stores in the folder where it was started, unless it is given another one.
        os.environ["NICEGUI_STORAGE_PATH"] = scratch
        number = bound.getsockname()[1]
        token, session = token_urlsafe(32), token_urlsafe(32)
        address = f"http://{HOST}:{number}/?token={token}"
        guarded = Guard(_application(folder.resolve()), number, token, session)
        config = uvicorn.Config(
            guarded,
            log_config=None,
            access_log=False,
            proxy_headers=False,
            server_header=False,
            date_header=False,
            ws_max_size=1 << 20,
            http="h11",
            ws="websockets-sansio",
            timeout_graceful_shutdown=2,
        )
        server = _Server(config, lambda: _ready(address, announce, opens_browser))
        server.run(sockets=[bound])


class _Server(uvicorn.Server):
    """Says when it answers; ends quietly with Ctrl-C."""

    def __init__(self, config: uvicorn.Config, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Begins to answer."""
        await super().startup(sockets)
        self._ready()


def _ready(address: str, announce: Callable[[str], None], opens_browser: bool) -> None:
    gc.freeze()
    gc.enable()
    announce(address)
    if opens_browser:
        webbrowser.open(address)


def _bound(port: int | None) -> socket.socket:
    """A socket bound to the port on this computer's own address. Raises InputError if the port cannot be used."""
    for number in (port,) if port is not None else (PORT, 0):
        bound = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if os.name == "posix":
            bound.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            bound.bind((HOST, number))
            bound.listen(64)
        except OSError as why:
            bound.close()
            reason = why.strerror
        else:
            return bound
    raise InputError(
        Problem("page, --port", f"{port} ({reason})", "a free port", "Choose another one, or leave --port out.")
    )


def _application(folder: Path) -> ASGIApp:
    from fastapi import FastAPI
    from nicegui import app as library
    from nicegui import ui

    from woodshop.page.frame import serve_screens
    from woodshop.page.opened.folder import Folder
    from woodshop.page.results import serve_results
    from woodshop.page.screens.home import serve_home

    log = logging.getLogger("nicegui")
    log.setLevel(logging.ERROR)
    log.addFilter(lambda each: not (each.exc_info and isinstance(each.exc_info[1], WoodshopError)))  # shown on the page
    opened = Folder(folder)
    serve_home(opened)
    serve_screens(opened)
    serve_results(opened)
    library.config.quasar_config["loadingBar"]["skipHijack"] = True  # a bar without a name, of each request
    outer = FastAPI(docs_url=None, redoc_url=None, openapi_url=None)
    # A tab that is busy or asleep for a while keeps its screen, with what is typed and what is unfolded.
    patience = 60.0
    ui.run_with(
        outer,
        title="woodshop",
        language="en-US",
        dark=None,
        tailwind=False,
        show_welcome_message=False,
        reconnect_timeout=patience,
    )
    return _with_saw(folder, outer)


def _with_saw(folder: Path, rest: ASGIApp) -> ASGIApp:
    """The application with the saw page, which is imported when it is first asked for: the first page is sooner."""
    lock, found = Lock(), list[ASGIApp]()

    def saw() -> ASGIApp:
        with lock:
            if not found:
                from starlette.routing import Router

                from woodshop.page.saw import saw_routes

                found.append(Router(saw_routes(folder)))
            return found[0]

    async def served(scope: Scope, receive: Receive, send: Send) -> None:
        of_saw = scope["type"] == "http" and scope["path"].startswith("/saw/")
        await (await to_thread(saw) if of_saw else rest)(scope, receive, send)

    return served
