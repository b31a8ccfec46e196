"""Random corruptions of whole plan files: `python -m tests.fuzz.corrupt_plans 5000` prints what was let through.

Each case changes one place of a plan file. As it is, its digest refuses it. With a digest written anew, everything that
can be derived refuses it as well; what is left are the places named in HARMLESS, and they are printed with their count.
"""

import copy
import json
import random
import re
import sys
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from woodshop.checks.check_batch import check_batch
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.orders.lines import read_run
from woodshop.design.settle.settle import settle
from woodshop.errors import InputError
from woodshop.plan.buying.where_to_buy import plan_to_buy
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.verify import batch_findings, digest_of, verify_file

DESIGNS = Path(__file__).resolve().parents[2] / "designs"
DESIGN = """format = "woodshop-design/2"
batch = "spoiled"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
on_by = 2026-11-26
[[hives]]
name = "tens"
frames = 10
width = "16 1/4"
count = 3
gap = "1/4"
[[hives]]
name = "eights"
frames = 8
width = "13 3/4"
count = 2
gap = "1/4"
[[shed]]
item = "fondant rim"
hives = "tens"
have = 1
[[make]]
item = ["fondant rim", "wire bottom", "quilt box"]
"""
HARMLESS = {
    r"defaults|findings|unpriced": "words, and findings that are no errors: nothing is worked out from them",
    r"made_with/.*": "other versions",
    r"batch|currency|on_by|hives|hives/.*/(hives|format|order|form|due)": "names and days, and hives without a line",
    r"lines/\d+/(arithmetic|hives|address)": "words, and names of hives",
    r"purchases/\d+/(what|why|group|lumberyard)": "words, and names",
    r"purchases/\d+/holds": "packs that still hold enough",
    r"terms/.*": "terms that come to the same bill",
    r"marks/\d+/mark": "another mark that no other part has",
    r"at_hand/.*": "no such stock is used",
    r"plans/[a-z ]+( \d/\d in)?": "a solver's bound without the certificate beside it: a weaker claim",
    r"plans/.*/job/.*": "the same job: its own digest agrees",
    r"plans/.*/(bound|bound_kind|assurance|gap|certificate)": "a weaker claim that still holds",
    r"plans/.*/layouts": "the same pieces from the same boards; the replay at the saw agrees",
    r"sequences/.*": "the same cuts: the replay ends with the same pieces",
    r"goods/\d+/.*": "the same amount for the same count",
}
"""Where a change may pass once the digest is written anew, and why."""


@cache
def plan_file() -> dict[str, Any]:
    """The envelope of a small batch, as it is read from its file."""
    with TemporaryDirectory() as folder:
        (Path(folder) / "design.toml").write_text(DESIGN, encoding="utf-8")
        lumberyard = (DESIGNS / "creekside-lumberyard.toml").read_bytes()
        (Path(folder) / "creekside-lumberyard.toml").write_bytes(lumberyard)
        design = read_run(Path(folder) / "design.toml")
        batch = settle(design, read_lumberyards(design.lumberyards))
    units, report = check_batch(batch)
    raw: dict[str, Any] = json.loads(json.dumps(batch_to_json(plan_to_buy(batch, units, report, effort="quick"))))
    return raw


def refused(raw: Any) -> bool:
    """Whether verify refuses a plan file: as one that cannot be read, or with findings."""
    try:
        return any(each["findings"] for each in verify_file(json.dumps(raw)))
    except InputError:
        return True


def sealed(raw: dict[str, Any]) -> dict[str, Any]:
    """The file with its digest written anew, as one would who changes it on purpose."""
    return raw | {"digest": digest_of(raw)}


def places(value: Any, path: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """The path of every value in it but the whole."""
    keys = list(value) if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    found = []
    for key in keys:
        found += [(*path, key), *places(value[key], (*path, key))]
    return found


def corrupted(raw: dict[str, Any], rng: random.Random) -> tuple[str, dict[str, Any]]:
    """A copy that differs in one place, and that place."""
    while True:
        made = copy.deepcopy(raw)
        depth = rng.randrange(1, 9)
        paths = [path for path in _places(json.dumps(sorted(raw))) if len(path) == depth]
        if not paths:
            continue
        path = rng.choice(paths)
        above = made
        for key in path[:-1]:
            above = above[key]
        rng.choice(CHANGES)(above, path[-1], rng)
        if made != raw or json.dumps(made) != json.dumps(raw):
            return "/".join(map(str, path)), made


@cache
def _places(_: str) -> list[tuple[Any, ...]]:
    return places(plan_file())


def _remove(above: Any, key: Any, _: random.Random) -> None:
    del above[key]


def _double(above: Any, key: Any, _: random.Random) -> None:
    if isinstance(above, list):
        above.insert(key, copy.deepcopy(above[key]))
    else:
        above[f"{key} "] = above[key]


def _swap(above: Any, key: Any, rng: random.Random) -> None:
    other = rng.choice(list(above) if isinstance(above, dict) else range(len(above)))
    above[key], above[other] = above[other], above[key]


def _other(above: Any, key: Any, rng: random.Random) -> None:
    value = above[key]
    if isinstance(value, bool):
        above[key] = not value
    elif isinstance(value, int):
        above[key] = rng.choice((value + 1, value - 1, value * 10, -value, 0, value + 64, 10**9))
    elif isinstance(value, str):
        n = rng.randrange(len(value) + 1)
        above[key] = rng.choice((value[:n] + rng.choice("x1 /") + value[n + 1 :], "", value + "0", value[::-1]))
    elif isinstance(value, list):
        above[key] = rng.choice((value[:-1], value[1:], value + value[:1], value[::-1], []))
    elif isinstance(value, dict):
        above[key] = dict(list(value.items())[:-1])
    else:
        above[key] = 0


def _kind(above: Any, key: Any, rng: random.Random) -> None:
    above[key] = rng.choice((None, 0, 1, -1, 1.5, "", "x", [], {}, True, False, [above[key]], float(10**30)))


CHANGES: tuple[Callable[[Any, Any, random.Random], None], ...] = (
    _remove,
    _double,
    _swap,
    _other,
    _other,
    _other,
    _kind,
)


def harmless(place: str) -> str:
    """Why a change there may pass once the digest is written anew; "" where it may not."""
    for pattern, why in HARMLESS.items():
        if re.fullmatch(pattern, place) or re.fullmatch(rf"({pattern})/.*", place):
            return why
    return ""


def same_in_another_order(one: Any, other: Any) -> bool:
    """Whether two files hold the same values, but for the order of lists."""

    def sorted_all(value: Any) -> Any:
        if isinstance(value, dict):
            return sorted((key, sorted_all(value[key])) for key in value)
        if isinstance(value, list):
            return sorted((sorted_all(each) for each in value), key=repr)
        return repr(value)

    return bool(sorted_all(one) == sorted_all(other))


def run(count: int, seed: int = 20261126) -> tuple[list[str], Counter[str]]:
    """The places of that many corruptions that were wrongly let through, and the harmless ones with their counts."""
    rng = random.Random(seed)
    raw = plan_file()
    assert not refused(raw)
    wrong: list[str] = []
    let: Counter[str] = Counter()
    for _ in range(count):
        place, made = corrupted(raw, rng)
        if not batch_findings(made):
            wrong.append(f"{place}: with the old digest")
        if "digest" in made and sealed(made) != raw and not refused(sealed(made)):
            if same_in_another_order(made, raw):
                let[f"{place.split('/')[0]}, another order"] += 1
            elif harmless(place):
                let[re.sub(r"/\d+", "/n", place)] += 1
            else:
                wrong.append(f"{place}: with a digest written anew")
    return wrong, let


if __name__ == "__main__":
    faults, passed = run(int(sys.argv[1]) if len(sys.argv) > 1 else 500)
    for name, times in sorted(passed.items()):
        print(f"harmless {times:5} {name}: {harmless(name.replace('/n', '/0')) or 'the same'}")
    for fault in faults:
        print(f"LET THROUGH {fault}")
    sys.exit(1 if faults else 0)
