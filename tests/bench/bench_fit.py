"""How soon the findings of fit of the hobby batch are there after a change of its design.

`python tests/bench/bench_fit.py [--smoke]`

Each change is made to the design as it was, and its findings are asked for with what an unchanged design left behind:
the file is read, settled, and checked, except for how sizes vary. Each time is that of a process of its own, which has
seen only the unchanged design. Target: under 300 ms for each change.
"""

import gc
import multiprocessing
import shutil
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from woodshop.checks.kept import Kept

ROOT = Path(__file__).resolve().parents[2]
TARGET = 0.3  # seconds
CHANGES = (
    ("a word", "Winter boards", "Boards"),
    ("the gap of one group", '["1/4", "5/16", "1/4"]', '["9/32", "5/16", "9/32"]'),
    ("the width of one group", 'width = "13 3/4"', 'width = "13 13/16"'),
    ("the sugar of every board", 'sugar = "16 lb"', 'sugar = "15 lb"'),
    ("the mounting of every board", '"stapled under"', '"flush rabbet"'),
    ("the climate", '"21 F"', '"15 F"'),
)


def run(times: int) -> Iterator[str]:
    """One line for each change: the least time of `times` runs, its processor time, and how many hives and tops it
    calculated. Threads run beside it, as in a server, so that it does not fork, and what is loaded is no garbage.
    """
    from woodshop.checks.check_batch import Fit, fit_of
    from woodshop.checks.kept import Kept
    from woodshop.design.design_file import read_design
    from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
    from woodshop.design.settle.settle import settle
    from woodshop.engineering.tolerance import load_arrays

    load_arrays()
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(ROOT / "designs", folder, dirs_exist_ok=True)
        path = Path(folder) / "hobby-batch.toml"
        text = path.read_text(encoding="utf-8")

        def fit(changed: str, kept: Kept) -> Fit:
            path.write_text(changed, encoding="utf-8")
            design = read_design(path)
            return fit_of(settle(design, read_lumberyards(design.lumberyards)), kept)

        def once(changed: str, kept: Kept, say: Connection) -> None:
            threading.Thread(target=threading.Event().wait, daemon=True).start()
            gc.freeze()
            count, clock, busy = len(kept), time.perf_counter(), time.process_time()
            fit(changed, kept)
            say.send((time.perf_counter() - clock, time.process_time() - busy, len(kept) - count))

        yield _line("the first time", [_alone(once, text, Kept()) for _ in range(times)], None)
        kept = Kept()
        fit(text, kept)
        for what, old, new in CHANGES:
            if old not in text:
                raise SystemExit(f"the design has no {old}")
            changed = text.replace(old, new, 1)
            yield _line(what, [_alone(once, changed, kept) for _ in range(times)], TARGET)


def _alone(once: "Callable[[str, Kept, Connection], None]", text: str, kept: "Kept") -> tuple[float, float, int]:
    """What `once` says, called in a forked process."""
    ours, theirs = multiprocessing.Pipe(duplex=False)
    process = multiprocessing.get_context("fork").Process(target=once, args=(text, kept, theirs))
    process.start()
    found: tuple[float, float, int] = ours.recv()
    process.join()
    return found


def _line(what: str, taken: list[tuple[float, float, int]], target: float | None) -> str:
    wall, busy, count = min(taken)
    verdict = "" if target is None or wall <= target else f" (over the target of {target * 1000:.0f} ms)"
    return f"{what}: {wall * 1000:.0f} ms, {busy * 1000:.0f} of processor; {count} hives and tops{verdict}"


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    for line in run(1 if "--smoke" in sys.argv[1:] else 5):
        print(line, flush=True)
