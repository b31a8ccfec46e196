"""The saw page as the server sends it: its files, its data, its ticks, and the rest of the plan after a bad board.

Every address is /saw/<design>/<first characters of the plan's digest>/...; /saw/<design>/ leads to the plan in force.
"""

import asyncio
import json
import shutil
from collections import Counter
from collections.abc import Awaitable, Callable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response
from starlette.routing import Route

from woodshop.design.design_file import Design, read_design
from woodshop.documents.saw.saw_page import ASSETS, asset, data_of
from woodshop.errors import InputError, Problem, WoodshopError
from woodshop.files.one_file import read_file
from woodshop.page.opened.safe_names import inside, named_file
from woodshop.plan.book.saw_ticks import (
    SawBook,
    also_squared,
    boards_done,
    checked_rows,
    own_book,
    pieces_ticked,
    plan_mark,
    rows_of,
    squared_off,
    squared_rows,
)

MOST_SENT = 1 << 18
"""The largest message, in bytes."""
_RESULTS, _PLAN, _PAGE = "out", "plan.json", "saw.html"
_PROPOSED = ".proposed"
_Answer = Callable[[Request], Awaitable[Response]]


@dataclass(slots=True)
class _Plan:
    """A plan in a folder of results: its data for the saw page, and the digest of the plan that it is the rest of."""

    folder: Path
    data: dict[str, Any]
    earlier: str

    @property
    def mark(self) -> str:
        return plan_mark(self.data["plan"])


@dataclass(slots=True)
class _Proposed:
    """The rest of a plan at work in the background, and the plan and last event that it was made from."""

    task: Any
    mark: str
    event: int


@dataclass(slots=True)
class _Saws:
    """The designs of a folder at the saw. Everything of a book happens in one thread."""

    folder: Path
    thread: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(max_workers=1))
    designs: dict[str, tuple[tuple[int, int], Design]] = field(default_factory=dict)
    pages: dict[Path, tuple[tuple[int, int], _Plan]] = field(default_factory=dict)
    books: dict[Path, SawBook] = field(default_factory=dict)
    proposed: dict[str, _Proposed] = field(default_factory=dict)

    def path(self, name: str) -> Path:
        """The design file of this name. Raises InputError for any other name."""
        found = named_file(self.folder, name, ".toml")
        if not found.is_file():
            raise InputError(Problem(name, "no such design", "a design of this folder", "Check the name."))
        return found

    def design(self, name: str) -> Design:
        """The design as it is in its file; while that cannot be read, as it was."""
        path = self.path(name)
        stamp = _stamp(path)
        held = self.designs.get(name)
        if held is None or held[0] != stamp:
            try:
                held = stamp, read_design(path)
            except InputError:
                if held is None:
                    raise
            self.designs[name] = held
        return held[1]

    def book(self, name: str) -> SawBook:
        """The book that gets the ticks: the design's, or one of their own beside the design."""
        design = self.design(name)
        path = design.book or own_book(self.path(name))
        if path not in self.books:
            self.books[path] = SawBook(path, design.book is None)
        return self.books[path]

    def plans(self, name: str) -> list[_Plan]:
        """The plans of a design, each followed by the rest of it. The last one is in force."""
        batch = self.design(name).batch
        found = [self._plan(batch)]
        number = 1
        while (self.folder / _RESULTS / rest_name(batch, number)).is_dir():
            plan = self._plan(rest_name(batch, number))
            if plan.earlier != found[-1].data["plan"]:
                break
            found.append(plan)
            number += 1
        return found

    def plan(self, name: str, mark: str) -> tuple[list[_Plan], _Plan]:
        """All plans of a design, and the one with this mark. Raises InputError if it is not there."""
        plans = self.plans(name)
        for each in plans:
            if each.mark == mark:
                return plans, each
        do = f"Open /saw/{name}/. The ticks of the old plan stay in this browser: save them to a file."
        raise InputError(Problem("saw page", "a plan that was replaced", "the plan in the folder", do))

    def _plan(self, name: str) -> _Plan:
        """The plan in a folder of results. Raises InputError if it is not there, or not inside the page's folder."""
        page, file = (inside(self.folder, f"{_RESULTS}/{name}/{each}", "plan") for each in (_PAGE, _PLAN))
        if not page.is_file() or not file.is_file():
            raise InputError(Problem(f"{_RESULTS}/{name}", "no plan", "a plan with a saw page", "Plan the design."))
        stamp = _stamp(page)
        held = self.pages.get(page)
        if held is None or held[0] != stamp:
            data = data_of(read_file(page, "a saw page"), f"{name}/{_PAGE}")
            written = json.loads(read_file(file, "a plan"))
            if written.get("digest") != data["plan"]:
                do = "Plan it again."
                raise InputError(Problem(f"{name}/{_PAGE}", "the page of another plan", "the plan beside it", do))
            rest_of = written.get("rest_of") or {}
            held = stamp, _Plan(page.parent, data, str(rest_of.get("digest", "")))
            self.pages[page] = held
        return held[1]

    def state(self, name: str, mark: str) -> dict[str, Any]:
        """What is entered, and the addresses of a newer plan and of an earlier one with boards begun ("": none).

        Also the numbers of the newest plan's layouts, how many boards of the size of each layout were squared on the
        plans before, and the good pieces of each material made on all other plans.
        """
        plans, plan = self.plan(name, mark)
        events = self.book(name).events()
        number = plans.index(plan)
        older = [each for each in plans[:number] if boards_done(events, each.data).is_unfinished]
        return {
            "rows": rows_of(events, plan.data),
            "newer": "" if number + 1 == len(plans) else _address(name, plans[-1].mark),
            "older": _address(name, older[-1].mark) if older else "",
            "numbers": [each["number"] for each in plans[-1].data["layouts"]],
            "squared": also_squared(events, [each.data for each in plans[: number + 1]]),
            "made": sum((pieces_ticked(events, each.data) for each in plans if each is not plan), Counter()),
        }

    def enter(self, name: str, mark: str, sent: object) -> dict[str, Any]:
        """Enters ticks, and says what became of them."""
        _, plan = self.plan(name, mark)
        ticked = self.book(name).enter(plan.data, checked_rows(sent))
        refused = [{"id": each.id, "problem": _problem(each.problem)} for each in ticked.refused]
        return self.state(name, mark) | {"entered": ticked.entered, "refused": refused, "notes": ticked.notes}

    def close(self) -> None:
        """Closes every book."""
        for book in self.books.values():
            book.close()
        self.books.clear()


def rest_name(batch: str, number: int) -> str:
    """The name of the folder for the rest of a batch: the first rest, the rest of that, and so on."""
    return f"{batch}-rest" if number == 1 else f"{batch}-rest-{number}"


def saw_address(name: str) -> str:
    """The address of the saw page of the design `name`, which leads to the plan in force."""
    return f"/saw/{quote(name, safe='')}/"


def saw_routes(folder: Path) -> list[Route]:
    """The routes of the saw page for the designs of a folder, for the server's application."""
    saws = _Saws(folder.resolve())

    def route(path: str, answer: Callable[[Request], Awaitable[Response]], method: str = "GET") -> Route:
        return Route(f"/saw/{{name}}{path}", _safely(answer), methods=[method])

    async def at_work(work: Callable[..., Any], *args: object) -> Any:
        return await asyncio.get_running_loop().run_in_executor(saws.thread, work, *args)

    async def first(request: Request) -> Response:
        name = request.path_params["name"]
        plans = await at_work(saws.plans, name)
        return RedirectResponse(_address(name, plans[-1].mark), 303)

    async def page(request: Request) -> Response:
        await at_work(saws.plan, *_which(request))
        return Response(asset("saw.html"), media_type=ASSETS["saw.html"])

    async def static(request: Request) -> Response:
        file = request.path_params["file"]
        if file not in ASSETS:
            return JSONResponse({"problems": []}, 404)
        return Response(asset(file), media_type=ASSETS[file])

    async def data(request: Request) -> Response:
        _, plan = await at_work(saws.plan, *_which(request))
        return JSONResponse(plan.data)

    async def state(request: Request) -> Response:
        return JSONResponse(await at_work(saws.state, *_which(request)))

    async def ticks(request: Request) -> Response:
        sent = await _sent(request)
        return JSONResponse(await at_work(saws.enter, *_which(request), sent.get("rows")))

    async def rest(request: Request) -> Response:
        return JSONResponse(await at_work(_rest_state, saws, *_which(request)))

    async def plan_rest(request: Request) -> Response:
        await _sent(request)
        return JSONResponse(await at_work(_start_rest, saws, *_which(request)))

    async def take(request: Request) -> Response:
        await _sent(request)
        return JSONResponse(await at_work(_take, saws, *_which(request)))

    return [
        route("/", first),
        route("", first),
        route("/{mark}/", page),
        route("/{mark}/data", data),
        route("/{mark}/state", state),
        route("/{mark}/ticks", ticks, "POST"),
        route("/{mark}/rest", rest),
        route("/{mark}/rest", plan_rest, "POST"),
        route("/{mark}/take", take, "POST"),
        route("/{mark}/{file}", static),
    ]


def _which(request: Request) -> tuple[str, str]:
    return request.path_params["name"], request.path_params["mark"]


def _address(name: str, mark: str) -> str:
    return f"{saw_address(name)}{quote(mark, safe='')}/"


def _stamp(path: Path) -> tuple[int, int]:
    found = path.stat()
    return found.st_mtime_ns, found.st_size


async def _sent(request: Request) -> dict[str, Any]:
    """The JSON object of a message. Raises InputError for anything else."""
    asked = Problem("saw page", "no message of the saw page", "a JSON object", "Reload the page.")
    if request.headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
        raise InputError(asked)
    body = b""
    async for part in request.stream():
        body += part
        if len(body) > MOST_SENT:
            raise InputError(Problem("saw page", "a message too large", f"at most {MOST_SENT >> 10} kB", "Send less."))
    try:
        found = json.loads(body)
    except (ValueError, RecursionError):
        raise InputError(asked) from None
    if not isinstance(found, dict):
        raise InputError(asked)
    return found


def _safely(answer: _Answer) -> _Answer:
    """The same endpoint, with problems as JSON."""

    async def safe(request: Request) -> Response:
        try:
            return await answer(request)
        except WoodshopError as why:
            return JSONResponse({"problems": [_problem(each) for each in why.problems]}, 409)

    return safe


def _problem(problem: Problem) -> Mapping[str, str]:
    return {"where": problem.where, "given": problem.given, "wanted": problem.wanted, "do": problem.do}


# ---- the rest of the plan --------------------------------------------------------------------


def _start_rest(saws: _Saws, name: str, mark: str) -> dict[str, Any]:
    """Starts planning the rest of the plan in force, in a process of its own."""
    from woodshop.page.background import BackgroundTask

    plans, plan = saws.plan(name, mark)
    if plan is not plans[-1]:
        raise InputError(Problem("saw page", "an earlier plan", "the plan in force", "Go to the newer plan."))
    book = saws.book(name)
    events = book.events()
    held = saws.proposed.get(name)
    if held is not None and held.mark == mark and held.event == len(events) and not held.task.problems:
        return _rest_state(saws, name, mark)
    if held is not None and held.task.is_running:
        held.task.cancel()
    into = saws.folder / _RESULTS / _PROPOSED / plan.data["batch"]
    shutil.rmtree(into, ignore_errors=True)
    begun, off = dict(boards_done(events, plan.data).begun), squared_off(events, plan.data)
    given = (saws.path(name), plan.folder / _PLAN, into, book.path if events else None, book.is_own, begun, off)
    task = BackgroundTask.start("woodshop.documents.saw.rest_at_saw:propose_rest", *given)
    saws.proposed[name] = _Proposed(task, mark, len(events))
    return {"state": "running", "said": ""}


def _rest_state(saws: _Saws, name: str, mark: str) -> dict[str, Any]:
    """How far the planning is; at its end what changes and whether it is out of date, or why there is no plan."""
    held = saws.proposed.get(name)
    if held is None or held.mark != mark:
        return {"state": "none"}
    if held.task.is_running:
        return {"state": "running", "said": held.task.progress[-1] if held.task.progress else ""}
    if held.task.problems:
        return {"state": "failed", "problems": [_problem(each) for each in held.task.problems]}
    is_old = held.event != len(saws.book(name).events())
    return {"state": "done", "blocks": held.task.result, "is_old": is_old}


def _take(saws: _Saws, name: str, mark: str) -> dict[str, Any]:
    """Puts the planned rest in force, unless something was entered since it was planned."""
    held = saws.proposed.get(name)
    _, plan = saws.plan(name, mark)
    batch = plan.data["batch"]
    made = saws.folder / _RESULTS / _PROPOSED / batch
    if held is None or held.mark != mark or held.task.is_running or held.task.problems or not made.is_dir():
        raise InputError(Problem("saw page", "no rest to use", "a planned rest", "Plan the rest again."))
    book = saws.book(name)
    if len(book.events()) != held.event:
        do = "Plan the rest again."
        raise InputError(Problem("saw page", "ticks entered since the rest was planned", "none since", do))
    plans = saws.plans(name)
    into = saws.folder / _RESULTS / rest_name(batch, len(plans))
    if into.exists():
        into = _out_of_the_way(into)
    made.rename(into)
    del saws.proposed[name]
    now = saws.plans(name)[-1].data
    book.begin(now)
    if rows := squared_rows(book.events(), plan.data, now):
        book.enter(now, rows)
    return saws.state(name, mark)


def _out_of_the_way(folder: Path) -> Path:
    """Moves a folder that is the rest of another plan aside, under the next free name. Returns its old place."""
    number = 1
    while (aside := folder.with_name(f"{folder.name}-earlier-{number}")).exists():
        number += 1
    folder.rename(aside)
    return folder
