"""A cutting plan as frozen values, and its neutral file.

Flat rectangles are the only source of truth: a plan holds the position of each piece on its stock, but not how it was
found. The order of layouts and pieces is fixed, so that identical plans give identical files.
"""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import KW_ONLY, dataclass
from typing import Any, Literal, TypeVar, get_args

from woodshop.cutting.model.job import DIRECTIONS, Direction, Job, job_to_json, read_job
from woodshop.cutting.model.reading import Reader, parse_json, show
from woodshop.errors import InputError, Problem, check_format

PLAN_FORMAT = "woodshop-plan/2"
Assurance = Literal["proved", "solved", "within", "first_fit"]
BoundKind = Literal["root", "solver", "area", "tree"]
Effort = Literal["quick", "default", "long"]
ASSURANCES: tuple[Assurance, ...] = get_args(Assurance)
BOUND_KINDS: tuple[BoundKind, ...] = get_args(BoundKind)
_J = TypeVar("_J")


@dataclass(frozen=True, slots=True)
class Piece:
    """A blank in its position: x along the stock and y across it, from the corner of the raw, untrimmed stock.

    `length` and `width` are as placed (exchanged if `rotated`). A one-dimensional piece has no y and no width.
    """

    id: str
    x: int
    length: int
    _: KW_ONLY
    y: int | None = None
    width: int | None = None
    rotated: bool = False
    spare: bool = False


@dataclass(frozen=True, slots=True)
class Layout:
    """How `times` boards or sheets are cut, all alike. `first` is the direction of the first cuts."""

    stock: str
    times: int
    pieces: tuple[Piece, ...]
    first: Direction | None = None


@dataclass(frozen=True, slots=True)
class Certificate:
    """Evidence for a bound: a price for each blank and a rent for each limited stock, in 1/`scale` of a currency unit.

    The module `prove` explains what a certificate proves, and checks it.
    """

    scale: int
    prices: tuple[tuple[str, int], ...]
    rents: tuple[tuple[str, int], ...]
    bound: int


@dataclass(frozen=True, slots=True)
class TreeProof:
    """A proof tree: the sha256 of its text, the name of its file (from the plan's folder), and the text.

    The file is "" until the plan is written. The text is "" after the plan is read.
    """

    sha256: str
    file: str = ""
    text: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """Layouts for a whole job, their cost, and a lower bound on the cost of any plan.

    `assurance`: "proved" (the bound rests on exact integers and equals the cost), "solved" (the solver's gap is zero,
    in floating point), "within" (the cost is `gap` above a bound), "first_fit" (made by the first-fit rule, as done by
    hand). `bound_kind`: "root" (the bound that the certificate proves, from the rounded prices of the linear program),
    "area" (the same, but from the required material alone), "solver" (the solver's bound, in floating point, rounded up
    to the prices' common divisor; the certificate's own bound is then lower).
    """

    job: Job
    job_digest: str
    cost: int
    bound: int
    bound_kind: BoundKind
    assurance: Assurance
    gap: int
    layouts: tuple[Layout, ...]
    certificate: Certificate | None = None
    proof: TreeProof | None = None


def cost_of(job: Job, layouts: Sequence[Layout]) -> int:
    """The cost of the stock of these layouts."""
    costs = {stock.id: stock.cost for stock in job.stock}
    return sum(costs[layout.stock] * layout.times for layout in layouts)


def order_layouts(layouts: list[Layout]) -> tuple[Layout, ...]:
    """The layouts in the plan's fixed order: by stock, then by number of times cut (most first), then by pieces."""
    return tuple(
        sorted(layouts, key=lambda lay: (lay.stock, -lay.times, [_place(p) for p in lay.pieces], str(lay.first)))
    )


def order_pieces(pieces: list[Piece]) -> tuple[Piece, ...]:
    """The pieces in the plan's fixed order: across the stock, then along it."""
    return tuple(sorted(pieces, key=_place))


def _place(piece: Piece) -> tuple[int, int, str]:
    return (piece.y or 0, piece.x, piece.id)


def plan_to_json(plan: Plan) -> dict[str, Any]:
    """The plan as plain values, in the order of the file."""
    flat = plan.job.is_flat
    out: dict[str, Any] = {
        "format": PLAN_FORMAT,
        "job": job_to_json(plan.job),
        "job_digest": plan.job_digest,
        "cost": plan.cost,
        "bound": plan.bound,
        "bound_kind": plan.bound_kind,
        "assurance": plan.assurance,
        "gap": plan.gap,
        "layouts": [layout_to_json(layout, flat) for layout in plan.layouts],
    }
    if plan.certificate is not None:
        out["certificate"] = certificate_to_json(plan.certificate)
    if plan.proof is not None:
        out["proof"] = {"file": plan.proof.file, "sha256": plan.proof.sha256}
    return out


def certificate_to_json(own: Certificate) -> dict[str, Any]:
    """The certificate as plain values, in the order of the file."""
    return {"scale": own.scale, "prices": dict(own.prices), "rents": dict(own.rents), "bound": own.bound}


def layout_to_json(layout: Layout, flat: bool) -> dict[str, Any]:
    """The layout as plain values; `flat` says whether its pieces have widths."""
    out: dict[str, Any] = {"stock": layout.stock, "times": layout.times}
    if layout.first is not None:
        out["first"] = layout.first
    out["pieces"] = [_piece_to_json(piece, flat) for piece in layout.pieces]
    return out


def _piece_to_json(piece: Piece, flat: bool) -> dict[str, Any]:
    out: dict[str, Any] = {"id": piece.id, "x": piece.x}
    if flat:
        out["y"] = piece.y
    out["length"] = piece.length
    if flat:
        out |= {"width": piece.width, "rotated": piece.rotated}
    return out | {"spare": piece.spare}


def is_plan(data: bytes, formats: Collection[str] = (PLAN_FORMAT,)) -> bool:
    """Whether the bytes of a file are a plan in one of these formats, sound or not."""
    try:
        raw = parse_json(data.decode("utf-8"), "plan")
    except ValueError:
        return False
    return isinstance(raw, Mapping) and raw.get("format") in formats


def read_plan(source: str | Mapping[str, Any]) -> Plan:
    """The plan in a JSON text, or in values already read from one. Checks only the form; `check_plan` checks soundness.

    Raises InputError with every problem.
    """
    reader = Reader()
    top, found = read_any_plan(reader, source, PLAN_FORMAT, read_job, lambda job: job.is_flat, maybe=("proof",))
    proof = _read_proof(reader, top["proof"]) if "proof" in top else None
    if reader.problems:
        raise InputError(*reader.problems)
    return Plan(**found, proof=proof)


def read_any_plan(
    reader: Reader,
    source: str | Mapping[str, Any],
    form: str,
    read: Callable[[Mapping[str, Any]], _J],
    is_flat: Callable[[_J], bool],
    *,
    keys: Sequence[str] = (),
    maybe: Sequence[str] = (),
) -> tuple[Mapping[str, Any], dict[str, Any]]:
    """The table of a plan of the format `form`, and the fields that all formats of a plan have, by name.

    `read` reads its job, and `is_flat` says whether pieces for that job have widths. `keys` and `maybe` are further
    keys that the table must and may have. Problems go to the reader; raises InputError with them if the table has
    other keys or another format.
    """
    common = ("format", "job", "job_digest", "cost", "bound", "bound_kind", "assurance", "gap", "layouts")
    top = reader.table(parse_json(source, "plan"), "", (*common, *keys), ("certificate", *maybe))
    if reader.problems:
        raise InputError(*reader.problems)
    check_format("plan", top["format"], form, "Give a file of this format.")
    job = None
    try:
        if isinstance(top["job"], Mapping):
            job = read(top["job"])
        else:
            reader.problem("job", repr(top["job"])[:60], "the whole job, as a table", "Add it.")
    except InputError as error:
        reader.problems += [Problem(f"job.{p.where}", p.given, p.wanted, p.do) for p in error.problems]
    flat = job is not None and is_flat(job)
    return top, {
        "job": job,
        "cost": reader.whole(top["cost"], "cost", 0, 10**18),
        "bound": reader.whole(top["bound"], "bound", 0, 10**18),
        "gap": reader.whole(top["gap"], "gap", -(10**18), 10**18),
        "job_digest": reader.word(top, "job_digest", ""),
        "bound_kind": reader.choice(top, "bound_kind", "", BOUND_KINDS),
        "assurance": reader.choice(top, "assurance", "", ASSURANCES),
        "layouts": tuple(
            read_layout(reader, row, f"layouts[{n}]", flat) for n, row in enumerate(reader.rows(top, "layouts"))
        ),
        "certificate": read_certificate(reader, top["certificate"]) if "certificate" in top else None,
    }


def _read_proof(reader: Reader, value: Any) -> TreeProof:
    table = reader.table(value, "proof", ("file", "sha256"), ())
    file, sha256 = (reader.word(table, key, "proof") for key in ("file", "sha256"))
    steps = file.split("/")
    if len(steps) > 2 or any(step in ("", ".", "..") for step in steps) or "\\" in file or not file.isprintable():
        reader.problem("proof.file", show(file), "a file beside the plan, or in a folder beside it", "Plan again.")
    return TreeProof(sha256, file)


def read_certificate(reader: Reader, value: Any) -> Certificate:
    """The certificate in these values; problems go to the reader."""
    where = "certificate"
    table = reader.table(value, where, ("scale", "prices", "rents", "bound"), ())
    parts = []
    for name in ("prices", "rents"):
        rows = table.get(name, {})
        if not isinstance(rows, Mapping):
            reader.problem(f"{where}.{name}", repr(rows)[:60], "a table of whole numbers", "Plan again.")
            rows = {}
        parts.append(tuple((str(key), reader.whole(rows[key], f"{where}.{name}.{key}", 0, 10**30)) for key in rows))
    scale = reader.whole(table.get("scale", 1), f"{where}.scale", 1, 10**18)
    return Certificate(scale, parts[0], parts[1], reader.whole(table.get("bound", 0), f"{where}.bound", 0, 10**18))


def read_layout(reader: Reader, value: Any, where: str, flat: bool) -> Layout:
    """The layout in these values, whose path is `where`; `flat` says whether its pieces have widths."""
    table = reader.table(value, where, ("stock", "times", "pieces"), ("first",))
    first = reader.choice(table, "first", where, DIRECTIONS) if "first" in table else None
    pieces = [
        _read_piece(reader, row, f"{where}.pieces[{i}]", flat)
        for i, row in enumerate(reader.rows(table, "pieces", where))
    ]
    return Layout(reader.word(table, "stock", where), reader.integer(table, "times", where, 1), tuple(pieces), first)


def _read_piece(reader: Reader, value: Any, where: str, flat: bool) -> Piece:
    across = ("y", "width", "rotated") if flat else ()
    table = reader.table(value, where, ("id", "x", "length", "spare", *across), ())
    return Piece(
        reader.word(table, "id", where),
        reader.integer(table, "x", where, 0),
        reader.integer(table, "length", where, 1),
        y=reader.integer(table, "y", where, 0) if flat else None,
        width=reader.integer(table, "width", where, 1) if flat else None,
        rotated=reader.flag(table, "rotated", where) if flat else False,
        spare=reader.flag(table, "spare", where),
    )
