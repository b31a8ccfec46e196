"""The result of the independent check of a plan file."""

from collections.abc import Iterable
from typing import Any

from woodshop.drawing.values.model import Block, Bullets, Column, Heading, Section, Table


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
