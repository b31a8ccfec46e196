"""Verifies that what is sawn at home comes of the bought lumber of a plan file. Shares no code with what made it."""

from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

Wrong = Iterator[tuple[str, str, str]]
"""A problem: its place, the value found, and the wanted value."""


def lumber_problems(raw: dict[str, Any]) -> Wrong:
    """Every place at which the bought lumber of a batch's plan file does not agree with its plans and its buy list.

    The lumber's own plan is checked elsewhere. Here its boards are divided anew, and each board that comes home must be
    in the plan of its material, with the same layouts; and the cuts that are paid for must be in the buy list.
    """
    if "lumber" not in raw:
        if any("cut" in row for row in raw["purchases"]):
            yield "purchases", "cuts", "none, because no board is cut where it is bought"
        return
    materials = [name for row in raw["lumber"] for name in row["materials"]]
    if len(set(materials)) != len(materials) or not set(materials) <= set(raw["plans"]):
        yield "lumber", ", ".join(materials)[:60], "materials of the plans, each once"
        return
    for row in raw["lumber"]:
        if row["group"] != " and ".join(row["materials"]):
            yield "lumber", row["group"], "the names of its materials"
        yield from _home(raw, row)
        yield from _cuts(raw, row)


def _home(raw: dict[str, Any], row: dict[str, Any]) -> Wrong:
    """The boards that come home, each in the plan of its material, and their layouts."""
    bought, job = row["plan"], row["plan"]["job"]
    stocks = {stock["id"]: stock for stock in job["stock"]}
    wanted: dict[str, dict[str, Any]] = {}
    trims: dict[int, int] = {}
    counts: Counter[str] = Counter()
    layouts: dict[str, list[int]] = {name: [] for name in row["materials"]}
    of: dict[int, str] = {}
    for board in bought["bought"]:
        stock, parts = stocks[board["stock"]], board["parts"]
        trim = stock.get("end_trim", 0)
        for part in (part for part in parts if part["layouts"]):
            words, length = [stock["id"]], stock["length"]
            if len(parts) > 1:
                if stock["lumberyard_cuts"].get("rough", 0) != trim:
                    yield f"lumber, {row['group']}", f"a rough end of another size than {trim}", "ends that are alike"
                length = part["length"]
                words.append(str(length - 2 * trim))
            if "resaw" in part:
                words.append(part["resaw"])
            home = {"id": " / ".join(words), "length": length, "cost": 0}
            home |= {key: stock[key] for key in ("width", "end_trim", "edge_trim", "unusable", "rip") if key in stock}
            material = part.get("resaw", stock["thickness"])
            wanted.setdefault(material, {})[home["id"]] = home
            counts[home["id"]] += board["times"] * len(part["layouts"])
            for number in part["layouts"]:
                of[number], trims[number] = material, trim if len(parts) > 1 else 0
    for number in sorted(of):
        layouts[of[number]].append(number)
    for name in row["materials"]:
        plan, place = raw["plans"][name], f"plans, {name}"
        own = {stock["id"]: {**stock} for stock in plan["job"]["stock"]}
        for stock in own.values():
            if stock.pop("count", 0) != counts[stock["id"]]:
                yield place, f"another count of {stock['id']}", f"{counts[stock['id']]}, as bought"
        if own != wanted.get(name, {}):
            yield place, "other boards", "the boards that come of the bought lumber"
        blanks = [{k: blank[k] for k in blank if k != "thickness"} for blank in job["blanks"]
                  if blank["thickness"] == name]  # fmt: skip
        same = {key: job[key] for key in ("unit", "money", "kerf", "cutting", "rules") if key in job}
        if plan["job"]["blanks"] != blanks or any(plan["job"].get(key) != same[key] for key in same):
            yield place, "another job", "the parts and the saw of the bought lumber"
        moved = [_moved(bought["layouts"][number], trims[number]) for number in layouts[name]]
        if plan["layouts"] != moved or plan["cost"] or plan["bound"]:
            yield place, "other layouts, or a cost", "the layouts of the bought lumber, at no cost"


def _moved(layout: dict[str, Any], trim: int) -> dict[str, Any]:
    """A layout on a board that still has its ends."""
    return layout | {"pieces": [piece | {"x": piece["x"] + trim} for piece in layout["pieces"]]}


def _cuts(raw: dict[str, Any], row: dict[str, Any]) -> Wrong:
    """The cuts that are paid for, in the buy list at their prices."""
    stocks = {stock["id"]: stock for stock in row["plan"]["job"]["stock"]}
    taxes = {each["lumberyard"]: Fraction(each["tax"]) for each in raw["terms"]}
    sellers = {line["stock"]: line["lumberyard"] for line in raw["purchases"]
               if line.get("stock") and line["group"] == row["group"]}  # fmt: skip
    paid: Counter[tuple[str, int]] = Counter()
    for board in row["plan"]["bought"]:
        own = stocks[board["stock"]].get("lumberyard_cuts", {})
        cuts = max(0, len(board["parts"]) - 1 - own.get("free_cuts", 0))
        if cuts:
            paid[sellers[board["stock"]], own["cost"]] += cuts * board["times"]
    listed = [line for line in raw["purchases"] if "cut" in line and line["group"] == row["group"]]
    for line in listed:
        with_tax = int(line["price"] * (1 + taxes.get(line["lumberyard"], Fraction(0))))
        key = next((key for key in paid if key[0] == line["lumberyard"] and key[1] in (line["price"], with_tax)), None)
        count = 0 if key is None else paid.pop(key)
        if line["count"] != count or line["cut"] is not True or line["spare"]:
            yield f"purchases, {line['what']}", str(line["count"]), f"{count}, as in the plan"
    if paid:
        yield f"purchases, {row['group']}", "cuts that are not listed", f"{sum(paid.values())} cuts"
