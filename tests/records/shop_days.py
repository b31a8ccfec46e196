"""Invented events of a small shop, for tests of the book."""

from collections.abc import Iterator
from random import Random
from typing import Any

from woodshop.records.events import NewEvent, new_event
from woodshop.records.kinds import kind_named, read_fields

PINE, BOARD = "1x6 pine, 8 ft", "board 3/4 in"


def sent(kind: str, day: str = "", event_id: str = "", nth: int = 1, **texts: Any) -> NewEvent:
    """An event from texts; a final underscore of a name is dropped (`from_`)."""
    fields = {name.rstrip("_"): str(text) for name, text in texts.items()}
    read = read_fields(kind_named(kind, kind), fields, "in", "USD", kind)
    return new_event(kind, read, day, event_id, nth=nth, where=kind)


def autumn() -> list[NewEvent]:
    """One small order from its acceptance to its last payment, with mishaps."""
    box = {"item": "quilt box", "box": "tens"}
    cut = {"batch": "autumn", "material": BOARD}
    return [
        sent("order accepted", "2026-09-20", order="M-1", customer="Ida Sorrel", **box, count=4, price="32.00"),
        sent("order accepted", "2026-09-20", order="M-1", customer="Ida Sorrel", item="mouse guard", box="tens",
             count=4, price="9.50"),
        sent("deposit paid", "2026-09-21", order="M-1", amount="50.00"),
        sent("price seen", "2026-09-22", lumberyard="Creekside", stock=PINE, price="11.12"),
        sent("stock bought", "2026-09-23", stock=PINE, count=10, price="11.12", lumberyard="Creekside", material=BOARD,
             batch="autumn"),
        sent("stock bought", "2026-09-23", stock="screws, box of 100", count=2, price="6.40", lumberyard="Creekside"),
        sent("board unusable", "2026-09-24", **cut, stock=PINE, count=1, reason="twisted"),
        sent("board shorter", "2026-09-24", **cut, stock=PINE, board="B1", length="7 ft 10 in"),
        sent("board with bad stretch", "2026-09-24", **cut, board="B1", from_="22", to="25 1/2"),
        sent("layout cut", "2026-09-25", **cut, layout=1, times=6, stock=PINE),
        sent("layout cut", "2026-09-25", **cut, layout=2, times=1, board="B1"),
        sent("offcut put away", "2026-09-25", offcut="R7", material=BOARD, length="31 1/2", width="5 1/2"),
        sent("pieces spoiled", "2026-09-25", **cut, part="quilt box side", count=1, reason="cut short"),
        sent("pieces lost", "2026-09-26", **cut, part="quilt box side", count=2),
        sent("pieces found", "2026-09-27", **cut, part="quilt box side", count=1),
        sent("minutes taken", "2026-09-27", operation="assemble", minutes="50", count=4),
        sent("minutes taken", "2026-09-28", operation="assemble", minutes="34", count=3),
        sent("kerf measured", "2026-09-25", cut="rip", kerf="0.122"),
        sent("kerf measured", "2026-09-26", cut="rip", kerf="0.124"),
        sent("density measured", "2026-10-02", density="0.83"),
        sent("units finished", "2026-10-01", **box, count=5),
        sent("units finished", "2026-10-01", item="mouse guard", box="tens", count=4),
        sent("units sold", "2026-10-05", **box, count=4, order="M-1"),
        sent("units sold", "2026-10-05", item="mouse guard", box="tens", count=4, order="M-1"),
        sent("balance paid", "2026-10-05", order="M-1", amount="116.00"),
        sent("units fitted", "2026-11-02", **box, count=1, hive="blue hive"),
        sent("box measured", "2026-10-12", customer="Ida Sorrel", box="sorrel tens", frames=10, length="19 7/8",
             width="16 1/4", gap="1/4, 5/16"),
        sent("units taken off", "2027-03-20", **box, count=1, hive="blue hive"),
        sent("units need repair", "2027-03-20", **box, count=1, reason="skirt split"),
    ]  # fmt: skip


def days_of_work(seed: int) -> Iterator[NewEvent]:
    """Endless events that can always be, in a random order that the seed fixes: each has an id of its own."""
    draw = Random(seed)
    n = 0
    while True:
        n += 1
        name, count = f"board {draw.randrange(5)}", draw.randrange(1, 9)
        yield draw.choice(
            [
                sent("stock bought", event_id=f"{seed}-{n}", stock=name, count=count, price="5.25"),
                sent("units finished", event_id=f"{seed}-{n}", item="quilt box", box=f"box {count}", count=count),
                sent("minutes taken", event_id=f"{seed}-{n}", operation="assemble", minutes=count, count=count),
            ]
        )
