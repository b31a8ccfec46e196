"""Parts of plan.json that tie it together: what each line is made of, goods and packs, versions, and the digest."""

import hashlib
import json
from collections.abc import Mapping
from fractions import Fraction
from importlib.metadata import PackageNotFoundError, version
from typing import Any

from woodshop.design.batch import Batch
from woodshop.plan.buying.buy_list import uses
from woodshop.plan.parts_needed import parts_of_units
from woodshop.plan.values import PlannedBatch, Purchase

SOLVERS = ("highspy", "pyscipopt")


def made_with() -> dict[str, Any]:
    """The versions of this program and of the solvers: the same versions give the same bytes."""
    return {"woodshop": _version("woodshop"), "solvers": {name: _version(name) for name in SOLVERS}}


def _version(name: str) -> str:
    try:
        return version(name)
    except PackageNotFoundError:
        return "not installed"


def hives_to_json(batch: Batch) -> list[dict[str, Any]]:
    """Every group of hives: its name, format and count, the order that it is for, its form and due date."""
    return [
        {
            "hives": each.name,
            "format": each.format,
            "count": each.count,
            "boards": each.boards,
            "order": each.order,
            "form": each.form,
            "due": None if each.due is None else each.due.isoformat(),
        }
        for each in batch.hives
    ]


def lines_to_json(planned: PlannedBatch) -> list[dict[str, Any]]:
    """Every line with its count and the parts in one of it, by their addresses."""
    parts = parts_of_units(planned.units)
    return [
        {
            "address": unit.line.address,
            "hives": unit.line.hives.name,
            "count": unit.line.count,
            "bought": unit.line.bought,
            "arithmetic": unit.line.arithmetic,
            "parts": own if unit.line.count else {},
        }
        for unit, own in zip(planned.units, parts, strict=True)
    ]


def goods_to_json(planned: PlannedBatch, there: Mapping[str, Fraction]) -> list[dict[str, Any]]:
    """Goods needed: exact amounts as text, for which lines or hives (by their place), and what is there already."""
    return [
        {
            "goods": each.goods,
            "needed": str(each.amount),
            "allowance": str(each.allowance),
            "there": str(there.get(each.goods, Fraction(0))),
            "for": [{"of": row.of, "place": row.place, "each": str(row.each)} for row in each.rows],
        }
        for each in uses(planned.batch, planned.units)
    ]


def purchase_to_json(purchase: Purchase) -> dict[str, Any]:
    """A line of the buy list; `stock` is its id in the cutting job, `holds` how much is in a pack of goods."""
    return {
        "group": purchase.group,
        "what": purchase.what,
        "yard": purchase.yard,
        "count": purchase.count,
        "price": purchase.price.minor,
        "total": purchase.total.minor,
        **({"stock": purchase.stock} if purchase.stock else {}),
        **({} if purchase.holds is None else {"holds": str(purchase.holds)}),
        "spare": purchase.is_spare,
        "why": purchase.why,
    }


def sealed(raw: dict[str, Any]) -> dict[str, Any]:
    """The envelope with the digest of all the rest: SHA-256 of its JSON with sorted keys and no spaces, in UTF-8."""
    text = json.dumps(raw, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return {**raw, "digest": hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()}
