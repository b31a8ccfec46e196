"""How well and how fast the planner does on open jobs: `python tests/bench/bench_cutting.py [case ...]`.

Each case: a name, the file of the job, the best known cost, and whether it is quick enough for a smoke test.
Timing is never judged; costs below a "best known" are worth a second look.
"""

import json
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
SHARED = ROOT / ".." / "shared" / "bench"


@dataclass(frozen=True)
class Case:
    """One open job: where it stands, what is known of it."""

    name: str
    folder: str
    best: int
    is_quick: bool = False


CASES = (
    Case("D42", "hobby", 6000, True),
    Case("F6", "hobby", 5490, True),
    Case("C4020", "hobby", 69632),
    Case("G60", "hobby", 52320, True),
    Case("E124", "hobby", 8890),
    Case("A84", "hobby", 11220),
    Case("A248", "hobby", 29370),
    Case("B106", "hobby", 14340),
    Case("A3000", "hobby", 2686530),
    Case("C30:A1", "g2csp_C30", 23, True),
    Case("C30:CHL5", "g2csp_C30", 4, True),
    Case("C30:OF2", "g2csp_C30", 5, True),
    Case("C30:HH", "g2csp_C30", 2, True),
    Case("C30:Hchl9", "g2csp_C30", 10),
    Case("C30:STS2", "g2csp_C30", 12),
    Case("C30:W", "g2csp_C30", 24),
    Case("furniture:A3", "g2csp_furniture_A", 8, True),
    Case("furniture:A5", "g2csp_furniture_A", 13),
    Case("furniture:A7", "g2csp_furniture_A", 14),
    Case("lines:Falkenauer_u120_00", "csp1d_falkenauer", 48),
)


def job_of(case: Case) -> dict[str, Any]:
    """The case as a neutral job. Sheet sets: two stages along, final trim, no turning, no kerf; one per sheet."""
    if case.folder == "hobby":
        return json.loads((SHARED / "hobby" / f"{case.name}.json").read_text(encoding="utf-8"))
    name = case.name.split(":")[1]
    rows = json.loads((SHARED / case.folder / "instances.json").read_text(encoding="utf-8"))
    row = next(row for row in rows if row["name"] == name)
    job: dict[str, Any] = {"format": "woodshop-job/1", "unit": "1", "money": "sheet", "kerf": {"rip": 0, "crosscut": 0}}
    if "capacity" in row:
        job["stock"] = [{"id": "s", "length": row["capacity"], "cost": 1}]
        job["blanks"] = [{"id": f"b{n}", "length": i[0], "count": i[1]} for n, i in enumerate(row["items"])]
        return job
    length, width = row["sheet"]
    job["cutting"] = {"stages": 2, "first": "along", "final_trim": True}
    job["stock"] = [{"id": "s", "length": length, "width": width, "cost": 1}]
    job["blanks"] = [{"id": f"b{n}", "length": i[0], "width": i[1], "count": i[2]} for n, i in enumerate(row["items"])]
    return job


def run(names: list[str]) -> Iterator[str]:
    """One line of the table per case."""
    from woodshop.cutting.job import read_job
    from woodshop.cutting.planner import plan

    for case in CASES:
        if names and case.name not in names:
            continue
        start = time.perf_counter()
        made = plan(read_job(job_of(case)))
        taken = time.perf_counter() - start
        gap = 100 * made.gap / max(1, made.cost)
        yield (
            f"{case.name:26} best {case.best:8} cost {made.cost:8} bound {made.bound:8} ({made.bound_kind}) "
            f"{made.assurance:9} gap {gap:5.2f} %  layouts {len(made.layouts):3}  {taken:6.1f} s"
        )


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    for line in run(sys.argv[1:]):
        print(line, flush=True)
