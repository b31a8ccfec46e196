"""How long the files of a result take: drawings, machine files, workbook, and the whole packet with them.

`python tests/bench/bench_documents.py [--smoke] [design ...]`

Each design is planned for a first look (not counted), then each kind of file is made once, in processor seconds of
all processes and in seconds waited. Without names the hobby batch and the production run; `--smoke` a small design
without the whole result, which every `plan` makes.
"""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from woodshop.plan.values import PlannedBatch

ROOT = Path(__file__).resolve().parents[2]
DESIGNS = ("hobby-batch", "production-run")
SMOKE = ("ridge-club",)


def run(names: list[str], is_smoke: bool = False) -> Iterator[str]:
    """One line per design and kind of file: how many, their bytes, the time."""
    from woodshop.documents.fullsize.drawings import drawing_files, machine_files
    from woodshop.documents.lists import workbook
    from woodshop.documents.plan_design import checked_file
    from woodshop.documents.result import result_files
    from woodshop.plan.plan_batch import plan_batch

    for name in names:
        batch, units, report = checked_file(ROOT / "designs" / f"{name}.toml")
        planned = plan_batch(batch, units, report, progress=lambda _: None, effort="quick")
        kinds: dict[str, Callable[[PlannedBatch], dict[str, bytes]]] = {
            "drawings": drawing_files,
            "machine files": machine_files,
            "workbook": lambda made: {"workbook.xlsx": workbook(made)},
            "whole result": lambda made: result_files(made, lambda _: None),
        }
        if is_smoke:
            del kinds["whole result"]
        for kind, make in kinds.items():
            clock, wall = _spent(), time.perf_counter()
            files = make(planned)
            taken, waited = _spent() - clock, time.perf_counter() - wall
            size = sum(map(len, files.values()))
            told = f"{len(files):4} files {size / 1e6:6.1f} MB {taken:6.2f} s of processors, {waited:6.2f} s waited"
            yield f"{name:16} {kind:14} {told}"


def _spent() -> float:
    """Processor seconds of this process and of those it has waited for."""
    spent = os.times()
    return spent.user + spent.system + spent.children_user + spent.children_system


if __name__ == "__main__":
    sys.path.insert(0, str(ROOT))
    words = sys.argv[1:]
    chosen = [word for word in words if not word.startswith("--")]
    is_smoke = "--smoke" in words
    for line in run(chosen or list(SMOKE if is_smoke else DESIGNS), is_smoke):
        print(line, flush=True)
