"""A second bookkeeper: what the events of a small shop come to, as postings to accounts, without code of the book.

Every event moves counts between accounts. An account that would fall below nothing, or an order that would be filled
past its count, means that the event cannot be.
"""

from collections import Counter
from dataclasses import dataclass, field
from typing import Any

Entry = tuple[str, dict[str, Any]]  # kind, and fields with counts and cents as whole numbers


class Impossible(Exception):
    """These events cannot have happened in this order."""


@dataclass
class Accounts:
    """Counts by account, orders by number (with their lines), and money paid by order."""

    counts: Counter[tuple[str, ...]] = field(default_factory=Counter)
    lines: dict[tuple[str, str, str, str], dict[str, Any]] = field(default_factory=dict)
    closed: set[str] = field(default_factory=set)
    paid: Counter[tuple[str, str]] = field(default_factory=Counter)

    def move(self, account: tuple[str, ...], count: int) -> None:
        self.counts[account] += count
        if self.counts[account] < 0:
            raise Impossible(account)

    def open_line(self, e: dict[str, Any]) -> dict[str, Any]:
        line = self.lines.get(line_of(e))
        if line is None or line["cancelled"] or e["order"] in self.closed:
            raise Impossible(e)
        return line


def line_of(e: dict[str, Any]) -> tuple[str, str, str, str]:
    return e["order"], e["item"], e["box"], e.get("form", "")


def units(e: dict[str, Any], form: str | None = None, state: str = "good", hive: str = "") -> tuple[str, ...]:
    place = "" if hive else e.get("place", "shed")
    return ("units", e["item"], e["box"], e.get("form", "") if form is None else form, state, place, hive)


def accounts(entries: list[Entry]) -> Accounts:
    """What the events come to. Raises Impossible."""
    books = Accounts()
    for kind, e in entries:
        post(books, kind, e)
    return books


def post(books: Accounts, kind: str, e: dict[str, Any]) -> None:
    """Posts one event. Raises Impossible."""
    n = e.get("count", 0)
    moves: list[tuple[tuple[str, ...], int]] = []
    if kind == "stock bought":
        moves = [(("stock", e["stock"]), n), (("bought", e["stock"]), n)]
    elif kind == "stock used":
        moves = [(("stock", e["stock"]), -n), (("used", e["stock"]), n)]
    elif kind == "layout cut":
        times = e["times"]
        moves = [(("cut", str(e["layout"])), times)]
        if "stock" in e:
            moves += [(("stock", e["stock"]), -times), (("used", e["stock"]), times)]
        if "offcut" in e:
            moves.append((("offcut", e["offcut"]), -1))
        if "board" in e:
            moves.append((("board", e["board"]), -1))
    elif kind == "board unusable":
        moves = [(("stock", e["stock"]), -n), (("unusable", e["stock"]), n)]
    elif kind == "board shorter":
        if not books.counts["board", e["board"]]:
            moves = [(("stock", e["stock"]), -1), (("marked", e["stock"]), 1), (("board", e["board"]), 1)]
    elif kind == "offcut put away":
        if books.counts["offcut", e["offcut"]]:
            raise Impossible(e)
        moves = [(("offcut", e["offcut"]), 1)]
    elif kind == "offcut used":
        moves = [(("offcut", e["offcut"]), -1)]
    elif kind.startswith("pieces "):
        moves = [((kind.removeprefix("pieces "), e["part"]), n)]
    elif kind == "units finished":
        moves = [(units(e), n), (("finished", e["item"], e["box"]), n)]
    elif kind == "units packed":
        moves = [(units(e), -n), (units(e, form="packed"), n)]
    elif kind == "units sold":
        moves = [(units(e), -n), (("sold", e["item"], e["box"]), n)]
        if "order" in e:
            line = books.open_line(e)
            if line["sold"] + n > line["count"]:
                raise Impossible(e)
            line["sold"] += n
            line["charged"] += n * line["price"]
    elif kind == "units fitted":
        moves = [(units(e), -n), (units(e, hive=e["hive"]), n)]
    elif kind == "units taken off":
        moves = [(units(e, hive=e["hive"]), -n), (units(e), n)]
    elif kind == "units need repair":
        moves = [(units(e), -n), (units(e, state="needs repair"), n)]
    elif kind == "units scrapped":
        moves = [(units(e), -n), (("scrapped", e["item"], e["box"]), n)]
    elif kind == "units counted":
        more = e["counted"] - books.counts[units(e)]
        books.counts["units found", e["item"], e["box"]] += more
        books.counts[units(e)] += more
    elif kind == "stock counted":
        more = e["counted"] - books.counts["stock", e["stock"]]
        books.counts["stock found", e["stock"]] += more
        books.counts["stock", e["stock"]] += more
    elif kind.startswith("order "):
        order(books, kind, e)
    elif kind in ("deposit paid", "balance paid", "refund paid"):
        money(books, kind, e)
    else:
        raise ValueError(kind)
    for account, count in moves:
        books.move(account, count)


def order(books: Accounts, kind: str, e: dict[str, Any]) -> None:
    if kind == "order accepted":
        old = books.lines.get(line_of(e))
        if e["order"] in books.closed or (old and not old["cancelled"]) or (old and e["count"] < old["sold"]):
            raise Impossible(e)
        kept = {"sold": 0, "charged": 0} if old is None else {key: old[key] for key in ("sold", "charged")}
        books.lines[line_of(e)] = {"count": e["count"], "price": e["price"], "cancelled": False} | kept
    elif kind == "order changed":
        line = books.open_line(e)
        if e["count"] < line["sold"]:
            raise Impossible(e)
        line["count"] = e["count"]
    elif "item" in e:
        books.open_line(e)["cancelled"] = True
    else:
        if e["order"] in books.closed or not known(books, e["order"]):
            raise Impossible(e)
        books.closed.add(e["order"])
        for key, line in books.lines.items():
            if key[0] == e["order"]:
                line["cancelled"] = True


def known(books: Accounts, name: str) -> bool:
    return any(key[0] == name for key in books.lines)


def money(books: Accounts, kind: str, e: dict[str, Any]) -> None:
    name = e["order"]
    is_refund = kind == "refund paid"
    if not known(books, name) or (name in books.closed and not is_refund):
        raise Impossible(e)
    if is_refund:
        paid = sum(count for (whose, what), count in books.paid.items() if whose == name and what != "refund")
        if paid - books.paid[name, "refund"] < e["amount"]:
            raise Impossible(e)
    books.paid[name, kind.split()[0]] += e["amount"]
