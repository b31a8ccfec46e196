"""A book of 1,000, 10,000 and 100,000 events: started, opened and listed, folded, one event added, checked.

`python tests/bench/bench_records.py [--smoke] [--exported]`

Seconds are those of the clock and of the processor, the least of three runs; the listing is that of the command, with
the start of Python. `--exported` also exports each book and imports it into a new one; `--smoke` does 100 events once.
"""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from random import Random

ROOT = Path(__file__).resolve().parents[2]
SIZES = (1_000, 10_000, 100_000)


def season(count: int) -> list[object]:
    """An invented shop's events: orders, stock, layouts, pieces, units, prices and minutes, all of which can be."""
    from woodshop.records.events import new_event

    draw = Random(1)
    events: list[object] = []
    for n in range(count):
        day = f"{2020 + n // 20_000}-{1 + n % 12:02d}-{1 + n % 28:02d}"
        stock, box = f"1x{4 + n % 5} pine, 8 ft", f"box {n % 60}"
        cut = {"batch": f"batch {n // 5000}", "material": "board 3/4 in"}
        kind, fields = (
            ("stock bought", {"stock": stock, "count": 5, "price": 1000 + n % 300, "lumberyard": "Creekside"}),
            ("layout cut", {**cut, "layout": 1 + n % 40, "times": 1}),
            ("units finished", {"item": "quilt box", "box": box, "count": 2}),
            ("pieces spoiled", {**cut, "part": f"side {n % 20}", "count": 1, "reason": "cut short"}),
            ("price seen", {"lumberyard": "Creekside", "stock": stock, "price": 1000 + draw.randrange(300)}),
            ("minutes taken", {"operation": "assemble", "minutes": str(draw.randrange(5, 60)), "count": 3}),
            ("order accepted", {"order": f"A-{n}", "customer": f"customer {n % 300}", "item": "quilt box", "box": box,
                                "count": 2, "price": 3200}),
            ("deposit paid", {"order": f"A-{n - 1}", "amount": 2000}),
        )[n % 8]  # fmt: skip
        events.append(new_event(kind, fields, day, f"e{n}"))
    return events


def least(work: Callable[[], object], runs: int) -> str:
    """The least time of some runs: of the clock, and of the processor, also of processes that it started."""
    clock, processor = [], []
    for _ in range(runs):
        before, spent = time.perf_counter(), sum(os.times()[:4])
        work()
        clock.append(time.perf_counter() - before)
        processor.append(sum(os.times()[:4]) - spent)
    return f"{min(clock):7.2f} ({min(processor):.2f})"


def command(*words: object) -> None:
    """Runs woodshop book."""
    subprocess.run(
        [sys.executable, "-m", "woodshop", "book", *map(str, words)], cwd=ROOT, check=True, stdout=subprocess.DEVNULL
    )


def measure(count: int, folder: Path, runs: int, exported: bool) -> None:
    """Prints the seconds of one size."""
    from woodshop.records.events import new_event
    from woodshop.records.store import checked_book, new_book, open_book, read_book

    path = folder / f"{count}.book"
    events = season(count)
    print(f"{count:,} events")
    print(f"  enter all in one list  {least(lambda: new_book(path, sent=events), 1)}")  # type: ignore[arg-type]
    print(f"  size of the file       {path.stat().st_size / 1e6:7.2f} MB")

    def opened() -> None:
        with open_book(path) as book:
            book.events()

    def one_more() -> None:
        with open_book(path) as book:
            number = book.head()[0]
            book.add([new_event("stock bought", {"stock": "nails", "count": 1}, "", f"more {number}")])

    print(f"  open and read all      {least(opened, runs)}")
    print(f"  open and fold          {least(lambda: read_book(path), runs)}")
    print(f"  open and add one       {least(one_more, runs)}")
    print(f"  woodshop book list     {least(lambda: command('list', path), runs)}")
    print(f"  ... list --all         {least(lambda: command('list', path, '--all'), 1)}")
    print(f"  ... list stock         {least(lambda: command('list', path, 'stock'), runs)}")
    print(f"  check                  {least(lambda: checked_book(path), 1)}", flush=True)
    if exported:
        sheet, other = folder / f"{count}.csv", folder / f"{count}-again.book"
        print(f"  ... export             {least(lambda: command('export', path, sheet), 1)}")
        print(f"  ... import --new       {least(lambda: command('import', other, sheet, '--new'), 1)}", flush=True)
        with open_book(path) as one, open_book(other) as two:
            assert one.head() == two.head()


def main() -> None:
    """Measures every size."""
    sys.path.insert(0, str(ROOT))
    smoke = "--smoke" in sys.argv
    print("seconds of the clock (of the processor)")
    with tempfile.TemporaryDirectory() as folder:
        for count in (100,) if smoke else SIZES:
            measure(count, Path(folder), 1 if smoke else 3, smoke or "--exported" in sys.argv)


if __name__ == "__main__":
    main()
