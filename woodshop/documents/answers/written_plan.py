"""The result of the independent check of a plan file."""

from collections.abc import Iterable
from typing import Any

from woodshop.cutting.model.lumber_plan import BoughtPart, LumberPlan
from woodshop.drawing.values.model import Block, Bullets, Column, Data, Heading, Paragraph, Section, Table


def verdict_section(verdicts: Iterable[dict[str, Any]]) -> Section:
    """The verdict of `plan.verify.verify_file` on each plan, with the findings about unsound plans."""
    plans = list(verdicts)
    rows = []
    blocks: list[Block] = []
    for each in plans:
        found = each["findings"]
        cost = "" if "says" in each else f"cost {each['cost']}, lower bound {each['bound']}, gap {each['gap']}"
        rows.append((each["name"], "NOT SOUND" if found else "sound", cost if found else each.get("says", cost)))
        if found:
            lines = (f"{f['code']}: {f['place']}: {f['value']}; wanted {f['limits']}" for f in found)
            blocks += [Heading(each["name"], 3), Bullets(tuple(lines))]
    table = Table((Column("plan"), Column("verdict"), Column("figures")), tuple(rows))
    return Section("", (table, *blocks), {"plans": plans, "sound": not any(each["findings"] for each in plans)})


def bought_section(plan: LumberPlan) -> Section:
    """The cost of a plan in several thicknesses, and what to buy, to have cut where it is bought, and to resaw."""
    summed: Data = {"cost": plan.cost, "bound": plan.bound, "gap": plan.gap, "assurance": plan.assurance}
    words = ", ".join(f"{key} {value}" for key, value in summed.items())
    rows = tuple(
        (str(board.times), board.stock, "\n".join(_part_text(part, len(board.parts)) for part in board.parts))
        for board in plan.bought
    )
    table = Table((Column("buy"), Column("stock"), Column(f"parts ({plan.job.base.unit})", weight=4)), rows)
    return Section("", (Paragraph(words), table), summed)


def _part_text(part: BoughtPart, count: int) -> str:
    """A part of a bought board: its length as cut where it is bought, and what becomes of it."""
    length = f"{part.length}, cut there" if count > 1 else "whole"
    if not part.layouts:
        return f"{length}: not used"
    resawn = "" if part.resaw is None else f"; resaw to {part.resaw}"
    return f"{length}{resawn}: {', '.join(f'layouts[{number}]' for number in part.layouts)}"
