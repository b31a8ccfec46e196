"""A small plan of our own at the saw, made without planning: three boards, two layouts, four steps."""

import hashlib
import json
import shutil
from pathlib import Path
from typing import Any

from woodshop.documents.saw.saw_page import one_file

ROOT = Path(__file__).resolve().parents[2]
BATCH = "hobby-batch"
BOARD = "board 3/4 in"


def _both(text: str) -> dict[str, str]:
    return {"in": text, "mm": f"{text} mm"}


def _layout(number: int, times: int, marks: str) -> dict[str, Any]:
    pieces = [[32 + n * 648, 0, 640, 352, mark] for n, mark in enumerate(marks)]
    return {
        "number": number, "material": BOARD, "what": "1x6 pine, 4 ft", "form": "board", "times": times, "length": 3072,
        "width": 352, "unit": [127, 320], "size": _both("5 1/2 x 48"), "notes": _both(""), "pieces": pieces,
        "kept": [], "bad": [], "book": {}, "first": "",
    }  # fmt: skip


def small_data(digest: str = "5a" * 32, batch: str = BATCH) -> dict[str, Any]:
    """Layout 1, twice: A A B. Layout 2, once: A A. First an end is squared, then A, then B."""
    trim = [[False, [[0, 32, 0, 352]]]]
    steps: list[dict[str, Any]] = []
    for deed, set_by, to, boards in (
        ("Square one end, miter saw", "Trim", "1/2 off", [(1, 2, True, 0, "", trim), (2, 1, True, 0, "", trim)]),
        ("Rip, table saw", "Fence", "5 1/4", [(1, 2, False, 0, "1 rail", [[True, [[0, 3072, 0, 336]]]])]),
        ("Crosscut, miter saw with stop", "Stop", "10",
         [(1, 2, False, 2, "2 A", [[False, [[32, 672, 0, 352], [680, 1320, 0, 352]]]]),
          (2, 1, False, 2, "2 A", [[False, [[32, 672, 0, 352]]]])]),
        ("Crosscut, hand saw, miter box", "Stop", "9 3/4, a hair less",
         [(1, 2, False, 1, "1 B", [[False, [[1328, 1968, 0, 352]]]])]),
    ):  # fmt: skip
        step = {
            "list": 0, "deed": deed, "more": _both(""), "is_cut": True, "set": set_by, "to": _both(to),
            "is_length": True, "gives": "", "pieces": sum(b[1] * b[3] for b in boards),
            "cautions": {"in": [["Caution, narrow rips:", "keep 2 in."]], "mm": []},
            "boards": [
                {"layout": b[0], "times": b[1], "is_trim": b[2], "pieces": b[3], "gives": b[4], "cuts": b[5]}
                for b in boards
            ],
        }  # fmt: skip
        step["key"] = f"{len(steps) + 1}-{hashlib.sha256(json.dumps(step).encode()).hexdigest()[:6]}"
        sight = ["Use a push block, guard and riving knife."] if set_by == "Fence" else []
        marks = {str(b[0]): {b[4][-1]: b[3]} if b[3] else {} for b in boards}
        how = "The kerf is included." if set_by == "Trim" else ""
        step["without"] = ["No miter saw?", "Ask who planned it."]
        step |= {"cut_with": "saw", "sight": {"in": sight, "mm": sight}, "how": how, "marks": marks}
        steps.append(step)
    return {
        "format": "woodshop-saw/2", "batch": batch, "plan": digest, "unit": "in", "units": ["in", "mm"],
        "has_book": False, "do_not_cut": False,
        "files": {"design": f"{batch}.toml", "book": "shop.book", "from": "design"},
        "lists": [{"title": "Cutting", "material": BOARD, "spoken": _both(BOARD), "notes": {"in": [], "mm": []},
                   "pieces": 8}],
        "layouts": [_layout(1, 2, "AAB"), _layout(2, 1, "AA")],
        "parts": {
            mark: {"material": BOARD, "size": _both("10 x 5 1/2"), "name": name, "item": "quilt box"}
            for mark, name in (("A", "side"), ("B", "end"))
        },
        "steps": steps,
    }  # fmt: skip


def small_folder(folder: Path, data: dict[str, Any] | None = None) -> Path:
    """A folder with a demo design and a plan of it at the saw."""
    data = small_data() if data is None else data
    results = folder / "out" / BATCH
    results.mkdir(parents=True)
    for name in ("hobby-batch.toml", "creekside-lumberyard.toml"):
        shutil.copy(ROOT / "designs" / name, folder / name)
    (results / "saw.html").write_bytes(one_file(data))
    (results / "plan.json").write_text(json.dumps({"digest": data["plan"], "batch": data["batch"]}))
    return folder
