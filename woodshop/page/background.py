"""Long work in a process of its own, so that the page goes on answering: progress, result, problems, cancel."""

import atexit
import multiprocessing
import os
import signal
import threading
from collections.abc import Callable
from contextlib import suppress
from importlib import import_module
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from types import FrameType
from typing import Any

from woodshop.errors import Problem, WoodshopError
from woodshop.workers import end_with_parent

_PATIENCE = 20.0  # seconds: solvers notice a signal only between two of their steps
_MOST_LINES = 200
_SAY, _RESULT, _PROBLEMS, _FAILED = "say", "result", "problems", "failed"
_FAULT = Problem(
    "woodshop", "work that ended with a fault of the program", "a result", "Run the same work again, or in a terminal."
)
_running: "set[BackgroundTask]" = set()


class BackgroundTask:
    """One function at work in another process.

    `progress` are its lines of progress so far. At its end, `result` is what the function returned, or `problems` says
    why it could not. A canceled task has neither. The process ends with the one that started it.
    """

    def __init__(self, process: BaseProcess, pipe: Connection) -> None:
        self.progress: list[str] = []
        self.result: Any = None
        self.problems: tuple[Problem, ...] = ()
        self.is_canceled = False
        self._process, self._pipe = process, pipe
        self._ended = threading.Event()

    @classmethod
    def start(cls, function: Callable[..., Any] | str, *args: Any) -> "BackgroundTask":
        """Starts `function(*args, say=...)` and returns at once. `say` takes a line of progress.

        The function belongs to a module, and it, its arguments and its result can be pickled. If it is given as
        "module:name", only the new process imports its module. To be called from a thread that lasts as long as the
        server.
        """
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe(duplex=False)
        process = context.Process(target=_work, args=(os.getpid(), theirs, function, args), daemon=False)
        process.start()
        theirs.close()
        task = cls(process, ours)
        _running.add(task)
        threading.Thread(target=task._listen, daemon=True).start()
        return task

    @property
    def is_running(self) -> bool:
        """Whether the work goes on. After a cancel it does, until the process has undone what it began."""
        return not self._ended.is_set()

    def cancel(self) -> None:
        """Asks the work to stop; it undoes what it began to write. Work that has ended stays as it is."""
        if not self.is_running or self.is_canceled:
            return
        self.is_canceled = True
        self._process.terminate()
        threading.Thread(target=self._insist, daemon=True).start()

    def wait(self, seconds: float | None = None) -> bool:
        """Waits for the end of the work, at most this many `seconds`. Returns whether it has ended."""
        return self._ended.wait(seconds)

    def _insist(self) -> None:
        if not self._ended.wait(_PATIENCE):
            self._process.kill()

    def _listen(self) -> None:
        end: tuple[str, Any] = (_FAILED, None)
        with suppress(EOFError, OSError):
            while True:
                kind, value = self._pipe.recv()
                if kind == _SAY:
                    self.progress = [*self.progress[1 - _MOST_LINES :], value]
                    continue
                end = kind, value
        self._process.join()
        self._pipe.close()
        kind, value = end
        if kind == _RESULT:  # also if the cancel came when all was written
            self.result, self.is_canceled = value, False
        elif kind == _PROBLEMS:
            self.problems = value
        elif not self.is_canceled:
            self.problems = (_FAULT,)
        _running.discard(self)
        self._ended.set()


@atexit.register  # before the interpreter waits for its child processes
def end_all() -> None:
    """Cancels every task and waits until each has undone what it began."""
    for task in list(_running):
        task.cancel()
    for task in list(_running):
        task.wait(_PATIENCE)


class _Ended(BaseException):
    """The task was canceled."""


def _end(_number: int, _frame: FrameType | None) -> None:
    raise _Ended


def _work(parent: int, pipe: Connection, function: Callable[..., Any] | str, args: tuple[Any, ...]) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which then cancels its tasks
    signal.signal(signal.SIGTERM, _end)
    try:
        end_with_parent(parent)
        try:
            end = _RESULT, _named(function)(*args, say=lambda line: pipe.send((_SAY, line)))
        except WoodshopError as error:
            end = _PROBLEMS, error.problems
        pipe.send(end)
    except _Ended:
        os._exit(1)


def _named(function: Callable[..., Any] | str) -> Callable[..., Any]:
    if not isinstance(function, str):
        return function
    module, _, name = function.partition(":")
    found: Callable[..., Any] = getattr(import_module(module), name)
    return found
