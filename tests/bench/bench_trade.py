"""A run of 10,000 units for 300 customers with 60 distinct boxes: read, checked, planned, costed and verified.

`python tests/bench/bench_trade.py [--smoke] [--growth] [--profile] [--picture FILE.svg]`

Each size runs in a process of its own, so that its memory is its own. Seconds are told twice: as the clock shows them,
and as processors worked, over all processes; with two cores free the clock shows about half of the latter, and no less.
`--growth` runs 1,000, 10,000 and 100,000 hives of one kind, then of fifty, four
units each; `--picture` runs 100, 300, 1,000, 3,000 and 10,000 units for 60 boxes and draws
their seconds; `--profile` lists where the time of one process goes; `--smoke` runs 24 units
and 400 once.
"""

from __future__ import annotations

import json
import math
import subprocess
import sys
import tempfile
import time
from fractions import Fraction
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
SIZES = (100, 300, 1_000, 3_000, 10_000)
HIVES, KINDS = (1_000, 10_000, 100_000), (1, 50)
ITEMS = ("fondant rim", "wire bottom", "spacer strips", "quilt box")
DRAWN = {"check": "7 3", "plan": "2 3", "verify": "8 3 2 3"}
GAPS = ('"1/4"', '["1/4", "5/16"]', '"5/16"')
STAGES = ("read", "settle", "make", "check", "parts", "plan", "write", "verify")


def design(units: int, customers: int = 300, boxes: int = 60) -> str:
    """An invented order book: each customer a group of hives, the boxes dealt out among them in turn."""
    hives = -(-units // len(ITEMS))
    customers, boxes = min(customers, hives), min(boxes, hives)
    sizes: list[tuple[int, str, str]] = []
    for n in range(boxes):
        frames = (10, 8, 5)[n % 3]
        across = {10: Fraction(16), 8: Fraction(27, 2), 5: Fraction(9)}[frames] + Fraction(n // 3 % 5, 8)
        sizes.append((frames, _inches(across), _inches(Fraction(79, 4) + Fraction(n // 15 % 4, 8))))
    lines = ['format = "woodshop-design/2"', 'batch = "order-book"', 'unit = "in"']
    lines += ['lumberyard = ["creekside-lumberyard.toml", "harbor-lumberyard.toml"]', "on_by = 2026-12-01"]
    lines += ["[board]", 'mounting = "stapled under"']
    for n in range(customers):
        frames, wide, long = sizes[n % boxes]
        count = hives // customers + (n < hives % customers)
        lines += ["[[hives]]", f'name = "lumberyard {n + 1}"', f'customer = "customer {n + 1}"', f"frames = {frames}"]
        lines += [f'width = "{wide}"', f'length = "{long}"', f"count = {count}"]
        lines += [f"gap = {GAPS[n % 3]}"]
    lines += ["[[make]]", f"item = {json.dumps(ITEMS)}"]
    return "\n".join(lines) + "\n"


def _inches(size: Fraction) -> str:
    whole, rest = divmod(size, 1)
    return f"{whole} {rest}" if rest else str(whole)


def measure(units: int, boxes: int = 60, customers: int = 300) -> dict[str, Any]:
    """One run in this process: seconds by the clock and of all processors for each stage, memory, and what came out."""
    import resource

    from woodshop.checks.check_batch import measured_batch
    from woodshop.design.design_file import read_design
    from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
    from woodshop.design.make_units import make_units
    from woodshop.design.settle.settle import settle
    from woodshop.plan.buying.where_to_buy import plan_to_buy
    from woodshop.plan.parts_needed import parts_needed
    from woodshop.plan.plan_batch import batch_to_json
    from woodshop.plan.verify import verify_file

    told: dict[str, Any] = {"units": units, "clock": {}, "work": {}}

    def work() -> float:
        both = (resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
        return sum(usage.ru_utime + usage.ru_stime for usage in both)

    clock, worked = time.perf_counter(), work()

    def lap(stage: str) -> None:
        nonlocal clock, worked
        now, done = time.perf_counter(), work()
        told["clock"][stage], told["work"][stage] = now - clock, done - worked
        clock, worked = now, done

    with tempfile.TemporaryDirectory() as folder:
        for name in ("creekside-lumberyard.toml", "harbor-lumberyard.toml"):
            (Path(folder) / name).write_bytes((ROOT / "designs" / name).read_bytes())
        path = Path(folder) / "order-book.toml"
        path.write_text(design(units, customers, boxes), encoding="utf-8")
        clock, worked = time.perf_counter(), work()
        wanted = read_design(path)
        lumberyard = read_lumberyards(wanted.lumberyards)
        lap("read")
    batch = settle(wanted, lumberyard)
    lap("settle")
    make_units(batch)
    lap("make")
    made, report, _ = measured_batch(batch)
    lap("check")
    jobs = parts_needed(batch, made)
    lap("parts")
    planned = plan_to_buy(batch, made, report)
    lap("plan")
    text = json.dumps(batch_to_json(planned))
    lap("write")
    verdicts = verify_file(text)
    lap("verify")
    own, others = (resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN))
    gap = sum(each.plan.gap for each in planned.plans)
    return told | {
        "megabytes": (own + 2 * others) / 1024,  # two workers at most beside it
        "pieces": sum(blank.count for job in jobs for blank in job.job.blanks),
        "made": sum(line.count for line in batch.lines),
        "pays": str(planned.to_pay),
        "gap": gap / max(1, planned.to_pay.minor),
        "sound": not any(each["findings"] for each in verdicts),
        "adds_up": sum(cost.total.minor for cost in planned.costs) == planned.total.minor,
    }


def run_alone(units: int, boxes: int = 60, customers: int = 300) -> dict[str, Any]:
    """The same in a new process."""
    done = subprocess.run(
        [sys.executable, __file__, "--one", str(units), str(boxes), str(customers)],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    told: dict[str, Any] = json.loads(done.stdout.splitlines()[-1])
    return told


def line_of(told: dict[str, Any]) -> str:
    """One size in one line."""
    clock, work = sum(told["clock"].values()), sum(told["work"].values())
    stages = ", ".join(f"{stage} {told['work'][stage]:.1f}" for stage in STAGES)
    good = "sound" if told["sound"] and told["adds_up"] else "NOT SOUND"
    return (
        f"{told['made']:6} units {told['pieces']:6} pieces: {clock:6.1f} s by the clock, {work:6.1f} s of processors, "
        f"{told['megabytes']:4.0f} MB; pays {told['pays']}, within {100 * told['gap']:.2f} %; {good}\n       ({stages})"
    )


def picture(rows: list[dict[str, Any]]) -> str:
    """Seconds of processors against units, both by tens, as SVG."""
    wide, high, left, foot = 520.0, 340.0, 60.0, 46.0
    x0, x1 = math.log10(min(r["made"] for r in rows)), math.log10(max(r["made"] for r in rows))
    totals = [sum(r["work"].values()) for r in rows]
    low = min(r["work"][stage] for r in rows for stage in DRAWN)
    y0, y1 = max(-2, math.floor(math.log10(max(low, 0.01)))), math.ceil(math.log10(max(totals)))

    def at(units: float, seconds: float) -> tuple[float, float]:
        x = left + (math.log10(units) - x0) / (x1 - x0) * (wide - left - 90)
        return x, high - foot - (math.log10(seconds) - y0) / (y1 - y0) * (high - foot - 20)

    words = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" font-family="sans-serif" font-size="11">'
    ]
    words.append(f'<rect width="{wide}" height="{high}" fill="white"/>')
    for power in range(y0, y1 + 1):
        y = at(rows[0]["made"], 10.0**power)[1]
        words.append(f'<path d="M{left} {y:.1f}H{wide - 90}" stroke="black" stroke-width=".4"/>')
        words.append(f'<text x="{left - 6}" y="{y + 4:.1f}" text-anchor="end">{10.0**power:g} s</text>')
    for row in rows:
        x = at(row["made"], 1.0)[0]
        words.append(f'<path d="M{x:.1f} 20V{high - foot}" stroke="black" stroke-width=".4"/>')
        words.append(f'<text x="{x:.1f}" y="{high - foot + 16}" text-anchor="middle">{row["made"]:,}</text>')
    series = [("all", totals, "none")]
    series += [(stage, [r["work"][stage] for r in rows], dash) for stage, dash in DRAWN.items()]
    for name, seconds, dash in series:
        spots = [at(r["made"], max(s, 10.0**y0)) for r, s in zip(rows, seconds, strict=True)]
        path = "L".join(f"{x:.1f} {y:.1f}" for x, y in spots)
        words.append(f'<path d="M{path}" fill="none" stroke="black" stroke-width="1.6" stroke-dasharray="{dash}"/>')
        words.append(f'<text x="{spots[-1][0] + 6:.1f}" y="{spots[-1][1] + 4:.1f}">{name}</text>')
    words.append(f'<text x="{left}" y="{high - 8}">units made; seconds of processors, over all processes</text></svg>')
    return "\n".join(words) + "\n"


def profile(units: int) -> None:
    """Where the time of one process goes; other cores are not used."""
    import cProfile
    import os
    import pstats

    os.cpu_count = lambda: 1
    own = cProfile.Profile()
    own.enable()
    measure(units)
    own.disable()
    pstats.Stats(own).sort_stats("cumulative").print_stats(40)


def main(words: list[str]) -> None:
    """What the command line asks for."""
    if "--one" in words:
        at = words.index("--one")
        print(json.dumps(measure(*map(int, words[at + 1 : at + 4]))))
        return
    if "--smoke" in words:
        print(line_of(measure(24, boxes=2)))
        print(line_of(measure(400, boxes=1)))
        return
    if "--profile" in words:
        profile(SIZES[-1])
        return
    if "--growth" in words:
        for kinds in KINDS:
            for hives in HIVES:
                measured = run_alone(hives * len(ITEMS), boxes=kinds, customers=kinds)
                print(f"{hives:,} hives, kinds {kinds}:", line_of(measured), flush=True)
        return
    rows = []
    for units in SIZES if "--picture" in words else SIZES[-1:]:
        rows.append(run_alone(units))
        print(line_of(rows[-1]), flush=True)
    if "--picture" in words:
        Path(words[words.index("--picture") + 1]).write_text(picture(rows), encoding="utf-8")


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    main(sys.argv[1:])
