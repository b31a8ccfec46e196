"""Searches for the cheapest whole numbers of patterns, in a few short solver runs over the remaining patterns.

After each run, a pattern is dropped if its reduced cost exceeds the gap between the best cost and the linear solution,
because no cheaper plan can use it. Runs differ in seed, and in whether the totals (boards of each kind, all boards) are
columns for branching. Which run solves a job first is a matter of luck, so several short runs of different kinds are
better than one long run.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from math import ceil

from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Effort, Layout, cost_of
from woodshop.cutting.planner.assemble import lay_out
from woodshop.cutting.planner.board_dive import BoardDive
from woodshop.cutting.planner.network import Network, build_network
from woodshop.cutting.planner.pricing import (
    SCALE,
    USED,
    Column,
    Fair,
    Programme,
    columns_within,
    enumerate_columns,
    fair_prices,
    price_columns,
    price_step,
    programme_of,
    round_up,
    section_lengths,
    whole_prices,
    with_shortage,
    with_totals,
)
from woodshop.cutting.planner.solver import (
    IntegerAnswer,
    Model,
    NoSolutionError,
    Relaxed,
    solve_relaxed,
    solve_whole,
)
from woodshop.cutting.planner.whole_boards import plan_by_sets

EFFORTS: dict[str, tuple[tuple[int, int], ...]] = {
    "quick": ((1, 60),),
    "default": ((1, 4_000), (2, 4_000), (3, 8_000)),
    "long": ((1, 6_000), (2, 12_000), (3, 50_000), (4, 200_000)),
}
"""The runs for each effort, as seed and node limit."""
LARGE_RUNS = ((1, 1_000), (2, 2_000), (3, 2_000))
"""The default runs from `_MANY_PIECES` on. They end once the gap is at most 1/`_VERY_FINE` of the cost."""
PRICED_RUNS = {"quick": ((1, 60),), "default": ((1, 1_500),), "long": ((1, 20_000),)}
ROUNDS = {"quick": 60, "default": 400, "long": 400}
_SMALL_NODES, _SMALL_WORK = 1_000, 1_000_000
"""Limits on nodes, and on nodes times patterns. A smaller search takes seconds, so the quick effort does it too."""
_MANY_PIECES, _FINE, _LESS, _VERY_FINE = 5_000, 10_000, 5, 100_000
"""From `_MANY_PIECES` pieces on, the quick effort ignores savings below 1/`_FINE` and does 1/`_LESS` of the work."""
_SHARE = 100
"""In a large job, a pattern may add at most 1/`_SHARE` of the dearest stock's cost to the linear solution."""
MOST_KNAPSACKS = 400
MOST_SECTION_COLUMNS = 2_000
SECTION_RUNS = {"quick": ((1, 60),), "default": ((1, 2_000),), "long": EFFORTS["long"]}
FEW_SECTIONS = ((80, 100), (40, 100), (20, 100), (10, 100), (40, 300), (20, 300), (40, 1_000), (20, 1_000), (5, 1_000))
"""Numbers of section lengths, each with a number n: a pattern may lose at most 1/n of the lower bound.

The first entry that gives few enough patterns, from which every blank can be made, is used.
"""
_FEW_COSTS = 100
"""A dive for the second lowest cost follows if all costs are multiples of a step of which this many are more."""
_NO_ROOM_WORK = 6_000_000
"""The limit on nodes times patterns if only the lower bound itself would be a cheaper cost."""
MOST_NEAR = 12_000
MOST_NEAR_SECTIONS = {"quick": 500, "default": 1_500, "long": 5_000}
MOST_NEAREST_SECTIONS = {"default": 800, "long": 1_500}
"""Limits of the patterns with sections that are nearly as good as the bound, if not all useful ones can be tried."""
NEAREST_RUNS = {"default": ((1, 3_000),), "long": ((1, 6_000), (2, 12_000))}


@dataclass(frozen=True, slots=True)
class Answer:
    """The layouts found, and what the solver states about them.

    `floating` is the solver's bound, floating point but rounded up to the price step; `is_solved` says whether its gap
    is zero. `prices` of the sizes, in 1/SCALE, are used for a certificate. If there are no layouts, `missing` counts
    the blanks of each size that limited stock could not yield.
    """

    layouts: tuple[Layout, ...] | None
    floating: int
    is_solved: bool
    prices: tuple[int, ...] | None = None
    missing: tuple[int, ...] = ()


def search(
    job: Job,
    network: Network,
    effort: Effort,
    *,
    progress: Callable[[str], None] | None,
    floor: int = 0,
    known: tuple[Layout, ...] | None = None,
) -> Answer:
    """The best layouts found; `floor` is a known bound, and `known` is a plan for the job. Raises SolverFailedError."""
    say = progress or (lambda _: None)
    columns = enumerate_columns(network) if network.complete and len(network.knapsacks) <= MOST_KNAPSACKS else None
    if columns is None:
        return _search_near(job, network, effort, say=say, floor=floor, known=known)
    programme = programme_of(job, network, columns, is_whole=True)
    relaxed = _relaxed(programme)
    if relaxed is None:
        return _short(job, network, programme)
    bound = max(floor, round_up(ceil(relaxed.value - 1e-6 * max(1.0, relaxed.value)), price_step(job)))
    say(f"{len(columns)} patterns; nothing can cost less than {bound}")
    best = _integer(job, network, programme, bound=bound, relaxed=relaxed, runs=EFFORTS[effort], say=say)
    if not best.is_solved:
        useful = [column for column, lost in zip(columns, relaxed.reduced, strict=True) if lost <= USED]
        least = max(bound, best.floating)
        dives = _dives(job, network, useful, effort, say)
        if dives is not None and best.layouts is not None:
            best = _cheaper(job, best, dives.at_most(least))
            best = _cheaper(job, best, dives.below(cost_of(job, best.layouts or ()), least))
            best = replace(best, is_solved=cost_of(job, best.layouts or ()) <= least)
    return best


def _dives(
    job: Job, network: Network, columns: Sequence[Column], effort: Effort, say: Callable[[str], None]
) -> BoardDive | None:
    """Dives that begin with these columns, or None if the job is so large that each would take long."""
    pieces = sum(blank.count for blank in job.blanks)
    if pieces >= _MANY_PIECES or len(network.knapsacks) > MOST_KNAPSACKS:
        return None
    return BoardDive(job, network, columns, effort, say)


def _search_near(
    job: Job,
    network: Network,
    effort: Effort,
    *,
    say: Callable[[str], None],
    floor: int,
    known: tuple[Layout, ...] | None,
) -> Answer:
    """The best layouts found for a job with too many patterns to list.

    Prices from some patterns give a first plan. The search then covers all patterns of plans that cost at most a given
    amount more than the lower bound. The amount grows while there are few enough patterns.
    """
    priced = price_columns(job, network, say, ROUNDS[effort])
    programme = programme_of(job, network, priced.columns, is_whole=False)
    relaxed = _relaxed(programme)
    if relaxed is None:
        return _short(job, network, programme) if known is None else Answer(known, 0, False)
    say(f"{len(priced.columns)} patterns priced; about {relaxed.value:.0f}")
    fair = fair_prices(job, network, priced.prices)
    step = price_step(job)
    least = 0 if fair is None else -(-fair.total // SCALE)
    bound = max(floor, round_up(least, step)) if network.complete else floor
    has_sections = any(knapsack.of[0] in ("part", "panel") for knapsack in network.knapsacks)
    aim = max(bound, round_up(ceil(relaxed.value - 1e-6 * max(1.0, relaxed.value)), step))
    dives = _dives(job, network, priced.columns, effort, say)
    best = Answer(None, 0, False, priced.prices)
    for target in () if dives is None else (aim, aim + step) if step * _FEW_COSTS > aim else (aim,):
        if best.layouts is None and dives is not None:
            best = _cheaper(job, best, dives.at_most(target))
    usual = EFFORTS["quick"] if has_sections else PRICED_RUNS[effort]
    for runs in (usual,) if dives is None else dict.fromkeys((EFFORTS["quick"], usual)):
        if best.layouts is not None and cost_of(job, best.layouts) <= (aim if dives is None else aim + step):
            break
        found = _integer(job, network, programme, bound=aim, relaxed=relaxed, runs=runs, say=say)
        best = _cheaper(job, best, found.layouts)
        if dives is not None and best.layouts is not None and not has_sections:
            best = _cheaper(job, best, dives.below(cost_of(job, best.layouts), aim))
    best = _cheaper(job, best, known)
    if job.cutting.stages == 3 and fair is not None and best.layouts is not None and network.complete:
        cost = cost_of(job, best.layouts)
        found_sets = plan_by_sets(job, network, priced.columns, fair, cost=cost, effort=effort, say=say)
        if found_sets is not None:
            best = replace(_cheaper(job, best, found_sets.layouts), prices=fair.prices)
            cost = cost_of(job, best.layouts or ())
            bound = max(bound, min(found_sets.floating, cost))
            if bound >= cost:
                return replace(best, floating=cost, is_solved=True)
    if has_sections:
        most = cost_of(job, best.layouts or ())
        best = _cheaper(
            job,
            best,
            _with_few_sections(
                job, network, programme, relaxed=relaxed, fair=fair, cost=most, floor=floor, effort=effort, say=say
            ),
        )
    if fair is None or best.layouts is None:
        return best
    best = replace(best, prices=fair.prices)
    most = MOST_NEAR_SECTIONS[effort] if has_sections else MOST_NEAR
    room = cost_of(job, best.layouts or ()) if has_sections else max(step, least // 300)
    runs, is_last = EFFORTS[effort], False
    for _ in range(4):
        cost = cost_of(job, best.layouts or ())
        if cost <= bound:
            break
        room = min(room, max(0, cost - step - least))
        # What a plan that costs `room` more than the bound may lose, counted from the exact bound.
        columns = columns_within(job, network, fair, (least + room) * SCALE - fair.total, most)
        if columns is None and has_sections and effort in NEAREST_RUNS:
            runs, is_last = NEAREST_RUNS[effort], True
            while columns is None and room > step:
                room //= 2
                left = (least + room) * SCALE - fair.total
                columns = columns_within(job, network, fair, left, MOST_NEAREST_SECTIONS[effort])
        if columns is None:
            break
        programme = programme_of(job, network, columns, is_whole=True)
        relaxed = _relaxed(programme)
        if relaxed is None:
            # No plan uses only these patterns, so every plan costs more than the bound plus this amount.
            floating = round_up(least + room + 1, step) if network.complete else 0
            best = replace(best, floating=max(best.floating, floating))
            if is_last or not room:
                break
            room *= 3
            continue
        if not room:
            runs, is_last = ((1, max(_SMALL_NODES // 10, _NO_ROOM_WORK // len(columns))),), True
        found = _integer(job, network, programme, bound=bound, relaxed=relaxed, runs=runs, say=say)
        best = _cheaper(job, best, found.layouts)
        cost = cost_of(job, best.layouts or ())
        if not network.complete:
            break
        floating = max(best.floating, min(found.floating, round_up(least + room + 1, step)))
        if is_last and floating < cost:
            break  # a bound of the solver's that is hardly above the certificate would only make the plan less certain
        solved = floating >= cost
        best = replace(best, floating=min(floating, cost), is_solved=solved)
        say(f"{len(columns)} patterns near enough; {cost}, bound {floating}")
        if solved or not found.is_solved or cost <= bound or is_last:
            break
        room *= 3
    return best


def _cheaper(job: Job, best: Answer, layouts: tuple[Layout, ...] | None) -> Answer:
    if layouts and (not best.layouts or cost_of(job, layouts) < cost_of(job, best.layouts)):
        return replace(best, layouts=layouts)
    return best


def _with_few_sections(
    job: Job,
    network: Network,
    programme: Programme,
    *,
    relaxed: Relaxed,
    fair: Fair | None,
    cost: int,
    floor: int,
    effort: Effort,
    say: Callable[[str], None],
) -> tuple[Layout, ...] | None:
    """Layouts made from patterns with only the section lengths and panel widths that the linear solution prefers."""
    ranked = section_lengths(network, programme, relaxed)
    for most, share in FEW_SECTIONS:
        narrow = build_network(job, only=frozenset(ranked[:most]))
        own = None if fair is None else fair_prices(job, narrow, fair.prices)
        if own is None:
            return None
        columns = columns_within(
            job, narrow, own, min(cost * SCALE - own.total, own.total // share), MOST_SECTION_COLUMNS
        )
        if columns is None:
            continue
        say(f"{most} section lengths")
        few = programme_of(job, narrow, columns, is_whole=False)
        answer = _relaxed(few)
        if answer is not None:
            return _integer(job, narrow, few, bound=floor, relaxed=answer, runs=SECTION_RUNS[effort], say=say).layouts
    return None


def _relaxed(programme: Programme) -> Relaxed | None:
    """The linear solution, or None if these patterns, with limited stock, cannot make every blank."""
    try:
        return solve_relaxed(programme.model)
    except NoSolutionError:
        return None


def _integer(
    job: Job,
    network: Network,
    programme: Programme,
    *,
    bound: int,
    relaxed: Relaxed,
    runs: tuple[tuple[int, int], ...],
    say: Callable[[str], None],
) -> Answer:
    step = price_step(job)
    is_many = sum(blank.count for blank in job.blanks) >= _MANY_PIECES
    is_large = is_many and runs == EFFORTS["quick"]
    is_fine = is_many and runs == EFFORTS["default"]
    enough = max(step, int(relaxed.value) // _FINE) if is_large else step
    everything = range(len(programme.columns))
    useful = list(everything)
    if is_large and not programme.is_whole:
        # Hardly any plan that is nearly as cheap as the linear solution needs a pattern that costs much more.
        most = max(stock.cost for stock in job.stock) / _SHARE
        useful = [n for n in everything if relaxed.reduced[n] <= most]
    best: dict[int, int] | None = None
    cost, floating, solved = 0, 0, False
    for seed, nodes in LARGE_RUNS if is_fine else runs:
        keep = useful
        if best is not None:
            keep = [n for n in keep if relaxed.reduced[n] <= cost - relaxed.value + 1e-6 or n in best]
        found = _solved(job, network, programme, keep, best, nodes=nodes, enough=enough, seed=seed, is_large=is_large)
        if found.counts is None and len(keep) < len(everything) and best is None:
            useful = keep = list(everything)
            found = _solved(
                job, network, programme, keep, best, nodes=nodes, enough=enough, seed=seed, is_large=is_large
            )
        if found.counts is not None:
            counts = {n: count for n, count in zip(keep, found.counts, strict=False) if count}
            total = sum(programme.model.costs[n] * count for n, count in counts.items())
            if best is None or total < cost:
                best, cost = counts, total
        if abs(found.bound) < 1e15:
            # The bound is valid for the patterns kept, and so for every plan cheaper than the best one known.
            floating = max(floating, round_up(ceil(found.bound - 1e-6 * max(1.0, abs(found.bound))), step))
        solved = found.is_solved and (enough == step or floating >= cost)
        say(f"{cost if best else 'nothing yet'}, bound {max(bound, floating)}; {len(keep)} patterns kept")
        if found.is_solved or found.is_infeasible or (best is not None and cost <= bound):
            break
        if is_fine and best is not None and cost - max(bound, floating) <= cost // _VERY_FINE:
            break
    if best is None:
        return _short(job, network, programme)
    layouts = lay_out(job, network, programme.columns, [best.get(n, 0) for n in everything])
    prices = tuple(whole_prices(programme, relaxed, len(network.sizes)))
    if programme.is_whole:
        return Answer(layouts, min(floating, cost), solved, prices)
    return Answer(layouts, 0, False, prices)


def _solved(
    job: Job,
    network: Network,
    programme: Programme,
    keep: list[int],
    best: dict[int, int] | None,
    *,
    nodes: int,
    enough: int,
    seed: int,
    is_large: bool,
) -> IntegerAnswer:
    """One solver run over the patterns in `keep`, starting from the counts in `best`, to within `enough`."""
    model = part_of(programme.model, keep)
    hint = None if best is None else [best.get(n, 0) for n in keep]
    model, hint = with_totals(job, network, [programme.columns[n][0] for n in keep], model, hint)
    most = max(nodes, min(_SMALL_NODES, _SMALL_WORK // (_LESS if is_large else 1) // max(1, len(keep))))
    gap = enough - price_step(job) / 1000
    return solve_whole(model, nodes=most, absolute_gap=gap, hint=hint, seed=seed, by_branching=is_large)


def _short(job: Job, network: Network, programme: Programme) -> Answer:
    """The answer with as few missing blanks as possible. It has layouts only if no blank is missing."""
    sizes = network.sizes
    dear = 1 + sum(stock.cost for stock in job.stock)
    penalties = [dear * size.length * size.width for size in sizes]
    model = with_shortage(programme.model, [penalty // min(penalties) * dear for penalty in penalties])
    found = solve_whole(model, nodes=2000, absolute_gap=0.5)
    if found.counts is None:
        return Answer(None, 0, False)
    counts, missing = found.counts[: len(programme.columns)], found.counts[len(programme.columns) :]
    if any(missing):
        return Answer(None, 0, False, None, missing)
    return Answer(lay_out(job, network, programme.columns, counts), 0, False)


def part_of(model: Model, keep: Sequence[int]) -> Model:
    """The model with only these columns."""
    return Model(tuple(model.costs[n] for n in keep), tuple(model.columns[n] for n in keep), model.rows)
