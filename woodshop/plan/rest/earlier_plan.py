"""The earlier plan of a batch, read from its plan.json."""

from collections.abc import Mapping
from dataclasses import KW_ONLY, dataclass
from functools import cached_property
from typing import Any

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.model.plan import Plan, read_plan
from woodshop.cutting.model.reading import parse_json
from woodshop.design.lumber import grid_of
from woodshop.errors import InputError, Problem, check_format
from woodshop.plan.plan_batch import BATCH_FORMAT, sealed
from woodshop.plan.values import PlannedBatch
from woodshop.reference.materials import Material, read_material
from woodshop.units.lengths import Length

_UNCHANGED = "an unchanged plan.json"
_READY_MADE = "ready-made "  # at the start of the group of such items


@dataclass(frozen=True, slots=True)
class Bought:
    """A line of the earlier buy list: group, description, count, price in cents, lumberyard.

    `stock` is the id of the stock in the cutting job, or "" for goods in packs.
    """

    group: str
    what: str
    count: int
    price: int
    lumberyard: str = ""
    stock: str = ""


@dataclass(frozen=True, slots=True)
class KeptPieces:
    """Pieces cut of one part: the part's material, address, mark and size (in the job's unit), and the count."""

    material: Material
    address: str
    mark: str
    size: tuple[int, int]
    count: int


@dataclass(frozen=True)
class EarlierPlan:
    """A batch's plan as written: the counts of its lines, keyed by address and hives; its buy list; and every plan.

    `marks` has the address for each mark. `numbers` are the printed numbers of each material's layouts, in order.
    `at_hand` is the stock of each material that was on hand and therefore not bought. `there` are the goods that were
    on hand. `book_event` is the last event of the shop's book that the plan counts, or None without a book. If the plan
    is itself the rest of an earlier one, `kept` are the pieces that were already cut when it was made.
    """

    batch: str
    currency: str
    total: int
    _: KW_ONLY
    digest: str
    lines: Mapping[tuple[str, str], int]
    bought: tuple[Bought, ...]
    marks: Mapping[str, str]
    plans: Mapping[Material, Plan]
    numbers: Mapping[Material, tuple[int, ...]]
    at_hand: Mapping[Material, tuple[str, ...]]
    there: Mapping[str, str]
    kept: tuple[KeptPieces, ...] = ()
    book_event: int | None = None

    @cached_property
    def layouts(self) -> dict[int, tuple[Material, int]]:
        """The material and index of every layout, keyed by its printed number."""
        return {number: (material, n) for material, own in self.numbers.items() for n, number in enumerate(own)}

    @cached_property
    def grids(self) -> dict[Material, Length]:
        """The length of one unit of each material's cutting job."""
        return {material: _grid(material, plan.job.unit) for material, plan in self.plans.items()}


def _grid(material: Material, unit: str) -> Length:
    if material.mesh is not None:
        return material.mesh.pitch
    return grid_of("in" if unit.endswith(" in") else "mm")


def read_earlier(text: str, where: str) -> EarlierPlan:
    """The earlier plan of a batch from the text of its plan.json, for planning the rest.

    Raises InputError as `read_sealed` does, and for a plan with ready-made items, or with boards cut where bought.
    """
    raw, earlier = read_sealed(text, where)
    if "lumber" in raw:
        given = "a plan with boards that are resawn, or that the lumberyard cuts to length"
        wanted = "a plan whose boards come home whole: the rest of others is not planned"
        do = "Finish this plan as it is. Or list what you have as offcuts, and make a design of what is missing."
        raise InputError(Problem(where, given, wanted, do))
    ready = [line.what for line in earlier.bought if line.group.startswith(_READY_MADE)]
    if ready:
        wanted = "a plan without ready-made items"
        raise InputError(Problem(where, f"{', '.join(ready)}, bought ready-made", wanted, "Plan the rest by hand."))
    return earlier


def has_no_rest(planned: PlannedBatch) -> bool:
    """Whether `read_earlier` refuses this plan once it is written: for its boards, or for ready-made items."""
    return bool(planned.lumber) or any(each.group.startswith(_READY_MADE) for each in planned.purchases)


def read_sealed(text: str, where: str) -> tuple[dict[str, Any], EarlierPlan]:
    """The values of a plan.json as written, and the plan of the batch in it.

    Raises InputError for any other file, an unsound plan, or a file that does not agree with its digest.
    """
    raw = parse_json(text, where)
    if not isinstance(raw, dict):
        raise InputError(Problem(where, "no plan of a batch", f"a plan.json of {BATCH_FORMAT}", "Plan it again."))
    check_format(where, raw.get("format"), BATCH_FORMAT, "Plan it again.")
    try:
        earlier = _read(raw)
        is_sealed = sealed({key: value for key, value in raw.items() if key != "digest"})["digest"] == raw["digest"]
    except (KeyError, TypeError, AttributeError, ValueError) as why:
        if isinstance(why, InputError):
            raise
        given = f"an incomplete plan ({why})"
        raise InputError(Problem(where, given, _UNCHANGED, "Plan it again.")) from None
    bad = [material.name for material, plan in earlier.plans.items() if check_plan(plan)]
    if bad:
        given = f"a plan that does not pass its check, {', '.join(bad)}"
        raise InputError(Problem(where, given, _UNCHANGED, "See: woodshop verify."))
    if not is_sealed:
        given = "a plan that does not agree with its digest"
        raise InputError(Problem(where, given, _UNCHANGED, "See: woodshop verify."))
    return raw, earlier


def _read(raw: dict[str, Any]) -> EarlierPlan:
    plans = {read_material(str(name)): read_plan(plan) for name, plan in raw["plans"].items()}
    written = raw.get("layout_numbers")
    numbers: dict[Material, tuple[int, ...]] = {}
    so_far = 0
    for material, plan in plans.items():
        own = range(so_far + 1, so_far + len(plan.layouts) + 1) if written is None else written[material.name]
        numbers[material] = tuple(int(number) for number in own)
        so_far += len(plan.layouts)
        if len(numbers[material]) != len(plan.layouts):
            raise ValueError("layout_numbers")
    if len({number for own in numbers.values() for number in own}) != so_far:
        raise ValueError("layout_numbers")
    return EarlierPlan(
        str(raw["batch"]),
        str(raw["currency"]),
        int(raw["total"]),
        digest=str(raw["digest"]),
        lines={(str(row["address"]), str(row["hives"])): int(row["count"]) for row in raw["lines"]},
        bought=tuple(
            Bought(
                str(p["group"]),
                str(p["what"]),
                int(p["count"]),
                int(p["price"]),
                str(p.get("lumberyard", "")),
                str(p.get("stock", "")),
            )
            for p in raw["purchases"]
        ),
        marks={
            str(row["mark"]): str(row["address"]) for row in (*raw.get("rest_of", {}).get("kept", ()), *raw["marks"])
        },
        plans=plans,
        numbers=numbers,
        at_hand={material: tuple(map(str, raw["at_hand"][material.name])) for material in plans},
        book_event=int(raw["book"]["event"]) if "book" in raw else None,
        kept=tuple(
            KeptPieces(
                read_material(str(row["material"])),
                str(row["address"]),
                str(row["mark"]),
                (int(row["length"]), int(row["width"])),
                int(row["count"]),
            )
            for row in raw.get("rest_of", {}).get("kept", ())
        ),
        there={str(row["goods"]): str(row["there"]) for row in raw["goods"]},
    )
