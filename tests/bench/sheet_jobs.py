"""Open jobs of sheets, each with its published value, as neutral jobs. The folders' READMEs have the conventions.

A value is proved (by its authors, or by two bounds that meet) or only the best known. The most valuable pattern of one
sheet becomes a job of least cost: the sheet is free, there is one of it, and each part that is left over is bought at
its value. That is the same only where values are areas, as then no bought part is worth cutting up.
"""

import csv
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

DATA = Path(__file__).resolve().parents[1] / "data" / "cutting"


@dataclass(frozen=True)
class SheetJob:
    """One job: its set, its name, how it is cut, the published cost, whether that is proved, and the neutral job."""

    of: str
    name: str
    how: str
    published: int
    is_proved: bool
    job: dict[str, Any]


def sheet_jobs() -> Iterator[SheetJob]:
    """All of them, set by set."""
    yield from _fewest("g2csp_C30", "two_stage_nonexact_noRot_optimal", "twostage_along{}_{}_here")
    yield from _fewest("g2csp_furniture_A", "twostage_stripsAlongL_published", "twostage_stripsAlong{}_{}_here")
    yield from _cintra()
    yield from _classes()
    yield from _one_sheet()


def _rows(folder: str) -> Iterator[tuple[dict[str, Any], dict[str, str]]]:
    instances = {row["name"]: row for row in json.loads((DATA / folder / "instances.json").read_text(encoding="utf-8"))}
    with (DATA / folder / "values.csv").open(encoding="utf-8") as lines:
        for value in csv.DictReader(lines):
            yield instances[value["name"]], value


def _job(sheets: list[dict[str, Any]], items: list[list[int]], stages: int, first: str, turned: bool) -> dict[str, Any]:
    return {
        "format": "woodshop-job/1",
        "unit": "1",
        "money": "sheet",
        "kerf": {"rip": 0, "crosscut": 0},
        "cutting": {"stages": stages, "first": first, "final_trim": True},
        "stock": sheets,
        "blanks": [
            {"id": f"b{n}", "length": item[0], "width": item[1], "count": item[2], "rotate": turned}
            for n, item in enumerate(items)
        ],
    }


def _sheet(row: dict[str, Any], cost: int) -> dict[str, Any]:
    return {"id": "s", "length": row["sheet"][0], "width": row["sheet"][1], "cost": cost}


def _fewest(folder: str, published: str, computed: str) -> Iterator[SheetJob]:
    """Fewest sheets in two stages: strips along, and (where computed bounds meet) across, or turned."""
    for row, value in _rows(folder):
        ways = [
            ("along", "along", False, computed.format("L", "{}")),
            ("across", "across", False, computed.format("W", "{}")),
        ]
        if folder == "g2csp_C30":
            ways.append(("along, turned", "along", True, "twostage_rot_alongL_{}_here"))
        for how, first, turned, key in ways:
            low, high = value[key.format("lb")], value[key.format("ub")]
            own = value[published] if how == "along" else ""
            if own or high:
                job = _job([_sheet(row, 1)], row["items"], 2, first, turned)
                yield SheetJob(folder, row["name"], how, int(own or high), bool(own) or low == high, job)


def _cintra() -> Iterator[SheetJob]:
    for row, value in _rows("g2csp_cintra"):
        sheets = [{"id": f"s{n}", "length": x, "width": y, "cost": c} for n, (x, y, c) in enumerate(row["sheets"])]
        for how, key in (("along", "noRot"), ("along, turned", "rot")):
            best, bound = value[f"multi_2stage_{key}_best"], value[f"multi_2stage_{key}_bound"]
            job = _job(sheets, row["items"], 2, "along", how != "along")
            yield SheetJob("g2csp_cintra", row["name"], how, int(best), best == bound, job)


def _classes() -> Iterator[SheetJob]:
    for row, value in _rows("g2bpp_class"):
        for how, key in (("three stages", "noRot"), ("three stages, turned", "rot")):
            best, least = value[f"threestage_nonexact_{key}_best"], value[f"guillotine_unstaged_{key}_opt"]
            job = _job([_sheet(row, 1)], row["items"], 3, "along", key == "rot")
            yield SheetJob("g2bpp_class", row["name"], how, int(best), best == least, job)


def _one_sheet() -> Iterator[SheetJob]:
    for row, value in _rows("g2kp_twostage"):
        total = sum(count * worth for _, _, count, worth in row["items"])
        bought = [
            {"id": f"p{n}", "length": x, "width": y, "cost": worth} for n, (x, y, _, worth) in enumerate(row["items"])
        ]
        for how, key in (("along", "horizontal"), ("across", "vertical")):
            best = int(value[f"two_stage_nonexact_first_cut_{key}"])
            job = _job([{**_sheet(row, 0), "count": 1}, *bought], row["items"], 2, how, False)
            yield SheetJob("g2kp_twostage", row["name"], how, total - best, True, job)
