"""Who may import whom, and which outside library crosses at which door: read from the import statements."""

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "woodshop"

LEVELS = {
    "errors": 0,
    "files": 1,
    "workers": 0,
    "units": 1,
    "findings": 2,
    "reference": 2,
    "shape": 3,
    "cutting": 3,
    "engineering": 3,
    "drawing": 4,
    "hive": 4,
    "records": 4,
    "hardware": 5,
    "design": 6,
    "checks": 7,
    "plan": 7,
    "trade": 8,
    "schedule": 8,
    "documents": 9,
    "page": 10,
    "cli": 10,
    "__main__": 11,
    "__init__": 11,
}
BESIDE = {
    ("plan", "checks"),
    ("cli", "page"),
}  # rooms of one level that may import each other, one way
BANS = {
    "cutting": {"files", "workers", "units", "reference", "shape", "engineering"},
    "engineering": {"shape", "cutting"},
    "hive": {"drawing", "hardware"},
    "hardware": {"cutting", "drawing", "records"},
    "records": {"cutting", "design", "hardware"},
    "design": {"records"},
}
ALLOWED = {
    ("design", "records"): {"design/book_sheets.py"}
}  # files that a ban does not bind: they read sheets of events
# Each outside library, and the rooms or files it may be imported in.
DOORS = {
    "click": {"cli"},
    "highspy": {"cutting/planner/solver.py"},
    "pyscipopt": {"cutting/planner/solver.py"},
    "ezdxf": {"drawing"},
    "rich": {"drawing"},
    "reportlab": {"drawing"},
    "font_source_sans_pro": {"drawing"},
    "shapely": {"shape", "drawing"},
    "pydantic": {"design", "plan", "trade"},
    "pydantic_core": {"design"},
    "numpy": {"cutting", "drawing", "engineering", "shape"},
    "psychrolib": {"engineering/moist_air.py"},
    "sqlite3": {"records"},
    "tomllib": {"reference", "design"},
    "openpyxl": {"design", "documents"},
    "xlsxwriter": {"documents"},
    "ortools": {"schedule/goal_model.py"},
    "icalendar": {"documents"},
    "nicegui": {"page"},
    "fastapi": {"page"},
    "starlette": {"page"},
    "uvicorn": {"page"},
    "tomlkit": {"page/opened/editing.py"},
}
# What checks is not what made: these see only value types, errors, findings and the standard library.
WITNESSES = {
    "cutting/checkers/check.py": {
        "woodshop.cutting.model.job",
        "woodshop.cutting.model.plan",
        "woodshop.errors",
        "woodshop.findings",
    },
    "cutting/checkers/check_lumber.py": {
        "woodshop.cutting.checkers.check",
        "woodshop.cutting.model.job",
        "woodshop.cutting.model.lumber_job",
        "woodshop.cutting.model.lumber_plan",
        "woodshop.cutting.model.plan",
        "woodshop.findings",
    },
    "cutting/checkers/prove_lumber.py": {
        "woodshop.cutting.checkers.worth",
        "woodshop.cutting.model.job",
        "woodshop.cutting.model.lumber_job",
        "woodshop.cutting.model.lumber_plan",
        "woodshop.cutting.model.plan",
        "woodshop.findings",
    },
    "plan/verify.py": {
        "woodshop.cutting.checkers.check",
        "woodshop.cutting.checkers.check_lumber",
        "woodshop.cutting.checkers.prove_lumber",
        "woodshop.cutting.model.lumber_job",
        "woodshop.cutting.model.lumber_plan",
        "woodshop.cutting.model.job",
        "woodshop.cutting.model.plan",
        "woodshop.cutting.checkers.prove",
        "woodshop.cutting.model.reading",
        "woodshop.cutting.checkers.replay",
        "woodshop.errors",
        "woodshop.findings",
        "woodshop.plan.verify_lumber",
        "woodshop.plan.verify_rest",
    },
    "plan/verify_lumber.py": set(),
    "plan/verify_rest.py": {"woodshop.findings"},
    "schedule/verify_schedule.py": {"woodshop.findings", "woodshop.schedule.values"},
    "cutting/checkers/tables.py": set(),
    "cutting/checkers/listing.py": {"woodshop.cutting.checkers.tables"},
    "cutting/checkers/drops.py": {
        "woodshop.cutting.checkers.prove_rows",
        "woodshop.cutting.checkers.tables",
        "woodshop.cutting.model.job",
    },
    "cutting/checkers/patterns.py": {
        "woodshop.cutting.checkers.drops",
        "woodshop.cutting.checkers.listing",
        "woodshop.cutting.checkers.prove_rows",
        "woodshop.cutting.checkers.tables",
        "woodshop.cutting.model.job",
    },
    "cutting/checkers/prove_rows.py": {"woodshop.cutting.model.proof"},
    "cutting/checkers/worth.py": {"woodshop.cutting.checkers.tables", "woodshop.cutting.model.job"},
    "cutting/checkers/prove_boards.py": {
        "woodshop.cutting.checkers.drops",
        "woodshop.cutting.checkers.patterns",
        "woodshop.cutting.checkers.prove_rows",
        "woodshop.cutting.checkers.worth",
        "woodshop.cutting.model.job",
        "woodshop.cutting.model.proof",
    },
    "cutting/checkers/prove_tree.py": {
        "woodshop.cutting.checkers.drops",
        "woodshop.cutting.checkers.listing",
        "woodshop.cutting.checkers.patterns",
        "woodshop.cutting.checkers.prove_boards",
        "woodshop.cutting.checkers.prove_rows",
        "woodshop.cutting.model.job",
        "woodshop.cutting.model.proof",
        "woodshop.errors",
    },
    "cutting/checkers/prove.py": {
        "woodshop.cutting.checkers.prove_tree",
        "woodshop.cutting.checkers.tables",
        "woodshop.cutting.checkers.worth",
        "woodshop.cutting.model.job",
        "woodshop.cutting.model.plan",
        "woodshop.cutting.model.proof",
        "woodshop.errors",
        "woodshop.findings",
    },
}
HEAVY = (
    "numpy",
    "shapely",
    "highspy",
    "pyscipopt",
    "ezdxf",
    "reportlab",
    "pydantic",
    "xlsxwriter",
    "openpyxl",
    "rich",
    "ortools",
    "icalendar",
    "nicegui",
    "fastapi",
    "starlette",
    "uvicorn",
    "tomlkit",
)


def imports(path: Path) -> Iterator[tuple[int, str, int]]:
    """Every module imported anywhere in a file: line, name, and how many dots it begins with."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"), str(path))):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name, 0) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            if node.module == "woodshop":
                yield from ((node.lineno, f"woodshop.{alias.name}", node.level) for alias in node.names)
            else:
                yield node.lineno, node.module or "", node.level


def room_of(path: Path, package: Path) -> str:
    return path.relative_to(package).parts[0].removesuffix(".py")


def violations(package: Path) -> list[str]:
    found = []
    for path in sorted(package.rglob("*.py")):
        room, inside = room_of(path, package), path.relative_to(package).as_posix()
        if room not in LEVELS:
            found.append(f"{inside}: a room without a level")
            continue
        for line, name, dots in imports(path):
            where = f"{inside}:{line}"
            top, _, rest = name.partition(".")
            if dots:
                found.append(f"{where}: a relative import")
            elif top == "woodshop" and rest:
                other = rest.split(".")[0]
                if other not in LEVELS:
                    found.append(f"{where}: {name}, a room without a level")
                elif other != room and other in BANS.get(room, ()):
                    found.append(f"{where}: {room} never sees {other}")
                elif other != room and LEVELS[other] >= LEVELS[room] and (room, other) not in BESIDE:
                    found.append(f"{where}: {room} (level {LEVELS[room]}) imports {other} (level {LEVELS[other]})")
                if inside in WITNESSES and name not in WITNESSES[inside]:
                    found.append(f"{where}: {name}, where only plan and job may be seen")
            elif top in DOORS:
                if room not in DOORS[top] and inside not in DOORS[top]:
                    found.append(f"{where}: {top} crosses only at {', '.join(sorted(DOORS[top]))}")
            elif top not in sys.stdlib_module_names and top not in ("woodshop", "__future__"):
                found.append(f"{where}: {top}, a library without a door")
    return found


def test_every_import_goes_down() -> None:
    assert violations(PACKAGE) == []


@pytest.mark.parametrize(
    ("inside", "line", "said"),
    [
        ("cutting/model/job.py", "from woodshop.units.lengths import inch", "cutting never sees units"),
        ("cutting/model/job.py", "from woodshop.shape.part import Part", "cutting never sees shape"),
        ("engineering/mesh_beam.py", "from woodshop.shape.part import Part", "engineering never sees shape"),
        ("hive/woodenware/box.py", "from woodshop.drawing.values.model import Drawing", "hive never sees drawing"),
        ("hardware/walls.py", "from woodshop.cutting.model.job import Job", "hardware never sees cutting"),
        (
            "hardware/walls.py",
            "def f():\n    from woodshop.drawing.values.model import Line",
            "hardware never sees drawing",
        ),
        ("units/lengths.py", "from woodshop.design.batch import Batch", "units (level 1) imports design (level 6)"),
        ("files/one_file.py", "from woodshop.units.lengths import inch", "files (level 1) imports units (level 1)"),
        ("findings.py", "import woodshop.reference.facts", "findings (level 2) imports reference (level 2)"),
        ("plan/buy_list.py", "from woodshop import cli", "plan (level 7) imports cli (level 10)"),
        ("plan/buy_list.py", "from .cost import split", "a relative import"),
        ("plan/buy_list.py", "import click", "click crosses only at cli"),
        ("cutting/planner/plan_job.py", "import highspy", "highspy crosses only at cutting/planner/solver.py"),
        ("documents/lists.py", "from reportlab.pdfgen import canvas", "reportlab crosses only at drawing"),
        ("hardware/board.py", "import pydantic", "pydantic crosses only at design"),
        ("hive/woodenware/box.py", "import requests", "requests, a library without a door"),
        (
            "cutting/checkers/check.py",
            "from woodshop.cutting.planner.plan_job import plan",
            "where only plan and job may be seen",
        ),
        ("design/settle/settle.py", "from woodshop.records.store import read_book", "design never sees records"),
        ("attic/box.py", "x = 1", "a room without a level"),
    ],
)
def test_a_planted_violation_is_caught(tmp_path: Path, inside: str, line: str, said: str) -> None:
    path = tmp_path / "woodshop" / inside
    path.parent.mkdir(parents=True)
    path.write_text(f"{line}\n", encoding="utf-8")
    (only,) = violations(tmp_path / "woodshop")
    assert only.startswith(inside)
    assert said in only


def circles(package: Path) -> list[str]:
    """Modules that import each other, directly or by way of others, also inside functions."""
    files = {f"woodshop.{'.'.join(p.relative_to(package).with_suffix('').parts)}": p for p in package.rglob("*.py")}
    files = {name.removesuffix(".__init__"): path for name, path in files.items()}
    seen = {name: set(_modules(path, files)) - {name} for name, path in files.items()}
    while True:  # what imports nothing that is left, or is imported by nothing that is left, is in no circle
        needed = set().union(*seen.values())
        kept = {name: rest & seen.keys() for name, rest in seen.items() if rest & seen.keys() and name in needed}
        if kept == seen:
            return sorted(seen)
        seen = kept


def _modules(path: Path, files: dict[str, Path]) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            for alias in node.names:
                full = f"{node.module}.{alias.name}"
                yield full if full in files else str(node.module)
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def test_no_modules_import_each_other() -> None:
    assert circles(PACKAGE) == []


def test_a_planted_circle_is_caught(tmp_path: Path) -> None:
    for name, line in {
        "a": "from woodshop import b",
        "b": "def f():\n    import woodshop.c",
        "c": "from woodshop.a import f",
    }.items():
        (tmp_path / f"{name}.py").write_text(f"{line}\n", encoding="utf-8")
    (tmp_path / "d.py").write_text("import woodshop.a\n", encoding="utf-8")
    assert circles(tmp_path) == ["woodshop.a", "woodshop.b", "woodshop.c"]


def test_the_command_starts_without_heavy_libraries() -> None:
    code = "import sys, woodshop.cli; print(*(name for name in sys.argv[1:] if name in sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", code, *HEAVY], cwd=ROOT, capture_output=True, text=True, check=True, timeout=60
    )
    assert done.stdout.split() == []
