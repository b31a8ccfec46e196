"""How well and how fast the planner does: `python tests/bench/bench_cutting.py [option] [case ...]`.

Without an option every case of the registry once. Each case: a name, the file of the job, the best known cost, and
whether it is quick enough for a smoke test. Timing is never judged; costs below a "best known" are worth a second look.

    --smoke    the quick cases only
    --seeds    the nine hobby jobs on three seeds of the solver
    --random   the hundred random batches (`hobby_batches`), against the hand rules (`rivals`)
    --big      10,000 hives, 60 stock types, 50 blanks; and two hives with a lumberyard of 30 offers
    --growth   the hobby job A84 for 100, 1,000, 10,000 and 100,000 hives
    --three    the nine hobby jobs in three stages, sections first and rips first, with proof trees; `--three JOB ...`
               for some of the jobs
    --rivals   textbook models in three solvers beside the planner, 10 seconds each
    --lines    the 379 open jobs with one stock length, a line for each family and for each job that is not closed
    --lengths  60 random jobs with several stock lengths (`length_jobs`), against arc-flow in HiGHS, 60 seconds each;
               where the certificate proves the plan, 5 seconds: a cheaper plan there would show that it is false
    --sheets   jobs of sheets with published values (`sheet_jobs`): a line for each set, and for each job that costs
               more than published; `--sheets SET ...` for some of the sets
    --proofs   proof trees of the nine hobby jobs, for their best known costs, within 60,000 linear programs each

Seconds are of this process alone (processor time), so that a busy machine matters less. Hobby jobs, random batches,
--big and --growth do all that `woodshop cut` does: the plan, then fewer layouts. Random batches and three stages get
proof trees too, as `cut --out` grows them at the default effort. Other rows are of the plan alone.
"""

import json
import resource
import statistics
import sys
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
DATA = ROOT / "tests" / "data" / "cutting"


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
    Case("lines:Falkenauer_u120_00", "csp1d_falkenauer", 48, True),
    Case("lines:N4W2B3R4", "csp1d_scholl", 100, True),
    Case("lines:Schwerin1_BPP11", "csp1d_schwerin_waescher", 18, True),
    Case("lines:HARD0", "csp1d_scholl", 56),
    Case("lines:Hard28_BPP359", "csp1d_hard28", 76),
)


def job_of(case: Case) -> dict[str, Any]:
    """The case as a neutral job. Sheet sets: two stages along, final trim, no turning, no kerf; one per sheet."""
    if case.folder == "hobby":
        return json.loads((DATA / "hobby" / f"{case.name}.json").read_text(encoding="utf-8"))
    name = case.name.split(":")[1]
    rows = json.loads((DATA / case.folder / "instances.json").read_text(encoding="utf-8"))
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


def timed(job: dict[str, Any], effort: Any = "default") -> tuple[Any, float]:
    """The plan of a neutral job, and the processor seconds it took."""
    from woodshop.cutting.model.job import read_job
    from woodshop.cutting.planner.plan_job import plan

    start = time.process_time()
    made = plan(read_job(job), effort=effort)
    return made, time.process_time() - start


def cut(job: dict[str, Any]) -> tuple[Any, float]:
    """What `woodshop cut` makes of a neutral job, and the processor seconds it took."""
    from woodshop.cutting.layouts.fewer_layouts import fewer_layouts

    made, taken = timed(job)
    start = time.process_time()
    return fewer_layouts(made), taken + time.process_time() - start


def line_of(name: str, made: Any, taken: float) -> str:
    """One line of a table."""
    own = made.bound if made.bound_kind == "tree" else made.certificate.bound if made.certificate else 0
    certified = 100 * (made.cost - own) / max(1, made.cost)
    return (
        f"{name:26} cost {made.cost:8} bound {made.bound:8} {made.assurance:9} "
        f"gap {100 * made.gap / max(1, made.cost):5.3f} %  certified within {certified:5.3f} %  "
        f"layouts {len(made.layouts):3}  {taken:6.2f} s"
    )


def spread(values: list[float]) -> str:
    """Least, median and greatest."""
    return f"min {min(values):.2f} / median {statistics.median(values):.2f} / max {max(values):.2f}"


def run(names: list[str], *, smoke: bool = False) -> Iterator[str]:
    """One line of the table per case."""
    for case in CASES:
        if (names and case.name not in names) or (smoke and not case.is_quick):
            continue
        made, taken = (cut if case.folder == "hobby" else timed)(job_of(case))
        yield f"best {case.best:8}  {line_of(case.name, made, taken)}"


def run_proofs() -> Iterator[str]:
    """A proof tree for each hobby job: branches and leaves, linear programs, seconds to build and check, bytes."""
    from woodshop.cutting.checkers.prove_tree import tree_bound
    from woodshop.cutting.model.job import read_job
    from woodshop.cutting.model.proof import packed, proof_text
    from woodshop.cutting.planner.proof_tree import grow_proof

    for case in CASES:
        if case.folder != "hobby":
            continue
        job, said = read_job(job_of(case)), list[str]()
        start = time.process_time()
        proof = grow_proof(job, case.best, 60_000, said.append)
        built = time.process_time() - start
        if proof is None:
            yield f"{case.name:6} not proved: {said[-1]}; {built:.1f} s"
            continue
        text = proof_text(proof)
        start = time.process_time()
        bound, _ = tree_bound(job, text)
        taken = time.process_time() - start
        leaves = sum(number < 0 for number in _heads(proof.tree, len(proof.totals)))
        verdict = "proved" if bound == case.best else "WRONG"
        yield (
            f"{case.name:6} {verdict}: {2 * leaves - 1} nodes, {len(proof.rows)} rounded rows, "
            f"{len(proof.evidence)} pieces of evidence, built in {built:.1f} s, checked in {taken:.2f} s, "
            f"{len(packed(text)):,} bytes"
        )


def _heads(tree: tuple[int, ...], totals: int) -> Iterator[int]:
    """The first number of each branch, rounded row and leaf."""
    place = 0
    while place < len(tree):
        yield tree[place]
        place += 2 if 0 <= tree[place] < totals else 1


def run_seeds() -> Iterator[str]:
    """The nine hobby jobs, the solver's seeds shifted twice."""
    from woodshop.cutting.planner import integer

    usual = integer.EFFORTS["default"]
    for shift in (0, 100, 200):
        integer.EFFORTS["default"] = tuple((seed + shift, nodes) for seed, nodes in usual)
        times = []
        for case in (case for case in CASES if case.folder == "hobby"):
            made, taken = cut(job_of(case))
            times.append(taken)
            yield f"seed {shift:3}  best {case.best:8}  {line_of(case.name, made, taken)}"
        yield f"seed {shift:3}  all nine {sum(times):.1f} s; {spread(times)} s"
    integer.EFFORTS["default"] = usual


def run_random(first: int = 0, last: int = 99) -> Iterator[str]:
    """The random batches, and what hand rules make of them."""
    from hobby_batches import hobby_batch
    from rivals import hand_costs

    from woodshop.cutting.planner.proof_tree import TREE_NODES, proved_by_tree

    times, tree_times, gaps, certified = [], [], [], []
    by_prices = by_tree = 0
    saved: dict[str, list[float]] = {"first-fit-decreasing per width": [], "best of three hand rules": []}
    for seed in range(first, last + 1):
        job = hobby_batch(seed)
        made, taken = cut(job)
        by_prices += made.assurance == "proved"
        if made.assurance == "solved":
            start = time.process_time()
            made = proved_by_tree(made, TREE_NODES["default"], lambda _: None)
            tree_times.append(time.process_time() - start)
            by_tree += made.assurance == "proved"
            taken += tree_times[-1]
        times.append(taken)
        gaps.append(100 * made.gap / max(1, made.cost))
        certified.append(100 * (made.cost - made.certificate.bound) / max(1, made.cost))
        hands = hand_costs(job)
        per_width = hands.pop("per width")
        three = [cost for cost in hands.values() if cost is not None]
        for name, cost in zip(saved, (per_width, min(three, default=None)), strict=True):
            if cost:
                saved[name].append(100 * (cost - made.cost) / cost)
        yield line_of(f"batch {seed}", made, taken)
    yield f"closed {sum(gap == 0 for gap in gaps)} of {len(gaps)}; gap of the rest at most {max(gaps):.3f} %"
    yield f"proved {by_prices + by_tree}: {by_prices} by prices, {by_tree} of {len(tree_times)} tried by trees"
    if tree_times:
        yield f"trees {spread(tree_times)} s, {sum(tree_times):.0f} s together (part of the times below)"
    yield f"{spread(times)} s; certified within, per cent: {spread(certified)}"
    for name, values in saved.items():
        yield f"saving against {name}, per cent: mean {statistics.mean(values):.1f}; {spread(values)} ({len(values)})"


def run_big() -> Iterator[str]:
    """The big lumberyard and the tiny job."""
    from hobby_batches import big_lumberyard, two_hives

    for name, job in (("two hives, 30 offers", two_hives()), ("10,000 hives", big_lumberyard())):
        made, taken = cut(job)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        yield f"{line_of(name, made, taken)}  {memory} MB at most so far"


def run_growth() -> Iterator[str]:
    """One job for more and more hives."""
    for hives in (100, 1_000, 10_000, 100_000):
        job = job_of(next(case for case in CASES if case.name == "A84"))
        for blank in job["blanks"]:
            blank["count"] = round(blank["count"] * hives / 12)  # A84 is for 8 hives of ten frames and 4 of eight
        made, taken = cut(job)
        memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
        yield f"{line_of(f'{hives:,} hives', made, taken)}  {memory} MB at most so far"


def run_three() -> Iterator[str]:
    """The hobby jobs in three stages, sections first and rips first, and what these save against two."""
    from woodshop.cutting.planner.proof_tree import TREE_NODES, proved_by_tree

    for case in (case for case in CASES if case.folder == "hobby"):
        if sys.argv[2:] and case.name not in sys.argv[2:]:
            continue
        job = job_of(case)
        for first in ("across", "along"):
            made, taken = timed({**job, "cutting": {"stages": 3, "first": first, "final_trim": False}})
            start = time.process_time()
            made = proved_by_tree(made, TREE_NODES["default"], lambda _: None)
            taken += time.process_time() - start
            saved = 100 * (case.best - made.cost) / case.best
            yield f"{line_of(f'{case.name}, three, {first}', made, taken)}  saves {saved:.2f} % of {case.best}"


def run_rivals(seconds: float = 10.0) -> Iterator[str]:
    """Textbook models in three solvers, side by side with the planner."""
    from rivals import MODELS, SOLVERS

    for case in (case for case in CASES if case.folder == "hobby"):
        job = job_of(case)
        made, taken = timed(job)
        yield line_of(case.name, made, taken)
        for model, build in MODELS.items():
            built = build(job)
            if built is None:
                yield f"  {model}: too many patterns"
                continue
            for name, solve in SOLVERS.items():
                start = time.process_time()
                cost, bound = solve(*built, seconds)
                spent = time.process_time() - start
                yield f"  {model:9} {len(built[0]):6} columns  {name:6} cost {cost}  bound {bound:.1f}  {spent:5.1f} s"


LINES = ("csp1d_falkenauer", "csp1d_scholl", "csp1d_schwerin_waescher", "csp1d_hard28")


def family_of(name: str) -> str:
    """The family of an open job with one stock length."""
    first = name.split("_")
    if first[0] in ("Falkenauer", "Waescher"):
        return f"{first[0]} {first[1].rstrip('0123456789') if first[0] == 'Waescher' else first[1]}"
    scholl = {"C": "Scholl 1", "W": "Scholl 2", "R": "Scholl 3"}
    return scholl[name[2]] if len(first) == 1 or (name[2] in "CW" and name[0] == "N") else first[0]


def run_lines() -> Iterator[str]:
    """The open jobs with one stock length, summed by family."""
    found: dict[str, list[tuple[bool, bool, bool, float]]] = {}
    for folder in LINES:
        for row in json.loads((DATA / folder / "instances.json").read_text(encoding="utf-8")):
            made, taken = timed(job_of(Case(f"lines:{row['name']}", folder, row["ub"])))
            result = (made.cost == row["ub"], made.gap == 0, made.assurance == "proved", taken)
            for name in (family_of(row["name"]), "all"):
                found.setdefault(name, []).append(result)
            if made.cost != row["ub"] or made.gap:
                yield f"best {row['ub']:8}  {line_of(row['name'], made, taken)}"
    for name, results in sorted(found.items()):
        best, closed, proved, times = zip(*results, strict=True)
        yield (
            f"{name:16} {len(results):4} jobs, optimal {sum(best):4}, closed {sum(closed):4}, proved {sum(proved):4}; "
            f"{spread(list(times))}, mean {statistics.mean(times):.2f} s"
        )


def run_lengths(first: int = 0, last: int = 59, seconds: float = 60.0, proved: float = 5.0) -> Iterator[str]:
    """The random jobs with several stock lengths, and what arc-flow makes of them."""
    from length_jobs import length_job
    from rivals import arc_flow, by_highs

    times, gaps, dearer, cheaper = [], [], 0, 0
    for seed in range(first, last + 1):
        job = length_job(seed)
        made, taken = timed(job)
        times.append(taken)
        gaps.append(100 * made.gap / made.cost)
        wide = {key: [{**row, "width": 1} for row in job[key]] for key in ("stock", "blanks")}
        start = time.process_time()
        cost, bound = by_highs(*arc_flow({**job, **wide}), proved if made.assurance == "proved" else seconds)
        spent = time.process_time() - start
        cheaper += cost is not None and cost < made.cost
        dearer += cost is None or cost > made.cost
        yield f"{line_of(f'lengths {seed}', made, taken)}  arc-flow {cost}, bound {bound:.0f}, {spent:.1f} s"
    yield f"closed {sum(gap == 0 for gap in gaps)} of {len(gaps)}; gap of the rest at most {max(gaps):.4f} %"
    yield f"arc-flow cheaper {cheaper}, dearer or without a plan {dearer}; the planner {spread(times)} s"


def run_sheets() -> Iterator[str]:
    """The jobs of sheets against their published values."""
    from sheet_jobs import sheet_jobs

    found: dict[str, list[tuple[bool, int, int, float]]] = {}
    for each in sheet_jobs():
        if sys.argv[2:] and each.of not in sys.argv[2:]:
            continue
        made, taken = timed(each.job)
        found.setdefault(each.of, []).append((each.is_proved, each.published, made.cost, taken))
        if made.cost > each.published:
            kind = "proved" if each.is_proved else "best known"
            yield (
                f"{each.of} {each.name}, {each.how}: {kind} {each.published}, found {made.cost}, "
                f"bound {made.bound}, {taken:.1f} s"
            )
    for of, results in found.items():
        proved = [(published, cost) for is_proved, published, cost, _ in results if is_proved]
        others = [(published, cost) for is_proved, published, cost, _ in results if not is_proved]
        yield (
            f"{of}: {sum(cost <= best for best, cost in proved)} of {len(proved)} proved values reached, "
            f"{sum(cost <= best for best, cost in others)} of {len(others)} best known reached, "
            f"{sum(cost < best for best, cost in others)} of these beaten; {spread([row[3] for row in results])} s"
        )


OPTIONS = {
    "--lines": run_lines,
    "--lengths": run_lengths,
    "--seeds": run_seeds,
    "--random": run_random,
    "--big": run_big,
    "--growth": run_growth,
    "--three": run_three,
    "--rivals": run_rivals,
    "--proofs": run_proofs,
    "--sheets": run_sheets,
}


def main(given: list[str]) -> None:
    """Print the tables asked for."""
    names = [word for word in given if not word.startswith("--")]
    unknown = [word for word in given if word.startswith("--") and word not in (*OPTIONS, "--smoke")]
    if "--help" in given:
        print(__doc__)
        return
    if unknown:
        raise SystemExit(f"{unknown[0]}: no such option; there are --smoke, {', '.join(OPTIONS)}")
    chosen = [OPTIONS[word] for word in given if word in OPTIONS]
    for table in chosen or [lambda: run(names, smoke="--smoke" in given)]:
        for line in table():
            print(line, flush=True)


if __name__ == "__main__":
    sys.path[:0] = [str(ROOT), str(Path(__file__).resolve().parent)]
    main(sys.argv[1:])
