"""A cutting job as frozen values, its neutral file and its digest.

A job describes the stock, the blanks to cut from it, and how it can be cut. All numbers are integers in the job's own
unit; this package does not know inches or money.

Meaning of the numbers:

* **Kerf** is lost between two neighboring pieces, and between a piece and the waste next to it. The last piece
  can end exactly at the edge, so that n pieces need n - 1 kerfs: pieces of length l fit a stretch of length c
  if, and only if, the sum of (l + kerf) is at most c + kerf.
* **end_trim, edge_trim** are cut off each end and each edge before any other cut. The cut that removes them
  is inside the trim and uses no further length. A trim is a truing cut, and the rules do not count it as a rip.
* **unusable** stretches [x0, x1) run along the raw length, across the full width. A piece must not overlap one. A
  kerf can.
* **rules** (each optional) are mostly about rips, that is, cuts along the length that take off a strip:

  - `narrow_below`, `parent_wood`: a strip narrower than `narrow_below` is a narrow rip. Narrow strips are ripped
    first. After the last of them, a width of at least `parent_wood` must remain for the hand to hold: the width
    between the trims, minus (width + kerf) of each narrow strip.
  - `least_strip`: no strip is ripped narrower than this.
  - `shortest_rip`, `longest_rip`: the limits on the length of a part at the rip fence (a board between its end
    trims, or a section). A longer board is first crosscut into sections, even in a two-stage job.
  - `least_remainder`: the last strip of a ripped part is cut off too. Next to it, a rip kerf and `least_remainder`
    remain: the sum of (width + kerf) over the strips is at most the width between the trims minus `least_remainder`.
    A ripped section is longer than the pieces crosscut from its strips, by a crosscut kerf and `least_remainder`.
    The rule does not apply to final trims.
  - `defects`: "cut_out" means that unusable stretches are crosscut out before any rip, so a ripped part never
    contains one. A board with such stretches is crosscut into sections, even in a two-stage job, and each section
    is ripped separately.
  - Stock whose usable width is the width of the strip needs no rip, so the rules about rips do not apply to it.
  - `surplus`: "spare" keeps pieces beyond the count, marked as spare; "drop" omits them.
* **rip: false** means that a stock is never ripped (because it is twisted, for example). Only pieces as wide as the
  stock are cut from it.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass, field
from typing import Any, Literal, get_args

from woodshop.cutting.model.reading import Reader, parse_json, show
from woodshop.errors import InputError

JOB_FORMAT = "woodshop-job/1"

Direction = Literal["along", "across"]
First = Literal["along", "across", "either"]
Surplus = Literal["spare", "drop"]
Defects = Literal["cut_out"]
DIRECTIONS: tuple[Direction, ...] = get_args(Direction)
FIRST: tuple[First, ...] = get_args(First)
SURPLUS: tuple[Surplus, ...] = get_args(Surplus)
DEFECTS: tuple[Defects, ...] = get_args(Defects)


@dataclass(frozen=True, slots=True)
class Kerf:
    """The width of the cut, for rips and for crosscuts."""

    rip: int
    crosscut: int


@dataclass(frozen=True, slots=True)
class Cutting:
    """How the stock can be cut: the number of stages (2 or 3), the direction of the first, and the final trim.

    `first` is "along" (rip), "across" (crosscut) or "either", which is chosen for each stock. If `final_trim` is true,
    a piece can be cut down inside its strip after the last stage.
    """

    stages: int = 2
    first: First = "along"
    final_trim: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Limits for safety or convenience at the saw; None means no limit. See the module's docstring."""

    narrow_below: int | None = None
    parent_wood: int | None = None
    least_strip: int | None = None
    shortest_rip: int | None = None
    longest_rip: int | None = None
    surplus: Surplus | None = None
    least_remainder: int | None = None
    defects: Defects | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """One kind of board, sheet or roll. A `count` of None means unlimited; a `width` of None means one-dimensional."""

    id: str
    length: int
    cost: int
    width: int | None = None
    count: int | None = None
    end_trim: int = 0
    edge_trim: int = 0
    unusable: tuple[tuple[int, int], ...] = ()
    rip: bool = True


@dataclass(frozen=True, slots=True)
class Blank:
    """A rectangle that must be cut from the stock `count` times."""

    id: str
    length: int
    count: int
    width: int | None = None
    rotate: bool = False


@dataclass(frozen=True, slots=True)
class Job:
    """Everything that determines a cutting plan."""

    unit: str
    money: str
    kerf: Kerf
    _: KW_ONLY
    stock: tuple[Stock, ...]
    blanks: tuple[Blank, ...]
    cutting: Cutting = field(default_factory=Cutting)
    rules: Rules = field(default_factory=Rules)

    @property
    def is_flat(self) -> bool:
        """Whether pieces have a width, not only a length."""
        return self.stock[0].width is not None


def job_to_json(job: Job) -> dict[str, Any]:
    """The job as plain values in the order of the file, without defaults that the file may omit."""
    flat = job.is_flat
    out: dict[str, Any] = {
        "format": JOB_FORMAT,
        "unit": job.unit,
        "money": job.money,
        "kerf": {"rip": job.kerf.rip, "crosscut": job.kerf.crosscut},
        "cutting": {"stages": job.cutting.stages, "first": job.cutting.first, "final_trim": job.cutting.final_trim},
    }
    rules = {key: getattr(job.rules, key) for key in RULE_KEYS if getattr(job.rules, key) is not None}
    if rules:
        out["rules"] = rules
    out["stock"] = [_stock_to_json(stock, flat) for stock in job.stock]
    out["blanks"] = [_blank_to_json(blank, flat) for blank in job.blanks]
    return out


def job_digest(job: Job) -> str:
    """The sha256 of the job's canonical JSON (sorted keys, no spaces), in hexadecimal."""
    text = json.dumps(job_to_json(job), sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def read_job(source: str | Mapping[str, Any]) -> Job:
    """The job in a JSON text, or in values already read from one.

    Raises InputError with every problem found, each with its path in the file.
    """
    reader = Reader()
    value = parse_json(source, "job")
    job = _read(reader, value)
    if reader.problems or job is None:
        raise InputError(*reader.problems)
    return job


_LENGTH_RULES = ("narrow_below", "parent_wood", "least_strip", "shortest_rip", "longest_rip", "least_remainder")
RULE_KEYS = (*_LENGTH_RULES, "defects", "surplus")
_STOCK_KEYS = ("width", "count", "end_trim", "edge_trim", "unusable", "rip")


def _read(reader: Reader, value: Any) -> Job | None:
    top = reader.table(value, "", ("format", "unit", "money", "kerf", "stock", "blanks"), ("cutting", "rules"))
    if not top:
        return None
    if top.get("format", JOB_FORMAT) != JOB_FORMAT:
        reader.problem("format", show(top["format"]), repr(JOB_FORMAT), "Give a file of this format.")
    unit, money = reader.word(top, "unit", ""), reader.word(top, "money", "")
    kerf_table = reader.table(top.get("kerf", {}), "kerf", ("rip", "crosscut") if "kerf" in top else (), ())
    kerf = Kerf(reader.integer(kerf_table, "rip", "kerf", 0), reader.integer(kerf_table, "crosscut", "kerf", 0))
    stock_rows, blank_rows = reader.rows(top, "stock"), reader.rows(top, "blanks")
    rows = [row for row in stock_rows + blank_rows if isinstance(row, Mapping)]
    flat = any("width" in row for row in rows)
    cutting = Cutting() if not flat and "cutting" not in top else _read_cutting(reader, top)
    stock = tuple(_read_stock(reader, row, f"stock[{i}]", flat) for i, row in enumerate(stock_rows))
    blanks = tuple(_read_blank(reader, row, f"blanks[{i}]", flat) for i, row in enumerate(blank_rows))
    for i, row in enumerate(stock if cutting.final_trim else ()):
        if not row.rip:
            do = "Remove one of the two."
            reader.problem(f"stock[{i}].rip", "false with cutting.final_trim", "stock that may be ripped", do)
    for name, ids in (("stock", [row.id for row in stock]), ("blanks", [row.id for row in blanks])):
        if isinstance(top.get(name), list | tuple) and not ids:
            reader.problem(name, "an empty list", "at least one row", "Add a row.")
        for i, own in enumerate(ids):
            if own in ids[:i] and own != "-":
                wanted = f"an id not yet in {name}[{ids.index(own)}]"
                reader.problem(f"{name}[{i}].id", f"{own!r} again", wanted, "Give each its own id.")
    return Job(
        unit, money, kerf, stock=stock, blanks=blanks, cutting=cutting, rules=_read_rules(reader, top.get("rules", {}))
    )


def _read_cutting(reader: Reader, top: Mapping[str, Any]) -> Cutting:
    if "cutting" not in top:
        do = 'Add "cutting": {"stages": 2, "first": "along", "final_trim": false}, or values that fit your saw.'
        reader.problem("cutting", "nothing", "a table", do)
        return Cutting()
    table = reader.table(top["cutting"], "cutting", ("stages", "first"), ("final_trim",))
    stages = table.get("stages", 2)
    if type(stages) is not int or stages not in (2, 3):
        reader.problem("cutting.stages", show(stages), "2 or 3", "Give the number of stages.")
        stages = 2
    first = reader.choice(table, "first", "cutting", FIRST)
    return Cutting(stages, first, reader.flag(table, "final_trim", "cutting"))


def _read_rules(reader: Reader, value: Any) -> Rules:
    table = reader.table(value, "rules", (), RULE_KEYS)
    numbers = {
        key: reader.integer(table, key, "rules", 1) if table.get(key) is not None else None for key in _LENGTH_RULES
    }
    surplus = reader.choice(table, "surplus", "rules", SURPLUS) if table.get("surplus") is not None else None
    defects = reader.choice(table, "defects", "rules", DEFECTS) if table.get("defects") is not None else None
    rules = Rules(**numbers, surplus=surplus, defects=defects)
    if (rules.narrow_below is None) != (rules.parent_wood is None):
        do = "Give both or neither."
        reader.problem("rules", "narrow_below or parent_wood without the other", "both together", do)
    if rules.shortest_rip is not None and rules.longest_rip is not None and rules.shortest_rip > rules.longest_rip:
        given = f"shortest_rip {rules.shortest_rip}, longest_rip {rules.longest_rip}"
        reader.problem("rules", given, "the shortest at most the longest", "Change one of them.")
    return rules


def _width(reader: Reader, table: Mapping[str, Any], where: str, flat: bool) -> int | None:
    if not flat:
        return None
    if "width" not in table:
        reader.problem(f"{where}.width", "nothing", "a width, as in the other rows", "Add it, or remove all widths.")
    return reader.integer(table, "width", where, 1)


def _read_stock(reader: Reader, value: Any, where: str, flat: bool) -> Stock:
    table = reader.table(value, where, ("id", "length", "cost"), _STOCK_KEYS)
    known = len(reader.problems)
    width, length = _width(reader, table, where, flat), reader.integer(table, "length", where, 1)
    count = reader.integer(table, "count", where, 1) if table.get("count") is not None else None
    end, edge = reader.integer(table, "end_trim", where, 0, 0), reader.integer(table, "edge_trim", where, 0, 0)
    sound = len(reader.problems) == known
    if sound and 2 * end >= length:
        reader.problem(f"{where}.end_trim", str(end), f"less than half of the length {length}", "Trim less.")
    if sound and width is not None and 2 * edge >= width:
        reader.problem(f"{where}.edge_trim", str(edge), f"less than half of the width {width}", "Trim less.")
    if edge and not flat:
        reader.problem(f"{where}.edge_trim", str(edge), "no value, because the job has no widths", "Remove it.")
    spans = []
    for i, span in enumerate(reader.rows(table, "unusable", where)):
        path = f"{where}.unusable[{i}]"
        if not isinstance(span, list | tuple) or len(span) != 2:
            reader.problem(path, show(span), "two numbers [from, to]", "Give where it starts and where it ends.")
            continue
        x0 = reader.whole(span[0], f"{path}[0]", 0)
        x1 = reader.whole(span[1], f"{path}[1]", 1)
        if sound and not x0 < x1 <= length:
            reader.problem(path, f"[{x0}, {x1}]", f"from < to <= length {length}", "Measure along the raw stock.")
            continue
        spans.append((x0, x1))
    cost = reader.integer(table, "cost", where, 0)
    rip = reader.flag(table, "rip", where) if "rip" in table else True
    if not rip and not flat:
        reader.problem(f"{where}.rip", "false", "no value, because the job has no widths", "Remove it.")
    return Stock(
        id=reader.word(table, "id", where),
        length=length,
        cost=cost,
        width=width,
        count=count,
        end_trim=end,
        edge_trim=edge,
        unusable=_merged(spans),
        rip=rip,
    )


def _merged(spans: list[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    out: list[tuple[int, int]] = []
    for x0, x1 in sorted(spans):
        if out and x0 <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], x1))
        else:
            out.append((x0, x1))
    return tuple(out)


def _read_blank(reader: Reader, value: Any, where: str, flat: bool) -> Blank:
    table = reader.table(value, where, ("id", "length", "count"), ("width", "rotate"))
    width, length = _width(reader, table, where, flat), reader.integer(table, "length", where, 1)
    rotate = reader.flag(table, "rotate", where)
    if rotate and not flat:
        reader.problem(f"{where}.rotate", "true", "false, because the job has no widths", "Remove it.")
    return Blank(reader.word(table, "id", where), length, reader.integer(table, "count", where, 1), width, rotate)


def _stock_to_json(stock: Stock, flat: bool) -> dict[str, Any]:
    out: dict[str, Any] = {"id": stock.id}
    if flat:
        out["width"] = stock.width
    out |= {"length": stock.length, "cost": stock.cost}
    if stock.count is not None:
        out["count"] = stock.count
    if stock.end_trim:
        out["end_trim"] = stock.end_trim
    if stock.edge_trim:
        out["edge_trim"] = stock.edge_trim
    if stock.unusable:
        out["unusable"] = [list(span) for span in stock.unusable]
    if not stock.rip:
        out["rip"] = False
    return out


def _blank_to_json(blank: Blank, flat: bool) -> dict[str, Any]:
    out: dict[str, Any] = {"id": blank.id}
    if flat:
        out["width"] = blank.width
    out |= {"length": blank.length, "count": blank.count}
    if flat:
        out["rotate"] = blank.rotate
    return out
