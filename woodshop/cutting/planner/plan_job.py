"""Plans a job. Reports blanks that do not fit any stock, and shortages of stock."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction

from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.prove import bound_of, prove_plan
from woodshop.cutting.checkers.worth import worth_of_stock
from woodshop.cutting.lengths.problem import lengths_of
from woodshop.cutting.lengths.search import search_lengths
from woodshop.cutting.model.job import DIRECTIONS, RULE_KEYS, First, Job, job_digest
from woodshop.cutting.model.plan import Assurance, BoundKind, Certificate, Effort, Layout, Plan, cost_of
from woodshop.cutting.order.sequence import plan_as_sawn
from woodshop.cutting.planner.assemble import finish
from woodshop.cutting.planner.board_prices import board_prices
from woodshop.cutting.planner.first_fit import first_fit
from woodshop.cutting.planner.integer import EFFORTS, Answer, search
from woodshop.cutting.planner.knapsack import Key, SameBlanks, lays_of
from woodshop.cutting.planner.network import Network, build_network
from woodshop.cutting.planner.pricing import SCALE, enumerate_columns
from woodshop.cutting.planner.solver import SolverFailedError
from woodshop.cutting.planner.worst_boards import replan_worst
from woodshop.errors import NothingToCutError, Problem, Shortage, ShortOfStockError


def refuse_unfit(job: Job, network: Network) -> None:
    """Raises NothingToCutError with every blank that does not fit any stock, and by how much it is too big."""
    able: set[Key] = {("size", i) for i in range(len(network.sizes))}
    reached: set[Key] = set()
    todo = [knapsack for knapsack in network.knapsacks if knapsack.of[0] == "stock"]
    seen: set[Key] = {knapsack.of for knapsack in todo}
    by_region: dict[Key, list[int]] = {}
    for n, knapsack in enumerate(network.knapsacks):
        by_region.setdefault(knapsack.of, []).append(n)
    while todo:
        knapsack = todo.pop()
        for item in knapsack.items:
            if item.size > knapsack.capacity or item.cap < 1:
                continue
            for key in item.yields:
                if key in able:
                    reached.add(key)
                elif key not in seen:
                    seen.add(key)
                    todo += [network.knapsacks[n] for n in by_region.get(key, [])]
    problems = [_unfit(job, network, i) for i in range(len(network.sizes)) if ("size", i) not in reached]
    if problems:
        raise NothingToCutError(*problems)


def _unfit(job: Job, network: Network, i: int) -> Problem:
    size = network.sizes[i]
    names = ", ".join(repr(name) for name, _ in size.ids)
    best: tuple[int, int, int, str] | None = None
    for stock, board in zip(job.stock, network.boards, strict=True):
        longest = max((extent for _, extent in board.segments), default=0)
        for length, width, _ in lays_of(size):
            over, wide = max(0, length - longest), max(0, width - board.width)
            if best is None or (over + wide, over, wide) < best[:3]:
                best = (over + wide, over, wide, stock.id)
    _, over, wide, stock_id = best or (0, 0, 0, "-")
    if over or wide:
        parts = [f"{over} too long"] if over else []
        parts += [f"{wide} too wide"] if wide else []
        wanted = f"larger stock; it is {' and '.join(parts)} for {stock_id!r}, the closest"
    else:
        kept = [f"{key} {value}" for key in RULE_KEYS if (value := getattr(job.rules, key)) is not None]
        rules = ", ".join(kept) or "none"
        wanted = (
            f"stock it can be cut from; {stock_id!r} is big enough, but not with these cuts ({job.cutting.stages} "
            "stages, "
            f"{job.cutting.first} first) and these rules ({rules})"
        )
    return Problem(f"part {names}", _shown(job, size), wanted, "Add larger stock, or change the part or the rules.")


def short_of_stock(job: Job, missing: Iterable[tuple[SameBlanks, int]]) -> ShortOfStockError:
    """The error for limited stock that is too little: how many of each size are missing, as far as known."""
    limited = ", ".join(f"{stock.count} of {stock.id!r}" for stock in job.stock if stock.count is not None)
    problems, short = [], []
    for size, count in missing:
        if count:
            names = tuple(name for name, _ in size.ids)
            given = f"{limited}: {count} of {size.count} wanted cannot be cut"
            wanted = f"enough stock for all parts, each {_shown(job, size)}"
            do = "Add stock that is large enough, or ask for fewer."
            problems.append(Problem(f"part {', '.join(map(repr, names))}", given, wanted, do))
            short.append(Shortage(names, count, size.count))
    if not problems:
        do = "Add stock, or ask for fewer."
        return ShortOfStockError(
            Problem("stock", limited or "none", "enough stock for every part (no plan was found)", do)
        )
    return ShortOfStockError(*problems, short=tuple(short))


def _shown(job: Job, size: SameBlanks) -> str:
    """A size in the unit of the job, as text."""
    return f"{size.length} x {size.width} {job.unit}" if job.is_flat else f"{size.length} {job.unit}"


def certify(job: Job, network: Network, prices: Sequence[int]) -> Certificate | None:
    """A certificate from size prices (in 1/SCALE), with rents for limited stock, or None if it would prove nothing.

    The prices are lowered until no unlimited stock is worth more than its cost.
    """
    by_blank = {name: price for size, price in zip(network.sizes, prices, strict=True) for name, _ in size.ids}
    for _ in range(4):
        worths = worth_of_stock(job, by_blank)
        over = [
            Fraction(stock.cost * SCALE, worth)
            for stock, worth in zip(job.stock, worths, strict=True)
            if stock.count is None and worth > stock.cost * SCALE
        ]
        if not over:
            return _with_rents(job, by_blank, worths)
        least = min(over)
        by_blank = {name: price * least.numerator // least.denominator for name, price in by_blank.items()}
    return None


def _with_rents(job: Job, prices: Mapping[str, int], worths: Sequence[int]) -> Certificate | None:
    rents = tuple(
        (stock.id, worth - stock.cost * SCALE)
        for stock, worth in zip(job.stock, worths, strict=True)
        if stock.count is not None and worth > stock.cost * SCALE
    )
    own = tuple((blank.id, prices[blank.id]) for blank in job.blanks if prices[blank.id] > 0)
    bound, _ = bound_of(job, Certificate(SCALE, own, rents, 0))
    return Certificate(SCALE, own, rents, bound) if bound else None


def area_prices(job: Job, network: Network) -> list[int]:
    """A price per size (in 1/SCALE), calculated only from the amount of material.

    Every piece uses (length + kerf) x (width + kerf), and every usable stretch of stock provides its own (length +
    kerf) x (width + kerf). Stock is assumed to be used in order of price per area, cheapest first. The price per area
    of the last stock needed is the price used.
    """
    kx, ky = job.kerf.crosscut, job.kerf.rip
    areas = []
    for size in network.sizes:
        plain = (size.length + kx) * (size.width + ky)
        turned = (size.width + kx) * (size.length + ky)
        areas.append(min(plain, turned) if size.rotate else plain)
    offers = []
    for stock, board in zip(job.stock, network.boards, strict=True):
        area = sum(extent + kx for _, extent in board.segments) * (board.width + ky)
        if area:
            offers.append((Fraction(stock.cost, area), area, stock.count))
    left = sum(area * size.count for area, size in zip(areas, network.sizes, strict=True))
    rate = Fraction(0)
    for price, area, count in sorted(offers, key=lambda offer: offer[0]):
        rate = price
        left -= left if count is None else min(left, area * count)
        if left <= 0:
            break
    return [area * SCALE * rate.numerator // rate.denominator for area in areas]


_MOST_IN_TWO_STAGES = 3_000

Progress = Callable[[str], None]


def plan(job: Job, *, effort: Effort = "default", progress: Progress | None = None) -> Plan:
    """The cheapest plan found for a job, checked before it is returned.

    `effort` is "quick", "default" or "long" (node limits); `progress` receives lines of text during the work. Raises
    NothingToCutError if a blank does not fit any stock, limited stock is short, or the plan fails its own check.
    """
    if effort not in EFFORTS:
        raise ValueError(f"effort {effort!r}: wanted one of {', '.join(EFFORTS)}")
    network = build_network(job)
    refuse_unfit(job, network)
    area = certify(job, network, area_prices(job, network))
    say = progress or (lambda _: None)
    floor = area.bound if area else 0
    lengths = lengths_of(job, network)
    fewer, pencil, answer = None, None, None
    try:
        if lengths is not None:
            answer = search_lengths(job, network, lengths, effort, say=say, floor=floor)
        if answer is None:
            pencil = first_fit(job, network)
            fewer = _in_two_stages(job, effort, progress)
            answer = search(job, network, effort, progress=progress, floor=floor, known=fewer)
    except SolverFailedError as error:
        say(f"no solver: {error}")
        pencil = first_fit(job, network) if pencil is None else pencil
        answer = Answer(None, 0, False)
    kind: BoundKind = "area"
    certificate = area
    candidates = [] if answer.layouts is None else [(cost_of(job, answer.layouts), 0, answer.layouts)]
    if fewer is not None:
        candidates.append((cost_of(job, fewer), 0, fewer))
    if pencil is not None:
        layouts = finish(job, network, pencil)
        candidates.append((cost_of(job, layouts), 1, layouts))
    if not candidates:
        raise short_of_stock(job, zip(network.sizes, answer.missing, strict=False))
    cost, by_first_fit, layouts = min(candidates, key=lambda candidate: candidate[:2])
    is_first_fit = bool(by_first_fit) and answer.layouts is None
    for prices in () if answer.prices is None else board_prices(job, network, answer.prices, cost):
        root = certify(job, network, prices)
        if root is not None and (certificate is None or root.bound > certificate.bound):
            kind, certificate = "root", root
        if certificate is not None and certificate.bound >= cost:
            break
    if lengths is None and kind == "root" and certificate is not None and not answer.is_solved:
        try:
            layouts = replan_worst(
                job,
                layouts,
                dict(certificate.prices),
                certificate.scale,
                bound=max(certificate.bound, answer.floating),
                effort=effort,
                say=say,
            )
        except SolverFailedError as error:
            say(f"no solver: {error}")
        cost = cost_of(job, layouts)
    made = _judged(job, cost, layouts, answer=answer, kind=kind, certificate=certificate, is_first_fit=is_first_fit)
    faults = check_plan(made, job) + prove_plan(made)
    if not faults:
        made = plan_as_sawn(made)
        faults = check_plan(made, job)
    if faults:
        do = "This is a fault of the planner: keep the job file and report it."
        raise NothingToCutError(
            *(Problem(fault.place, f"{fault.code}: {fault.value}", fault.limits, do) for fault in faults)
        )
    return made


def plan_of_layouts(job: Job, layouts: tuple[Layout, ...], known: Certificate | None = None) -> Plan:
    """A plan of given layouts, not checked.

    Its bound comes from the amount of material alone or from the prices of a `known` certificate (for the same blanks
    with other counts or stock), whichever proves more.
    """
    network = build_network(job)
    kind: BoundKind = "area"
    best = certify(job, network, area_prices(job, network))
    if known is not None:
        by_blank = {name: price * SCALE // known.scale for name, price in known.prices}
        prices = [min(by_blank.get(name, 0) for name, _ in size.ids) for size in network.sizes]
        other = certify(job, network, prices)
        if other is not None and (best is None or other.bound > best.bound):
            best, kind = other, "root"
    cost = cost_of(job, layouts)
    return _judged(job, cost, layouts, answer=Answer(None, 0, False), kind=kind, certificate=best, is_first_fit=False)


def refuse_uncuttable(job: Job) -> None:
    """Raises NothingToCutError if the job cannot be planned: a blank does not fit any stock, or limited stock is short.

    Searches only if all stock is limited.
    """
    refuse_unfit(job, build_network(job))
    if all(stock.count is not None for stock in job.stock):
        plan(job, effort="quick")


def _in_two_stages(job: Job, effort: Effort, progress: Progress | None) -> tuple[Layout, ...] | None:
    """The best two-stage plan for a three-stage job.

    The board is ripped first if that is allowed. This is possible even if sections come first, because a board ripped
    whole is a board with a single section. The quick effort is used if there are so many patterns that this plan would
    take longer than the job itself, unless it is the only plan.
    """
    if job.cutting.stages != 3:
        return None
    best: tuple[Layout, ...] | None = None
    own = job.cutting.first
    ways: tuple[First, ...] = DIRECTIONS if own == "across" else (own,)
    for first in ways:
        fewer = replace(job, cutting=replace(job.cutting, stages=2, first=first))
        is_long = best is not None and enumerate_columns(build_network(fewer), _MOST_IN_TWO_STAGES) is None
        try:
            found = plan(fewer, effort="quick" if is_long else effort, progress=progress).layouts
        except NothingToCutError:
            continue  # nothing fits with two stages
        if own == "across":
            found = tuple(replace(layout, first=own) for layout in found)
        if best is None or cost_of(job, found) < cost_of(job, best):
            best = found
    return best


def _judged(
    job: Job,
    cost: int,
    layouts: tuple[Layout, ...],
    *,
    answer: Answer,
    kind: BoundKind,
    certificate: Certificate | None,
    is_first_fit: bool,
) -> Plan:
    bound = certificate.bound if certificate else 0
    floating = cost if answer.is_solved else min(answer.floating, cost)
    if floating > bound:
        bound, kind = floating, "solver"
    assurance: Assurance
    if bound == cost:
        assurance = "solved" if kind == "solver" else "proved"
    else:
        assurance = "first_fit" if is_first_fit else "within"
    return Plan(
        job=job,
        job_digest=job_digest(job),
        cost=cost,
        bound=bound,
        bound_kind=kind,
        assurance=assurance,
        gap=cost - bound,
        layouts=layouts,
        certificate=certificate,
    )
