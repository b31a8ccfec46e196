"""Proves, with exact integers, that no plan for a job costs less than its certificate states.

The proof uses no solver and no code of the planner. A certificate has a price for each blank and a rent for each stock
with a limited count, all in 1/scale of a unit of currency. It proves its bound if

1. no price and no rent is negative, and only limited stock has a rent;
2. no layout that the saw can cut from a stock is worth more, at these prices, than scale x cost + rent;
3. the bound is at most (sum of count x price - sum of count x rent) / scale, rounded up to a multiple of the
   common divisor of all costs; or at most the lowest cost of whole boards, of limited stock no more than there are,
   whose best layouts are together worth sum of count x price.

The reason: take any plan without its spare pieces. Its boards contain every blank the required number of times, so
they are worth sum(count x price). By point 2, they are worth at most scale x their cost, plus a rent for each board of
limited stock. The cost of every plan is a multiple of the divisor. (This is weak duality: P. Gilmore, R. Gomory, "A
linear programming approach to the cutting-stock problem", Operations Research 9, 1961; not checked against the paper.)
Also, no board is worth more than its best layout, and a plan has whole boards, so it costs at least what the cheapest
whole boards of that worth cost. If a few large boards are enough, this second bound is much higher.

`worth.py` finds the worth of the best layout for point 2.
"""

from bisect import bisect_left
from collections.abc import Sequence
from math import gcd

from woodshop.cutting.checkers.prove_tree import tree_bound
from woodshop.cutting.checkers.tables import KnapsackTable, Load
from woodshop.cutting.checkers.worth import worth_of_stock
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Certificate, Plan
from woodshop.cutting.model.proof import proof_digest
from woodshop.findings import Finding, Severity


def bound_of(job: Job, certificate: Certificate) -> tuple[int | None, str]:
    """The bound that the certificate proves for the job, and ""; or None and the reason if it proves none.

    The result is exact. The calculation takes about as long as solving a few knapsack problems.
    """
    prices, rents = dict(certificate.prices), dict(certificate.rents)
    if certificate.scale < 1 or len(prices) != len(certificate.prices) or len(rents) != len(certificate.rents):
        return None, "a scale below 1, or an id twice"
    limited = {stock.id: stock.count for stock in job.stock if stock.count is not None}
    unknown = sorted((prices.keys() - {blank.id for blank in job.blanks}) | (rents.keys() - limited.keys()))
    if unknown:
        return None, f"{unknown[0]!r}, which is no blank, or no limited stock, of the job"
    if min([*prices.values(), *rents.values()], default=0) < 0:
        return None, "a price or rent below zero"
    worths = worth_of_stock(job, prices)
    for stock, worth in zip(job.stock, worths, strict=True):
        if worth > certificate.scale * stock.cost + rents.get(stock.id, 0):
            return None, f"a layout on {stock.id!r} worth {worth}, more than its cost and rent"
    needed = sum(blank.count * prices.get(blank.id, 0) for blank in job.blanks)
    total = needed - sum((limited[name] or 0) * rent for name, rent in rents.items())
    step = gcd(*(stock.cost for stock in job.stock)) or 1
    return max(0, -(-total // (certificate.scale * step)) * step, _of_whole_boards(job, worths, needed)), ""


def prove_plan(plan: Plan) -> tuple[Finding, ...]:
    """An error finding if a plan's certificate does not prove the plan's lower bound; otherwise empty.

    The certificate must prove every bound of kind "root" or "area", and a proof tree every bound of kind "tree". For
    a bound of another kind, the certificate must prove only its own (lower) bound.
    """

    def error(place: str, value: str, limits: str) -> tuple[Finding, ...]:
        do = "Plan again, or trust the cost only."
        return (Finding("plan-proof", Severity.ERROR, place, value, limits, "weak duality, in exact integers", do),)

    certificate = plan.certificate
    is_by_tree = plan.bound_kind == "tree"
    if is_by_tree or plan.proof is not None:
        why = _fault_of_tree(plan) if is_by_tree else f"there is one, but the bound is of kind {plan.bound_kind!r}"
        if why:
            return error("proof", why, f"a proof tree that shows that no plan costs less than {plan.bound}")
    is_other = is_by_tree or (plan.bound_kind == "solver" and plan.assurance != "proved")
    claimed = 0 if is_other else plan.bound
    if certificate is None:
        return error("certificate", "none", f"one that proves {claimed}") if claimed > 0 else ()
    proved, why = bound_of(plan.job, certificate)
    if proved is None:
        return error("certificate", why, "prices and rents that no layout beats")
    if certificate.bound > proved:
        return error("certificate.bound", str(certificate.bound), f"at most {proved}, which it proves")
    if claimed > certificate.bound:
        return error("bound", str(claimed), f"at most {certificate.bound}, as its certificate says")
    return ()


def _fault_of_tree(plan: Plan) -> str:
    """What is wrong with the proof tree of a plan, or ""."""
    if plan.proof is None or not plan.proof.text:
        return "none" if plan.proof is None else f"its file {plan.proof.file!r} was not read"
    if proof_digest(plan.proof.text) != plan.proof.sha256:
        return "a text with another sha256 than the plan says"
    bound, why = tree_bound(plan.job, plan.proof.text)
    if bound is not None and bound < plan.bound:
        return f"one for {bound} only"
    return why


def _of_whole_boards(job: Job, worths: Sequence[int], needed: int) -> int:
    """A lower bound on the cost of whole boards that are together worth `needed`. Exact unless costs are very fine."""
    step = gcd(*(stock.cost for stock in job.stock)) or 1
    loads: list[Load] = []
    enough: list[int] = []
    for stock, worth in zip(job.stock, worths, strict=True):
        most = stock.count if stock.count is not None else -(-needed // worth) if worth else 0
        if not stock.cost:
            needed -= most * worth
        elif worth:
            loads.append((stock.cost // step, most, worth))
            enough += [most * stock.cost // step] if stock.count is None else []
    if needed <= 0 or not loads:
        return 0
    table = KnapsackTable(loads, min(enough, default=sum(size * most for size, most, _ in loads)))
    first = bisect_left(table.values, needed)
    return first * table.unit * step if first < len(table.values) else 0
