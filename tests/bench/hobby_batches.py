"""Random hobby batches as neutral jobs, and the big lumberyard: published generator, seeds 0 to 99.

A batch: 6 to 60 hives, ten- and eight-frame boxes mixed; each gets a fondant rim, a wire bottom's frame, quarter-inch
strips or a quilt box, as drawn. Sizes in 1/64 in. Prices: so much per foot and width, rounded to whole cents or to
ten cents, with a surcharge by length for some lumberyards. Every third batch has a rack of limited offcuts.
"""

import random
from typing import Any

LENGTHS_FT = (6, 8, 10, 12)
WIDTHS = {"1x3": 160, "1x4": 224, "1x6": 352, "1x8": 464, "1x10": 592, "1x12": 720}
PER_FOOT = {"1x3": 68, "1x4": 87, "1x6": 139, "1x8": 190, "1x10": 260, "1x12": 345}


def hobby_batch(seed: int) -> dict[str, Any]:
    """The job of one seed: 6 to 60 hives."""
    rng = random.Random(seed)
    hives = rng.randint(6, 60)
    eights = rng.randint(0, hives // 2)
    tens = hives - eights
    rims = rng.sample(range(120, 345, 8), rng.randint(1, 2))  # rim heights from 1 7/8 in
    ends = {"ten": (rng.choice((1040, 1024, 1008)), tens), "eight": (rng.choice((880, 864, 848)), eights)}
    blanks: list[dict[str, Any]] = []

    def add(name: str, length: int, width: int, count: int) -> None:
        if count > 0:
            blanks.append({"id": name, "length": length, "width": width, "count": count, "rotate": False})

    share = hives
    for n, rim in enumerate(rims):
        some = share if n == len(rims) - 1 else rng.randint(1, max(1, share - 1))
        share -= some
        add(f"rim{n} side", 1272, rim, 2 * some)
        for frame, (length, count) in ends.items():
            add(f"rim{n} {frame} end", length, rim, 2 * round(count * some / hives))
    if rng.random() < 0.6:
        add("floor side", 1432, 120, hives)
        for frame, (length, count) in ends.items():
            add(f"floor {frame} end", length, 120, count)
    if rng.random() < 0.5:
        add("strip long", 1240, 48, hives)
        for frame, (length, count) in ends.items():
            add(f"strip {frame}", length - 16, 48, count)
    if rng.random() < 0.3:
        add("quilt side", 1272, 352, 2 * rng.randint(2, 10))
        add("quilt end", 1008, 352, 2 * rng.randint(2, 10))
    coin = rng.choice((1, 1, 5, 10))
    surcharge = rng.choice((0.0, 0.0, 0.01, 0.02))
    stock: list[dict[str, Any]] = []
    for name in sorted(rng.sample(sorted(WIDTHS), rng.randint(3, 6))):
        per_foot = PER_FOOT[name] * rng.uniform(0.8, 1.25)
        for feet in sorted(rng.sample(LENGTHS_FT, rng.randint(2, 4))):
            cost = max(coin, round(per_foot * feet * (1 + surcharge * (feet - 6)) / coin) * coin)
            stock.append({"id": f"{name} {feet} ft", "width": WIDTHS[name], "length": feet * 768, "cost": cost})
    widest = max(row["width"] for row in blanks)
    if all(row["width"] < widest for row in stock):
        stock.append({"id": "1x12 8 ft", "width": 720, "length": 6144, "cost": round(2760 / coin) * coin})
    if seed % 3 == 0:
        for n in range(rng.randint(2, 6)):
            width = rng.choice(sorted(WIDTHS.values()))
            length = rng.randint(900, 5000)
            cost = rng.choice((0, round(width * length / 3000)))
            rack = {"id": f"rack {n}", "width": width, "length": length, "cost": cost, "count": rng.randint(1, 3)}
            if rng.random() < 0.3:
                knot = rng.randint(100, length - 200)
                rack["unusable"] = [[knot, knot + rng.randint(20, 100)]]
            stock.append(rack)
    return _job(stock, blanks)


def two_hives(offers: int = 30) -> dict[str, Any]:
    """Two hives and a full lumberyard."""
    rng = random.Random(2)
    stock = [
        {"id": f"{name} {feet} ft", "width": width, "length": feet * 768, "cost": round(PER_FOOT[name] * feet)}
        for feet in (6, 8, 10, 12, 14)
        for name, width in WIDTHS.items()
    ][:offers]
    rng.shuffle(stock)
    blanks = [
        {"id": "rim side", "length": 1272, "width": 160, "count": 4, "rotate": False},
        {"id": "rim end", "length": 944, "width": 160, "count": 4, "rotate": False},
        {"id": "quilt side", "length": 1272, "width": 352, "count": 4, "rotate": False},
        {"id": "quilt end", "length": 944, "width": 352, "count": 4, "rotate": False},
        {"id": "strip", "length": 928, "width": 48, "count": 6, "rotate": False},
    ]
    return _job(stock, blanks)


def big_lumberyard(hives: int = 10_000, kinds: int = 50) -> dict[str, Any]:
    """So many hives, 60 stock types, 50 blanks."""
    rng = random.Random(7)
    widths = (96, 128, 160, 192, 224, 288, 352, 464, 592, 720)
    stock = [
        {
            "id": f"{width} x {feet} ft",
            "width": width,
            "length": feet * 768,
            "cost": round(width * feet * 0.36 * rng.uniform(0.9, 1.1)),
        }
        for width in widths
        for feet in (6, 8, 10, 12, 14, 16)
    ]
    blanks = [
        {
            "id": f"b{n}",
            "length": 8 * rng.randint(80, 190),
            "width": rng.choice((48, 96, 120, 160, 216, 272, 352)),
            "count": hives * rng.randint(1, 4) // rng.randint(1, 4),
            "rotate": False,
        }
        for n in range(kinds)
    ]
    return _job(stock, blanks)


def _job(stock: list[dict[str, Any]], blanks: list[dict[str, Any]]) -> dict[str, Any]:
    return {
        "format": "woodshop-job/1",
        "unit": "1/64 in",
        "money": "cent",
        "kerf": {"rip": 8, "crosscut": 8},
        "cutting": {"stages": 2, "first": "along", "final_trim": False},
        "stock": stock,
        "blanks": blanks,
    }
