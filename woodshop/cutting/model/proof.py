"""A proof tree as frozen values, and its file: gzip of JSON. The guide's topic `proofs` describes what it proves."""

import gzip
import hashlib
import json
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from woodshop.cutting.model.reading import Reader, parse_json
from woodshop.errors import InputError, Problem, check_format

PROOF_FORMAT = "woodshop-proof/1"
ROWS_FORMAT = "woodshop-proof/2"
"""The format of a proof with rounded rows; without them a proof is written in the first."""
WHOLE_FORMAT = "woodshop-proof/3"
"""The format of a proof with drops that count whole boards; it may have rounded rows too."""
MOST_BYTES = 64_000_000  # of the text
_LARGEST = 10**30

Name = tuple[str | int, ...]
"""("stock", id), ("strip", length, width), ("section", length, width) or ("part", id)."""


@dataclass(frozen=True, slots=True)
class TotalTerm:
    """Part of a total: `weight` for each time that region `of` is cut, or is cut `into` just these."""

    weight: int
    of: Name
    into: tuple[tuple[Name, int], ...] | None = None


@dataclass(frozen=True, slots=True)
class Evidence:
    """Multipliers for the cost limit (`cost`), for each part's count (`prices`) and for limits of totals (`totals`, as
    pairs of a total's number and its multiplier: positive for its least value, negative for its greatest), and for
    rounded rows (`rows`)."""

    cost: int
    prices: tuple[int, ...]
    totals: tuple[tuple[int, int], ...]
    rows: tuple[tuple[int, int], ...] = ()


@dataclass(frozen=True, slots=True)
class RoundedRow:
    """A condition that follows from others, because all counts are whole: their sum with these multipliers, rounded.

    `divisor`: the sum is rounded in units of it. `prices`: a multiplier for each part's count. `strips`, `totals` and
    `rows`: pairs of a number and its multiplier.
    """

    divisor: int
    prices: tuple[int, ...]
    strips: tuple[tuple[int, int], ...]
    totals: tuple[tuple[int, int], ...]
    rows: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Proof:
    """A tree that proves that no plan for a job costs less than `cost`.

    `parts`: the first blank of each size, in the order of the prices. `drops`: the numbers of the evidence that drops
    patterns. `tree`: a branch is a total and a limit, followed by the tree below the limit and the tree above it; a
    leaf is -1 less the number of its evidence; a number from the number of totals on is a rounded row, followed by the
    tree in which it counts. `strips`: the strips and sections that the rounded rows number. `is_whole`: whether drops
    without a multiplier for the cost count whole boards.
    """

    job_digest: str
    cost: int
    parts: tuple[str, ...]
    totals: tuple[tuple[TotalTerm, ...], ...]
    evidence: tuple[Evidence, ...]
    drops: tuple[int, ...]
    tree: tuple[int, ...]
    strips: tuple[Name, ...] = ()
    rows: tuple[RoundedRow, ...] = ()
    is_whole: bool = False


def proof_text(proof: Proof) -> str:
    """The proof as one line of JSON, the same for equal proofs."""
    has_rows = bool(proof.rows) or proof.is_whole
    value: dict[str, Any] = {
        "format": WHOLE_FORMAT if proof.is_whole else ROWS_FORMAT if has_rows else PROOF_FORMAT,
        "job_digest": proof.job_digest,
        "cost": proof.cost,
        "parts": list(proof.parts),
        "totals": [[_term_json(term) for term in total] for total in proof.totals],
        "evidence": [[own.cost, list(own.prices), _flat(own.totals)] for own in proof.evidence],
        "drops": list(proof.drops),
        "tree": list(proof.tree),
    }
    if has_rows:
        for own, line in zip(proof.evidence, value["evidence"], strict=True):
            line.append(_flat(own.rows))
        value["strips"] = [list(name) for name in proof.strips]
        value["rows"] = [
            [row.divisor, list(row.prices), _flat(row.strips), _flat(row.totals), _flat(row.rows)] for row in proof.rows
        ]
    return json.dumps(value, separators=(",", ":"), ensure_ascii=True) + "\n"


def _flat(pairs: tuple[tuple[int, int], ...]) -> list[int]:
    return [number for pair in pairs for number in pair]


def _term_json(term: TotalTerm) -> dict[str, Any]:
    out: dict[str, Any] = {"weight": term.weight, "of": list(term.of)}
    if term.into is not None:
        out["into"] = [[list(name), count] for name, count in term.into]
    return out


def proof_digest(text: str) -> str:
    """The sha256 of the proof's text, in hexadecimal."""
    return hashlib.sha256(text.encode("utf-8")).hexdigest()


def packed(text: str) -> bytes:
    """The text compressed by gzip, without a time, so that equal texts give equal bytes."""
    return gzip.compress(text.encode("utf-8"), 9, mtime=0)


def unpacked(data: bytes) -> str:
    """The text of a proof's file. Raises InputError if it is no such file, or larger than MOST_BYTES."""
    given, do = "a file that is not gzip of a text", "Plan again with --prove."
    try:
        stream = zlib.decompressobj(31)
        text = stream.decompress(data, MOST_BYTES)
        if stream.unconsumed_tail:
            given = f"more than {MOST_BYTES:,} bytes of text"
        elif stream.eof and not stream.unused_data:
            return text.decode("utf-8")
    except (zlib.error, ValueError):
        pass
    raise InputError(Problem("proof", given, "a proof file as written by this program", do))


def is_proof(data: bytes) -> bool:
    """Whether the bytes of a file are a proof in this format, sound or not."""
    try:
        return unpacked(data).startswith(
            tuple(f'{{"format":"{name}"' for name in (PROOF_FORMAT, ROWS_FORMAT, WHOLE_FORMAT))
        )
    except InputError:
        return False


def read_proof(source: str | Mapping[str, Any]) -> Proof:
    """The proof in a JSON text, or in values already read from one. Checks only the form.

    Raises InputError with every problem.
    """
    reader = Reader()
    keys = ("format", "job_digest", "cost", "parts", "totals", "evidence", "drops", "tree")
    value = parse_json(source, "proof")
    name = value.get("format") if isinstance(value, Mapping) else None
    has_rows = name in (ROWS_FORMAT, WHOLE_FORMAT)
    more = ("strips", "rows")
    top = reader.table(value, "", keys + (more if has_rows else ()), () if name == PROOF_FORMAT else more)
    if reader.problems:
        raise InputError(*reader.problems)
    check_format("proof", top["format"], str(name) if has_rows else PROOF_FORMAT, "Give a file of this format.")
    totals = [
        tuple(_term(reader, row, f"totals[{n}][{k}]") for k, row in enumerate(_list(reader, total, f"totals[{n}]")))
        for n, total in enumerate(reader.rows(top, "totals"))
    ]
    evidence = [
        _evidence(reader, row, f"evidence[{n}]", has_rows=has_rows)
        for n, row in enumerate(reader.rows(top, "evidence"))
    ]
    strips = [_name(reader, name, "strips") for name in (reader.rows(top, "strips") if has_rows else [])]
    rows = [_row(reader, row, f"rows[{n}]") for n, row in enumerate(reader.rows(top, "rows") if has_rows else [])]
    tree = reader.rows(top, "tree")
    if any(type(number) is not int for number in tree):
        reader.problem("tree", "something that is not a whole number", "whole numbers", "Plan again with --prove.")
    proof = Proof(
        reader.word(top, "job_digest", ""),
        reader.whole(top["cost"], "cost", 1, 10**18),
        tuple(str(name) for name in reader.rows(top, "parts")),
        tuple(totals),
        tuple(evidence),
        tuple(reader.whole(n, "drops", 0, len(evidence) - 1) for n in reader.rows(top, "drops")),
        tuple(tree),
        tuple(strips),
        tuple(rows),
        name == WHOLE_FORMAT,
    )
    if reader.problems:
        raise InputError(*reader.problems[:20])
    return proof


def _list(reader: Reader, value: Any, where: str) -> list[Any]:
    return reader.rows({"it": value}, "it", where)


def _term(reader: Reader, value: Any, where: str) -> TotalTerm:
    table = reader.table(value, where, ("weight", "of"), ("into",))
    into = None
    if "into" in table:
        pairs = [_list(reader, pair, f"{where}.into") for pair in reader.rows(table, "into", where)]
        if any(len(pair) != 2 for pair in pairs):
            reader.problem(f"{where}.into", "something else", "pairs of a name and a count", "Plan again with --prove.")
            pairs = []
        into = tuple((_name(reader, name, where), reader.whole(count, f"{where}.into", 1)) for name, count in pairs)
    return TotalTerm(
        reader.whole(table.get("weight"), f"{where}.weight", 1), _name(reader, table.get("of"), where), into
    )


def _name(reader: Reader, value: Any, where: str) -> Name:
    words = _list(reader, value, where)
    kinds = {"stock": (str,), "part": (str,), "strip": (int, int), "section": (int, int)}
    wanted = kinds.get(words[0]) if words and isinstance(words[0], str) else None
    if wanted is None or tuple(type(word) for word in words[1:]) != wanted:
        reader.problem(where, repr(words)[:60], "the name of stock, a strip, a section or a part", "Plan again.")
        return ("stock", "")
    return tuple(words)


def _evidence(reader: Reader, value: Any, where: str, *, has_rows: bool) -> Evidence:
    row = _list(reader, value, where)
    if not _has_form(row, 1 + has_rows):
        wanted = "a number, the prices, and pairs for totals" + (" and for rows" if has_rows else "")
        reader.problem(where, "something else", wanted, "Plan again.")
        return Evidence(0, (), ())
    cost = reader.whole(row[0], where, 0, _LARGEST)
    prices = tuple(reader.whole(price, where, 0, _LARGEST) for price in row[1])
    totals, *rows = (_pairs(reader, flat, where) for flat in row[2:])
    return Evidence(cost, prices, totals, rows[0] if rows else ())


def _row(reader: Reader, value: Any, where: str) -> RoundedRow:
    row = _list(reader, value, where)
    if not _has_form(row, 3):
        wanted = "a number, the multipliers of the parts, and pairs for strips, totals and rows"
        reader.problem(where, "something else", wanted, "Plan again.")
        return RoundedRow(1, (), (), (), ())
    divisor = reader.whole(row[0], where, 1, _LARGEST)
    prices = tuple(reader.whole(price, where, -_LARGEST, _LARGEST) for price in row[1])
    strips, totals, rows = (_pairs(reader, flat, where) for flat in row[2:])
    return RoundedRow(divisor, prices, strips, totals, rows)


def _has_form(row: list[Any], flats: int) -> bool:
    """Whether a row is a number, a list, and then as many lists of pairs."""
    if len(row) != 2 + flats or not all(isinstance(part, list) for part in row[1:]):
        return False
    return not any(len(flat) % 2 for flat in row[2:])


def _pairs(reader: Reader, flat: list[Any], where: str) -> tuple[tuple[int, int], ...]:
    pairs = [reader.whole(number, where, -_LARGEST, _LARGEST) for number in flat]
    return tuple(zip(pairs[::2], pairs[1::2], strict=True))
