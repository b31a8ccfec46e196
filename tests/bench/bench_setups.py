"""How many layouts remain of the open pattern-reduction plans.

`python tests/bench/bench_setups.py [--smoke] [name ...]`

Each plan keeps its runs and its exact pieces; a layout keeps the set's own limits (widest, narrowest, most pieces,
most sizes, least runs). Without names all plans of the set are run, and totals are printed; `--smoke` runs one.
"""

import json
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
SET = ROOT / "tests" / "data" / "cutting" / "csp1d_pattern_reduction" / "instances.json"
SMOKE = ("PR_00080",)


@dataclass(frozen=True)
class Limits:
    """The limits of one plan of the set on every one of its layouts."""

    widths: tuple[int, ...]
    most: int
    least: int
    most_items: int
    most_sizes: int

    def room(self, kind: int) -> int:
        return self.most

    def weight(self, item: int) -> int:
        return self.widths[item]

    def may_hold(self, kind: int, counts: tuple[tuple[int, int], ...]) -> bool:
        return (
            sum(self.widths[item] * count for item, count in counts) <= self.most
            and sum(count for _, count in counts) <= self.most_items
            and len(counts) <= self.most_sizes
        )

    def accepts(self, kind: int, counts: tuple[tuple[int, int], ...]) -> bool:
        return sum(self.widths[item] * count for item, count in counts) >= self.least


def rows() -> list[dict[str, Any]]:
    return json.loads(SET.read_text(encoding="utf-8"))


def fault(row: dict[str, Any], layouts: list[tuple[int, dict[int, int]]]) -> str:
    """What is wrong with a plan for a row, counted anew; empty when nothing is."""
    limits, widths = row["limits"], row["widths"]
    made = [0] * len(widths)
    for times, counts in layouts:
        width = sum(widths[item] * count for item, count in counts.items())
        if not limits["min_width"] <= width <= limits["max_width"]:
            return f"width {width}"
        if sum(counts.values()) > limits["max_items"] or len(counts) > limits["max_distinct"]:
            return "too many pieces or sizes"
        if times < limits["min_multiple"]:
            return f"{times} runs"
        for item, count in counts.items():
            made[item] += times * count
    before = [0] * len(widths)
    for times, counts in row["start"]:
        for item, count in counts.items():
            before[int(item)] += times * count
    if made != before:
        return "other pieces"
    if sum(times for times, _ in layouts) != sum(times for times, _ in row["start"]):
        return "other runs"
    return ""


def reduced(row: dict[str, Any], steps: int) -> tuple[list[tuple[int, dict[int, int]]], int]:
    """The layouts found for a row, and the number below which no plan can come."""
    from woodshop.cutting.layouts.dive import NeighborhoodSearch
    from woodshop.cutting.layouts.recombine import Budget, LayoutGroup, Search, least_layouts

    limits = row["limits"]
    holds = Limits(
        tuple(row["widths"]), limits["max_width"], limits["min_width"], limits["max_items"], limits["max_distinct"]
    )
    start = [
        LayoutGroup(0, times, tuple(sorted((int(item), count) for item, count in counts.items())))
        for times, counts in row["start"]
    ]
    bound = least_layouts(holds, start, lambda kind: limits["max_distinct"])
    least_times = limits["min_multiple"]
    recut = NeighborhoodSearch(holds, start, steps, least_times=least_times, stop_at=bound)
    groups = recut.run()
    bound = recut.stop_at
    groups = Search(holds, groups, Budget(steps // 20), least_times=least_times, stop_at=bound).run()
    return [(group.times, dict(group.counts)) for group in groups], bound


def run(names: list[str], effort: str = "default") -> Iterator[str]:
    """One line per plan, then the totals."""
    from woodshop.cutting.layouts.fewer_layouts import NEIGHBORHOOD_STEPS

    known = {line.split(",")[0]: line.rsplit(",", 1)[1] for line in SET.with_name("values.csv").read_text().split()[1:]}
    before = after = bounds = 0
    for row in rows():
        if names and row["name"] not in names:
            continue
        clock = time.perf_counter()
        layouts, bound = reduced(row, NEIGHBORHOOD_STEPS[effort])
        taken = time.perf_counter() - clock
        wrong = fault(row, layouts)
        if wrong:
            raise SystemExit(f"{row['name']}: {wrong}")
        before, after, bounds = before + len(row["start"]), after + len(layouts), bounds + bound
        yield (
            f"{row['name']} sizes {len(row['widths']):3} start {len(row['start']):3} now {len(layouts):3} "
            f"bound {bound:3} known {known[row['name']] or '-':>3} {taken:6.1f} s"
        )
    yield f"together: start {before} now {after} bound {bounds}"


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    words = sys.argv[1:]
    names = list(SMOKE) if "--smoke" in words else [word for word in words if not word.startswith("--")]
    for line in run(names):
        print(line, flush=True)
