"""A plan for a job in several thicknesses: the boards bought, what becomes of each, and the layouts of home boards."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass, replace
from typing import Any

from woodshop.cutting.model.job import Job, job_digest
from woodshop.cutting.model.lumber_job import (
    HomeBoard,
    LumberJob,
    home_board,
    lumber_job_to_json,
    read_lumber_job,
)
from woodshop.cutting.model.plan import (
    Assurance,
    BoundKind,
    Certificate,
    Layout,
    Plan,
    certificate_to_json,
    layout_to_json,
    read_any_plan,
)
from woodshop.cutting.model.reading import Reader
from woodshop.errors import InputError

LUMBER_PLAN_FORMAT = "woodshop-plan/3"


@dataclass(frozen=True, slots=True)
class BoughtPart:
    """A part of a bought board, or all of it: its `length` as it is taken home, and what it becomes.

    `resaw` is the thickness of the boards that it is resawn into, or None. `layouts` are the numbers of the layouts by
    which it, or each of these boards, is cut; fewer than there are boards if some stay whole. A part without layouts
    is not needed.
    """

    length: int
    layouts: tuple[int, ...] = ()
    resaw: str | None = None


@dataclass(frozen=True, slots=True)
class BoughtBoard:
    """`times` boards of one stock, each cut where it is bought into `parts`, in their order along the board."""

    stock: str
    times: int
    parts: tuple[BoughtPart, ...]


@dataclass(frozen=True, slots=True)
class LumberPlan:
    """Bought boards and layouts for a whole job, their cost, and a lower bound on the cost of any plan.

    The stock of a layout is the name of a home board. `assurance` and `bound_kind` have the meaning that they have in
    a plan of one thickness.
    """

    job: LumberJob
    job_digest: str
    cost: int
    bound: int
    bound_kind: BoundKind
    assurance: Assurance
    gap: int
    _: KW_ONLY
    bought: tuple[BoughtBoard, ...]
    layouts: tuple[Layout, ...]
    certificate: Certificate | None = None


def parts_at_home(job: LumberJob, board: BoughtBoard) -> Iterator[tuple[BoughtPart, HomeBoard]]:
    """Each part of a bought board that is used, with the home board that it, or each resawn board, becomes.

    Raises KeyError for an unknown stock, and ValueError for a part that is too short to have both ends squared.
    """
    lumber = {own.stock.id: own for own in job.lumber}[board.stock]
    ways = {way.thickness: way for way in lumber.resaw}
    last = len(board.parts) - 1
    for n, part in enumerate(board.parts):
        if not part.layouts:
            continue
        way = None if part.resaw is None else ways[part.resaw]
        length = None
        if last and lumber.cuts is not None:
            trim, rough = lumber.stock.end_trim, lumber.cuts.rough
            length = part.length - (rough if n else trim) - (rough if n < last else trim)
            if length < 1:
                raise ValueError(f"a part of {board.stock!r} that is shorter than its rough ends")
        yield part, home_board(lumber, way, length)


def home_plans(plan: LumberPlan) -> dict[str, Plan]:
    """For each thickness that is cut: a plan of one thickness. Its stock are the home boards that there are.

    Their cost is 0, because the boards were bought. Raises KeyError and ValueError as `parts_at_home` does.
    """
    boards: dict[str, HomeBoard] = {}
    counts = Counter[str]()
    for bought in plan.bought:
        for part, home in parts_at_home(plan.job, bought):
            boards.setdefault(home.stock.id, home)
            counts[home.stock.id] += bought.times * len(part.layouts)
    found = {}
    for thickness in dict.fromkeys(plan.job.thicknesses):
        own = [home for home in boards.values() if home.thickness == thickness]
        stock = tuple(replace(home.stock, count=counts[home.stock.id]) for home in own)
        ids = {each.id for each in stock}
        layouts = tuple(layout for layout in plan.layouts if layout.stock in ids)
        found[thickness] = free_plan(plan.job.of_thickness(thickness, stock), layouts)
    return found


def free_plan(job: Job, layouts: Sequence[Layout]) -> Plan:
    """A plan whose boards are there and cost nothing."""
    return Plan(
        job=job, job_digest=job_digest(job), cost=0, bound=0, bound_kind="area", assurance="proved", gap=0,
        layouts=tuple(layouts),
    )  # fmt: skip


def lumber_plan_to_json(plan: LumberPlan) -> dict[str, Any]:
    """The plan as plain values, in the order of the file."""
    flat = plan.job.base.is_flat
    out: dict[str, Any] = {
        "format": LUMBER_PLAN_FORMAT,
        "job": lumber_job_to_json(plan.job),
        "job_digest": plan.job_digest,
        "cost": plan.cost,
        "bound": plan.bound,
        "bound_kind": plan.bound_kind,
        "assurance": plan.assurance,
        "gap": plan.gap,
        "bought": [
            {"stock": board.stock, "times": board.times, "parts": [_part_to_json(part) for part in board.parts]}
            for board in plan.bought
        ],
        "layouts": [layout_to_json(layout, flat) for layout in plan.layouts],
    }
    if plan.certificate is not None:
        out["certificate"] = certificate_to_json(plan.certificate)
    return out


def _part_to_json(part: BoughtPart) -> dict[str, Any]:
    out: dict[str, Any] = {"length": part.length}
    if part.resaw is not None:
        out["resaw"] = part.resaw
    return out | {"layouts": list(part.layouts)}


def read_lumber_plan(source: str | Mapping[str, Any]) -> LumberPlan:
    """The plan in a JSON text, or in values already read from one. Checks only the form.

    Raises InputError with every problem.
    """
    reader = Reader()
    top, found = read_any_plan(
        reader, source, LUMBER_PLAN_FORMAT, read_lumber_job, lambda job: job.base.is_flat, keys=("bought",)
    )
    bought = [_read_board(reader, row, f"bought[{n}]") for n, row in enumerate(reader.rows(top, "bought"))]
    if reader.problems:
        raise InputError(*reader.problems)
    return LumberPlan(**found, bought=tuple(bought))


def _read_board(reader: Reader, value: Any, where: str) -> BoughtBoard:
    table = reader.table(value, where, ("stock", "times", "parts"), ())
    parts = [_read_part(reader, row, f"{where}.parts[{n}]") for n, row in enumerate(reader.rows(table, "parts", where))]
    return BoughtBoard(reader.word(table, "stock", where), reader.integer(table, "times", where, 1), tuple(parts))


def _read_part(reader: Reader, value: Any, where: str) -> BoughtPart:
    table = reader.table(value, where, ("length", "layouts"), ("resaw",))
    numbers = reader.rows(table, "layouts", where)
    layouts = tuple(reader.whole(number, f"{where}.layouts", 0) for number in numbers)
    resaw = reader.word(table, "resaw", where) if "resaw" in table else None
    return BoughtPart(reader.integer(table, "length", where, 1), layouts, resaw)
