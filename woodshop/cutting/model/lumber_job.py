"""A job in several thicknesses: boards that may be resawn into thinner ones, and boards divided where they are bought.

The file is a job as in `job.py`, with more keys:

* **thickness** of each stock and each blank: a word. A blank is cut only from boards of its own thickness.
* **resaw** of a stock: the ways to resaw one of its boards, or one part of it, into `boards` equal boards of another
  `thickness`. Each way has a `cost` for each board that is resawn. A board or part below `shortest` is not resawn.
  Each of the thinner boards has the size, trims and unusable stretches of the board that it comes from.
* **lumberyard_cuts** of a stock: its boards may be cut across into parts where they are bought.

  - `longest`: a board or a part that is longer is not taken home. What is not used stays there, however long it is.
  - `shortest_cut`: no cut leaves a part that is shorter, used or not.
  - `free_cuts`, `cost`: the first `free_cuts` cuts of each board cost nothing, and each further cut costs `cost`.
  - `kerf` is lost at each cut (by default the kerf of a crosscut), and `rough` at each end of a part that such a cut
    made, before any other cut at home. At an end of the bought board the stock's own end trim is lost instead. What
    remains is the length of the part at home, which has no more trims there.

A **home board** is a board as it lies on the saw at home: a whole board, a part of one, or one of the boards resawn
from these. Its cuts are those of a job of one thickness.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from woodshop.cutting.model.job import JOB_FORMAT, Job, Stock, job_to_json, read_job
from woodshop.cutting.model.reading import Reader, parse_json
from woodshop.errors import InputError, check_format

LUMBER_FORMAT = "woodshop-job/2"
BETWEEN = " / "
"""Between the words of a home board's name, so never in the id of a stock."""


@dataclass(frozen=True, slots=True)
class Resaw:
    """A way to resaw one board into several equal ones, and its cost. Boards below `shortest` are not resawn."""

    thickness: str
    boards: int
    cost: int = 0
    shortest: int = 0


@dataclass(frozen=True, slots=True)
class LumberyardCuts:
    """What the lumberyard cuts, and for how much; see the module's docstring. A `longest` of None means no limit."""

    cost: int
    kerf: int
    longest: int | None = None
    shortest_cut: int = 1
    free_cuts: int = 0
    rough: int = 0


@dataclass(frozen=True, slots=True)
class Lumber:
    """One kind of board: the stock as in a job of one thickness, its thickness, and what may be done before sawing."""

    stock: Stock
    thickness: str
    resaw: tuple[Resaw, ...] = ()
    cuts: LumberyardCuts | None = None


@dataclass(frozen=True, slots=True)
class LumberJob:
    """The job as if all were of one thickness (`base`), its boards, and the thickness of each blank, in order."""

    base: Job
    lumber: tuple[Lumber, ...]
    thicknesses: tuple[str, ...]

    def of_thickness(self, thickness: str, stock: tuple[Stock, ...]) -> Job:
        """The blanks of one thickness, as a job with this stock."""
        pairs = zip(self.base.blanks, self.thicknesses, strict=True)
        return replace(self.base, stock=stock, blanks=tuple(blank for blank, own in pairs if own == thickness))


@dataclass(frozen=True, slots=True)
class HomeBoard:
    """A kind of board at home, as stock without a price or a limit."""

    thickness: str
    stock: Stock


def home_board(lumber: Lumber, resaw: Resaw | None, length: int | None) -> HomeBoard:
    """A board of this lumber at home: whole, or a part that is `length` long after both ends were squared."""
    stock, thickness = lumber.stock, lumber.thickness if resaw is None else resaw.thickness
    words = [stock.id]
    if length is not None:
        words.append(str(length))
        stock = replace(stock, length=length, end_trim=0)
    if resaw is not None:
        words.append(resaw.thickness)
    return HomeBoard(thickness, replace(stock, id=BETWEEN.join(words), cost=0, count=None))


def lumber_job_to_json(job: LumberJob) -> dict[str, Any]:
    """The job as plain values in the order of the file, without defaults that the file may omit."""
    out = job_to_json(job.base) | {"format": LUMBER_FORMAT}
    for row, lumber in zip(out["stock"], job.lumber, strict=True):
        row["thickness"] = lumber.thickness
        if lumber.resaw:
            row["resaw"] = [_resaw_to_json(way) for way in lumber.resaw]
        if lumber.cuts is not None:
            row["lumberyard_cuts"] = _cuts_to_json(lumber.cuts)
    for row, thickness in zip(out["blanks"], job.thicknesses, strict=True):
        row["thickness"] = thickness
    return out


def _resaw_to_json(way: Resaw) -> dict[str, Any]:
    out: dict[str, Any] = {"thickness": way.thickness, "boards": way.boards}
    out |= {"cost": way.cost} if way.cost else {}
    return out | ({"shortest": way.shortest} if way.shortest else {})


def _cuts_to_json(cuts: LumberyardCuts) -> dict[str, Any]:
    out = {"cost": cuts.cost, "kerf": cuts.kerf}
    out |= {} if cuts.longest is None else {"longest": cuts.longest}
    out |= {"shortest_cut": cuts.shortest_cut} if cuts.shortest_cut > 1 else {}
    return out | {key: value for key in ("free_cuts", "rough") if (value := getattr(cuts, key))}


def lumber_digest(job: LumberJob) -> str:
    """The sha256 of the job's canonical JSON (sorted keys, no spaces), in hexadecimal."""
    text = json.dumps(lumber_job_to_json(job), sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def is_lumber_job(source: str | Mapping[str, Any]) -> bool:
    """Whether a JSON text, or values read from one, says that it is a job in several thicknesses."""
    raw = parse_json(source, "job")
    return isinstance(raw, Mapping) and raw.get("format") == LUMBER_FORMAT


def read_lumber_job(source: str | Mapping[str, Any]) -> LumberJob:
    """The job in a JSON text, or in values already read from one.

    Raises InputError with every problem found, each with its path in the file.
    """
    reader = Reader()
    raw = parse_json(source, "job")
    top = dict(raw) if isinstance(raw, Mapping) else raw
    if isinstance(top, dict):
        check_format("format", top.get("format"), LUMBER_FORMAT, "Give a file of this format.")
        top["format"] = JOB_FORMAT
    own: dict[str, list[Mapping[str, Any]]] = {}
    for name, keys in (("stock", _STOCK_KEYS), ("blanks", ("thickness",))):
        rows = top.get(name) if isinstance(top, dict) else None
        if isinstance(top, dict) and isinstance(rows, list | tuple):
            own[name] = [row if isinstance(row, Mapping) else {} for row in rows]
            top[name] = [{k: row[k] for k in row if k not in keys} if isinstance(row, Mapping) else row for row in rows]
    try:
        base = read_job(top)
    except InputError as error:
        base = None
        reader.problems += error.problems
    lumber = []
    for n, row in enumerate(own.get("stock", [])):
        where = f"stock[{n}]"
        stock = base.stock[n] if base is not None else None
        kerf = base.kerf.crosscut if base is not None else 0
        lumber.append((_thickness(reader, row, where), _resaw(reader, row, where), _cuts(reader, row, where, kerf)))
        if stock is not None:
            _refuse(reader, stock, *lumber[-1], where)
    words = tuple(_thickness(reader, row, f"blanks[{n}]") for n, row in enumerate(own.get("blanks", [])))
    if reader.problems or base is None:
        raise InputError(*reader.problems)
    boards = tuple(Lumber(stock, *more) for stock, more in zip(base.stock, lumber, strict=True))
    return LumberJob(base, boards, words)


_STOCK_KEYS = ("thickness", "resaw", "lumberyard_cuts")


def _thickness(reader: Reader, row: Mapping[str, Any], where: str) -> str:
    if "thickness" not in row:
        reader.problem(f"{where}.thickness", "nothing", "a word for the thickness", 'Add it, such as "3/4".')
    word = reader.word(row, "thickness", where)
    if BETWEEN in word:
        reader.problem(f"{where}.thickness", repr(word), f"a word without {BETWEEN!r}", "Choose another word.")
    return word


def _resaw(reader: Reader, row: Mapping[str, Any], where: str) -> tuple[Resaw, ...]:
    ways = []
    for n, value in enumerate(reader.rows(row, "resaw", where)):
        at = f"{where}.resaw[{n}]"
        table = reader.table(value, at, ("thickness", "boards"), ("cost", "shortest"))
        word = _thickness(reader, table, at) if "thickness" in table else "-"
        numbers = (reader.integer(table, key, at, least, least) for key, least in (("cost", 0), ("shortest", 0)))
        ways.append(Resaw(word, reader.integer(table, "boards", at, 1), *numbers))
    return tuple(ways)


def _cuts(reader: Reader, row: Mapping[str, Any], where: str, kerf: int) -> LumberyardCuts | None:
    if row.get("lumberyard_cuts") is None:
        return None
    at = f"{where}.lumberyard_cuts"
    more = ("kerf", "longest", "shortest_cut", "free_cuts", "rough")
    table = reader.table(row["lumberyard_cuts"], at, ("cost",), more)
    return LumberyardCuts(
        reader.integer(table, "cost", at, 0, 0),
        reader.integer(table, "kerf", at, 0, kerf),
        reader.integer(table, "longest", at, 1) if table.get("longest") is not None else None,
        reader.integer(table, "shortest_cut", at, 1, 1),
        reader.integer(table, "free_cuts", at, 0, 0),
        reader.integer(table, "rough", at, 0, 0),
    )


def _refuse(
    reader: Reader, stock: Stock, thickness: str, ways: tuple[Resaw, ...], cuts: LumberyardCuts | None, where: str
) -> None:
    if BETWEEN in stock.id:
        reader.problem(f"{where}.id", repr(stock.id), f"an id without {BETWEEN!r}", "Choose another id.")
    seen = [thickness]
    for n, way in enumerate(ways):
        if way.thickness in seen:
            wanted = "another thickness than the board's own, each at most once"
            reader.problem(f"{where}.resaw[{n}].thickness", repr(way.thickness), wanted, "Remove this way.")
        seen.append(way.thickness)
    if cuts is not None and stock.unusable:
        wanted = "stock without unusable stretches, because the lumberyard does not cut around them"
        reader.problem(f"{where}.lumberyard_cuts", "stock with unusable stretches", wanted, "Remove one of the two.")
    if cuts is not None and cuts.longest is not None and cuts.longest < cuts.shortest_cut:
        given = f"longest {cuts.longest}, shortest_cut {cuts.shortest_cut}"
        reader.problem(f"{where}.lumberyard_cuts", given, "the shortest at most the longest", "Change one of them.")
