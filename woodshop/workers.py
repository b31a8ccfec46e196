"""Parallel work in forked processes, which end with the process that started them."""

import ctypes
import gc
import multiprocessing
import os
import signal
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor, as_completed
from contextlib import contextmanager
from typing import Any, TypeVar

_Result = TypeVar("_Result")
_SELDOM = 100_000  # new objects
_PR_SET_PDEATHSIG = 1  # <linux/prctl.h>
_ENDING = {signal.SIGINT, signal.SIGTERM, signal.SIGHUP} if hasattr(signal, "pthread_sigmask") else set()


def over_cores(
    function: Callable[..., _Result],
    tasks: Sequence[tuple[Any, ...]],
    least: int = 2,
    ended: Callable[[int], None] = lambda number: None,
) -> list[_Result]:
    """The results of `function(*task)`, in the order of the tasks. Tasks are also started in this order.

    If there are fewer than `least` tasks or only one core, or if the system cannot fork, all tasks run in this process.
    `ended` gets the number of each task that has ended. An exception in a task is raised here, after the workers end.
    """
    if len(tasks) < max(least, 2) or _cores() < 2:
        found = []
        for n, task in enumerate(tasks):
            found.append(function(*task))
            ended(n)
        return found
    with workers(len(tasks)) as pool:
        return in_order([pool.submit(function, *task) for task in tasks], ended)


def in_order(made: Sequence[Future[_Result]], ended: Callable[[int], None]) -> list[_Result]:
    """The results of submitted tasks, in their order. `ended` gets the number of each task when it has ended."""
    numbers = {each: n for n, each in enumerate(made)}
    for each in as_completed(made):
        if each.exception() is not None:
            break
        ended(numbers[each])
    return [each.result() for each in made]


def steps_left(what: str, names: Sequence[str], say: Callable[[str], None] | None) -> Callable[[int], None]:
    """A function that takes the number of each step that has ended, and says how many are done and which is at work.

    `what` says what the steps do, `names` are those of the steps in the order in which they begin. A line is said at
    once, too; of several steps at work it names the one that began first.

    >>> ended = steps_left("cutting plans", ["board (40 pieces)", "mesh (6 pieces)"], print)
    cutting plans, 0 of 2 done; now board (40 pieces)
    >>> ended(0), ended(1)
    cutting plans, 1 of 2 done; now mesh (6 pieces)
    (None, None)
    """
    left = dict(enumerate(names))

    def line() -> None:
        if say is not None and left:
            say(f"{what}, {len(names) - len(left)} of {len(names)} done; now {next(iter(left.values()))}")

    def ended(number: int) -> None:
        left.pop(number)
        line()

    line()
    return ended


@contextmanager
def workers(most: int, prepare: Callable[..., None] | None = None, given: tuple[Any, ...] = ()) -> Iterator[Executor]:
    """A pool with one forked process per core, at most `most`; each process first calls `prepare(*given)`.

    The pool is a single thread if this process cannot fork, if other threads are running, or if there is only one core.
    The workers end when an exception leaves the block or this process is killed: at once on Linux, within a second on
    other systems that can fork.
    """
    cores = _cores()
    if cores < 2 or threading.active_count() > 1:
        with ThreadPoolExecutor(1, initializer=prepare, initargs=given) as pool:
            yield pool
        return
    before = set(multiprocessing.active_children())
    context = multiprocessing.get_context("fork")
    forked = ProcessPoolExecutor(min(cores, most), context, _begin, (os.getpid(), prepare, given))
    try:
        with signals_wait():  # an interrupt during a fork would be lost: code run at a fork ignores exceptions
            forked.submit(int)
        yield forked
    except BaseException:
        # do not wait for a task, which can run for minutes
        for child in set(multiprocessing.active_children()) - before:
            child.kill()
        forked.shutdown(wait=True, cancel_futures=True)
        raise
    forked.shutdown()


@contextmanager
def signals_wait() -> Iterator[None]:
    """Delays Ctrl-C and similar signals until the block ends, if the system supports it."""
    if not _ENDING:
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _ENDING)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _cores() -> int:
    return (os.cpu_count() or 1) if hasattr(os, "fork") else 1


def _begin(parent: int, prepare: Callable[..., None] | None, given: tuple[Any, ...]) -> None:
    """Sets up a new worker to end with the parent and to leave Ctrl-C to the parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, _ENDING)
    end_with_parent(parent)
    # Objects made by the parent are not freed, and a worker makes few reference cycles, so collect garbage seldom.
    gc.freeze()
    gc.set_threshold(_SELDOM)
    if prepare is not None:
        prepare(*given)


def end_with_parent(parent: int) -> None:
    """Makes this process end when the process `parent`, which started it, dies: at once on Linux, else in a second.

    On Linux it also ends when the thread that started it ends, so it has to be started by a thread that lasts.
    """
    if not _dies_with_parent():
        threading.Thread(target=_watch, args=(parent,), daemon=True).start()
    if os.getppid() != parent:  # the parent died before the line above
        os._exit(1)


def _dies_with_parent() -> bool:
    """Asks the kernel to kill this process when its parent dies. Returns false if that is not possible."""
    if not sys.platform.startswith("linux"):
        return False
    try:
        return bool(ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0) == 0)
    except (OSError, AttributeError):
        return False


def _watch(parent: int) -> None:
    while os.getppid() == parent:
        time.sleep(1)
    os._exit(1)
