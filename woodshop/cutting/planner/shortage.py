"""What cannot be cut at all: blanks that fit no stock, and stock that is too little."""

from woodshop.cutting.model.job import RULE_KEYS, Job
from woodshop.cutting.planner.extents import lays_of
from woodshop.cutting.planner.knapsack import Key
from woodshop.cutting.planner.network import Network
from woodshop.errors import NothingToCutError, Problem


def refuse_unfit(job: Job, network: Network) -> None:
    """Raise NothingToCutError naming every blank that no stock of the job can yield, and by how much it is too big."""
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
    flat = job.is_flat
    shown = f"{size.length} x {size.width}" if flat else str(size.length)
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
        wanted = f"stock that holds it; it is {' and '.join(parts)} for {stock_id!r}, which comes nearest"
    else:
        kept = [f"{key} {value}" for key in RULE_KEYS if (value := getattr(job.rules, key)) is not None]
        rules = ", ".join(kept) or "none"
        wanted = (
            f"stock that yields it; {stock_id!r} is big enough, but not by these cuts ({job.cutting.stages} stages, "
            f"{job.cutting.first} first) and these rules ({rules})"
        )
    return Problem(
        f"blank {names}", f"{shown} {job.unit}", wanted, "Add larger stock, or change the blank or the rules."
    )


def missing_stock(job: Job, network: Network, missing: tuple[int, ...]) -> list[Problem]:
    """What is short: the limited stock, and how many of each blank it does not yield (as far as is known)."""
    limited = ", ".join(f"{stock.count} of {stock.id!r}" for stock in job.stock if stock.count is not None)
    do = "Add stock, or ask for fewer."
    problems = []
    for size, count in zip(network.sizes, missing, strict=False):
        if count:
            names = ", ".join(repr(name) for name, _ in size.ids)
            given = f"{limited}: {count} of {size.count} wanted cannot be cut"
            problems.append(Problem(f"blank {names}", given, "stock enough for all", do))
    return problems or [Problem("stock", limited or "none", "stock enough for every blank; no plan was found", do)]
