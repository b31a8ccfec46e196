"""Random jobs of lengths alone, with several stock lengths, as neutral jobs: published generator, seeds 0 to 59.

A shop order for lattice, trim or rods: 4 to 24 lengths, up to 40 of each, from 2 to 6 lengths of stock, in 1/16 in.
A price is so much per foot, rounded to whole cents or to ten cents; in every second job long stock costs more per foot,
and in every fourth each piece has a fee of its own. Every third job has offcuts on hand, of which there are few.
"""

import random
from typing import Any

FEET = (3, 4, 6, 8, 10, 12, 14, 16)


def length_job(seed: int) -> dict[str, Any]:
    """The job of one seed."""
    rng = random.Random(seed)
    kerf = rng.choice((0, 1, 2))
    per_foot = rng.uniform(30, 140)
    coin, fee = rng.choice((1, 1, 5, 10)), rng.choice((0, 150)) if seed % 4 == 3 else 0
    rise = 0.02 if seed % 2 else 0.0
    stock = []
    for feet in sorted(rng.sample(FEET, rng.randint(2, 6))):
        cost = max(coin, round((per_foot * feet * (1 + rise * (feet - 6)) + fee) / coin) * coin)
        row: dict[str, Any] = {"id": f"{feet} ft", "length": feet * 192, "cost": cost}
        if rng.random() < 0.25:
            row["count"] = rng.randint(3, 30)
        stock.append(row)
    if all("count" in row for row in stock):
        del stock[-1]["count"]
    for n in range(rng.randint(1, 5) if seed % 3 == 0 else 0):
        length = rng.randint(300, 1400)
        cost = round(per_foot * length / 192 * rng.choice((0, 0.3, 0.6)))
        stock.append({"id": f"offcut {n + 1}", "length": length, "cost": cost, "count": rng.randint(1, 3)})
    longest = max(row["length"] for row in stock if "count" not in row)
    lengths = rng.sample(range(60, min(longest, 1600), rng.choice((1, 4, 8))), rng.randint(4, 24))
    blanks = [{"id": f"L{n}", "length": n, "count": rng.randint(1, rng.choice((4, 12, 40)))} for n in lengths]
    return {
        "format": "woodshop-job/1",
        "unit": "1/16 in",
        "money": "cent",
        "kerf": {"rip": kerf, "crosscut": kerf},
        "stock": stock,
        "blanks": blanks,
    }
