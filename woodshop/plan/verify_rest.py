"""Checks that nothing is lost or gained in the rest of a plan, from two plan files, with independent code.

Every piece that was cut, found or made must be on hand, spoiled, lost, or counted as an offcut. Every board must be
cut, bad or on hand. Every layout that keeps its number must keep its cuts.
"""

from collections import Counter
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

from woodshop.findings import Finding, Severity

Found = Iterator[tuple[str, str, str]]
"""A problem: its place, the value found, and the value wanted."""

_BOUGHT = "bought "
_MORE, _LESS = ("found", "made extra"), ("spoiled", "lost")


def rest_findings(raw: dict[str, Any], earlier: dict[str, Any] | None = None, digest: str = "") -> tuple[Finding, ...]:
    """Every conflict between the rest of a plan and its earlier plan or, without an earlier plan, within the rest.

    A plan that is not the rest of another has no conflicts, unless an earlier plan is given. `digest` is the
    recalculated digest of the earlier file.
    """
    found: list[tuple[str, str, str]] = []
    if "rest_of" not in raw:
        if earlier is not None:
            found.append(("rest_of", "nothing", "the account of a plan made with --rest"))
        earlier = None
    elif earlier is not None and raw["rest_of"].get("digest") != digest:
        given = str(raw["rest_of"].get("digest"))[:16]
        found.append(("rest_of, digest", given, f"{digest[:16]}, of the earlier plan given"))
    parts: list[Callable[[], Found]] = [partial(_own, raw)] if "rest_of" in raw else []
    if earlier is not None:
        parts += [partial(part, raw, earlier) for part in (_same_plan, _layouts, _pieces, _boards, _numbers)]
    for part in parts:
        try:
            found += part()
        except (KeyError, TypeError, ValueError, AttributeError, IndexError, StopIteration) as why:
            given = f"tables that are not valid ({type(why).__name__})"
            found.append(("rest_of", given, "an account that can be counted"))
    do = "Plan the rest again."
    source = "the earlier plan and the account of what was done"
    return tuple(Finding("rest-not-conserved", Severity.ERROR, *each, source, do) for each in dict.fromkeys(found))


def _count(value: Any) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError("a whole number")
    return value


def _own(raw: dict[str, Any]) -> Found:
    """Checks that the batch counts the kept pieces as already cut, and that every layout has its own number."""
    kept: Counter[str] = Counter()
    for row in raw["rest_of"]["kept"]:
        kept[row["address"]] += _count(row["count"])
    cut = Counter({part: _count(count) for part, count in raw["cut_already"].items()})
    for part in dict.fromkeys((*kept, *cut)):
        if kept[part] != cut[part]:
            yield f"rest_of, {part}", f"{kept[part]} kept", f"{cut[part]}, as the batch counts on"
    numbers = [number for own in raw["layout_numbers"].values() for number in own]
    if len(set(numbers)) != len(numbers) or any(not _count(number) for number in numbers):
        yield "layout_numbers", "a number twice, or 0", "each layout with a number of its own"
    for material, plan in raw["plans"].items():
        if len(raw["layout_numbers"][material]) != len(plan["layouts"]):
            yield f"layout_numbers, {material}", "another count", f"{len(plan['layouts'])} numbers"


def _same_plan(raw: dict[str, Any], earlier: dict[str, Any]) -> Found:
    if raw["rest_of"]["digest"] != earlier.get("digest"):
        yield "the earlier plan", "a changed file, or another", "the one that the rest was planned from"
    if raw["batch"] != earlier["batch"]:
        yield "batch", str(raw["batch"])[:60], str(earlier["batch"])[:60]


def _by_number(raw: dict[str, Any]) -> dict[int, tuple[str, dict[str, Any]]]:
    """Every layout with its material, keyed by its printed number."""
    found: dict[int, tuple[str, dict[str, Any]]] = {}
    for material, plan in raw["plans"].items():
        own = raw["layout_numbers"][material] if "layout_numbers" in raw else None
        for n, layout in enumerate(plan["layouts"]):
            found[len(found) + 1 if own is None else own[n]] = (material, layout)
    return found


def _layouts(raw: dict[str, Any], earlier: dict[str, Any]) -> Found:
    known = _by_number(earlier)
    rows = {row["number"]: row for row in raw["rest_of"]["layouts"]}
    if set(rows) != set(known) or len(rows) != len(raw["rest_of"]["layouts"]):
        yield "rest_of, layouts", f"{len(rows)} layouts", f"each of the {len(known)} layouts of the earlier plan once"
        return
    for number, row in rows.items():
        material, layout = known[number]
        if (row["material"], row["times"]) != (material, layout["times"]) or _count(row["cut"]) > layout["times"]:
            given = f"{row['cut']} of {row['times']} cut, {row['material']}"
            yield f"rest_of, layout {number}", given, f"at most {layout['times']}, {material}"


def _size(length: int, width: int, turns: bool) -> tuple[int, int]:
    return (max(length, width), min(length, width)) if turns else (length, width)


def _sizes(raw: dict[str, Any]) -> dict[tuple[str, str], tuple[int, int]]:
    """The size of each part, keyed by material and address."""
    found = {
        (row["material"], row["address"]): (row["length"], row["width"])
        for row in raw.get("rest_of", {}).get("kept", ())
    }
    for material, plan in raw["plans"].items():
        for row in plan["job"]["blanks"]:
            size = _size(row["length"], row.get("width", 0), row.get("rotate", False))
            if found.setdefault((material, row["id"]), size) != size:
                raise ValueError("two sizes of one part")
    return found


def _pieces(raw: dict[str, Any], earlier: dict[str, Any]) -> Found:
    """Checks for each material and size: pieces kept before + cut + found + made - spoiled - lost = kept + offcuts."""
    sizes, known = _sizes(earlier), _by_number(earlier)
    there: Counter[tuple[str, tuple[int, int]]] = Counter()
    by_part: Counter[tuple[str, str]] = Counter()
    for row in earlier.get("rest_of", {}).get("kept", ()):
        by_part[row["material"], row["address"]] += row["count"]
    for row in raw["rest_of"]["layouts"]:
        material, layout = known[row["number"]]
        for piece in layout["pieces"]:
            by_part[material, piece["id"]] += row["cut"]
    for row in raw["rest_of"]["changes"]:
        if row["change"] not in (*_MORE, *_LESS) or (row["material"], row["address"]) not in sizes:
            yield f"rest_of, {row['address']}", str(row["change"])[:40], "a change of a part of the earlier plan"
            continue
        by_part[row["material"], row["address"]] += _count(row["count"]) * (1 if row["change"] in _MORE else -1)
    for (material, part), count in by_part.items():
        if count < 0:
            yield f"rest_of, {part}", f"{-count} more spoiled or lost than there were", "none"
        there[material, sizes[material, part]] += count
    now: Counter[tuple[str, tuple[int, int]]] = Counter()
    for row in (*raw["rest_of"]["kept"], *raw["rest_of"]["rack"]):
        now[row["material"], (row["length"], row["width"])] += _count(row["count"])
    _sizes(raw)
    for key in dict.fromkeys((*there, *now)):
        if there[key] != now[key]:
            given = f"{now[key]} kept or counted as offcuts"
            yield f"rest_of, pieces {key[0]}, {key[1][0]} x {key[1][1]}", given, f"{there[key]}, which are there"


def _boards(raw: dict[str, Any], earlier: dict[str, Any]) -> Found:
    """Checks that boards held = boards cut + bad + left, and that the rest uses no more than the boards left."""
    known, of = _by_number(earlier), raw["rest_of"]
    held: Counter[tuple[str, str]] = Counter()
    for row in earlier["purchases"]:
        if "stock" in row:
            held[row["group"], row["stock"]] += row["count"]
    for material, plan in earlier["plans"].items():
        for row in plan["job"]["stock"]:
            if row["id"] in earlier["at_hand"][material]:
                held[material, row["id"]] = row["count"]
    cut: Counter[tuple[str, str]] = Counter()
    for row in of["layouts"]:
        material, layout = known[row["number"]]
        cut[material, layout["stock"]] += row["cut"]
    left: Counter[tuple[str, str]] = Counter()
    bad: Counter[tuple[str, str]] = Counter()
    said: set[tuple[str, str]] = set()
    for row in of["boards"]:
        key = (row["material"], row["stock"])
        place = f"rest_of, boards {row['stock']}"
        if key in said:
            yield place, "twice", "each stock once"
        said.add(key)
        rest = _count(row["held"]) - _count(row["cut"]) - _count(row["bad"])
        if rest != _count(row["left"]) or row["cut"] != cut[key]:
            yield place, f"{row['left']} left", f"{row['held']} - {cut[key]} cut - {row['bad']} bad"
        if of["bought"] == "all" and row["held"] != held[key]:
            yield place, f"{row['held']} there", f"{held[key]}, as the earlier plan has it"
        at_hand = row["stock"] in earlier["at_hand"].get(row["material"], ())
        name = row["stock"] if at_hand else f"{_BOUGHT}{row['stock']}"
        left[row["material"], name] += row["left"]
        bad[row["material"], name] += row["bad"]
    for key, count in cut.items():
        if count and key not in said:
            yield f"rest_of, boards {key[1]}", "nothing", f"its count, with {count} cut"
    for material, plan in raw["plans"].items():
        altered: Counter[tuple[str, str]] = Counter()
        for row in plan["job"]["stock"]:
            if row["id"] not in raw["at_hand"][material]:
                continue
            name, mark, _ = row["id"].rpartition(", fault ")
            if mark and (material, row["id"]) not in left:
                altered[material, name] += row["count"]
                continue
            is_counted = row["id"].startswith(_BOUGHT) or (material, row["id"]) in left
            if is_counted and row["count"] != left[material, row["id"]]:
                given, wanted = f"{row['count']} on hand", f"{left[material, row['id']]}, which are left"
                yield f"plans, {material}, stock {row['id']}", given, wanted
        for key, count in altered.items():
            if count > bad[key]:
                yield f"plans, {material}, stock {key[1]}", f"{count} with faults", f"at most {bad[key]}"


def _cuts(layout: dict[str, Any]) -> tuple[object, ...]:
    pieces = sorted(
        (p["x"], p.get("y", 0), p["length"], p.get("width", 0), p["id"], p["spare"]) for p in layout["pieces"]
    )
    return (layout["stock"].removeprefix(_BOUGHT), layout.get("first"), tuple(pieces))


def _numbers(raw: dict[str, Any], earlier: dict[str, Any]) -> Found:
    """Checks that a layout with an earlier number has the same cuts, and no more boards than remained to be cut."""
    known, cut = _by_number(earlier), {row["number"]: row["cut"] for row in raw["rest_of"]["layouts"]}
    for number, (material, layout) in _by_number(raw).items():
        if number not in known:
            continue
        place, (of, old) = f"layout {number}", known[number]
        if of != material or _cuts(old) != _cuts(layout):
            yield place, "other cuts than in the earlier plan", "the same cuts, or a new number"
        elif layout["times"] > old["times"] - cut[number]:
            yield place, f"{layout['times']} boards", f"at most {old['times'] - cut[number]}, which are not cut"
