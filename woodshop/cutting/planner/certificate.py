"""From the prices of a linear answer, or of the material itself, to a certificate that `prove` accepts."""

from collections.abc import Mapping, Sequence
from fractions import Fraction

from woodshop.cutting.checkers.prove import bound_of, worth_of_stock
from woodshop.cutting.model.job import Job
from woodshop.cutting.model.plan import Certificate
from woodshop.cutting.planner.columns import SCALE
from woodshop.cutting.planner.network import Network


def certify(job: Job, network: Network, prices: Sequence[int]) -> Certificate | None:
    """A certificate from a price per size (in 1/SCALE): lowered until no unlimited stock is worth more than its cost,
    with rents for limited stock. None when nothing can be proved with them."""
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
    """A price per size (in 1/SCALE) by the material alone: every piece takes (length + kerf) x (width + kerf) of stock
    that has (length + kerf) x (width + kerf) per stretch, at the price per area of the dearest stock needed, when the
    cheapest per area is used up first."""
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
