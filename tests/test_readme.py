"""The examples of README and the guide run as written, and every command has one."""

import re
import shlex
import shutil
from itertools import pairwise
from pathlib import Path

import pytest
from click import Group
from click.testing import CliRunner, Result

from tests.nightly import IS_NIGHT
from tests.once import bought
from woodshop.cli import main
from woodshop.documents.answers.guide import topics
from woodshop.drawing.pens.text import wrapped_text
from woodshop.files.one_file import json_bytes
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.work.shop_file import read_shop
from woodshop.records.store import read_book
from woodshop.trade.quotes import tax_on

README = Path(__file__).resolve().parents[1] / "README.md"
TEXT = README.read_text(encoding="utf-8")
GUIDE = {each.name: each.markdown for each in topics()}
EXAMPLE = re.compile(r"^ *\$ woodshop (.*)$", re.M)
FORTNIGHT = EXAMPLE.findall(GUIDE.pop("two-weeks"))
"""The story of a run, run in order: its commands build on each other."""
PAGE = "page designs"
"""Answers until Ctrl-C, so it runs in tests/page/."""
EXAMPLES = list(dict.fromkeys(EXAMPLE.findall("\n".join((TEXT, *GUIDE.values())))))
RUN = [each for each in EXAMPLES if each != PAGE]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the designs, in which the examples run."""
    folder = tmp_path_factory.mktemp("readme")
    (folder / "designs").mkdir()
    (folder / "out").mkdir()
    for file in (README.parent / "designs").iterdir():
        (folder / "designs" / file.name).write_bytes(file.read_bytes())
    return folder


AT_NIGHT = {
    "plan designs/hobby-batch.toml --out out/hobby-batch",  # README's first set-up command, run in every bare copy
    "plan designs/order-run.toml --quick --out out/order-run",
    "plan designs/two-lumberyards.toml --quick --out out/two-lumberyards",
    "quote designs/ridge-club.toml --shop designs/creekside-shop.toml --quick --out out/ridge-club-quotes",
    "plan designs/order-run.toml --rest --earlier out/order-run/plan.json --counts designs/november-counts.csv "
    "--not-bought --out out/fewer",
    "plan designs/order-run.toml --rest --earlier out/order-run/plan.json --progress designs/november-progress.csv "
    "--counts designs/november-counts.csv --offcuts --out out/order-run-rest",
    "quote designs/ridge-club.toml --shop designs/creekside-shop.toml --book out/shop.book --beside autumn --quick "
    "--out out/ridge-club-quotes",
    "sizes designs/hobby-batch.toml --cost --keep 3",
}
"""Long ones, of whose commands others run at each landing; these are only read there."""

WRITTEN = {
    "out/order-run/plan.json": "order-run",
    "out/order-run-rest/plan.json": "order-run",
    "out/hobby-batch/plan.json": "hobby-batch",
}
"""Written at a landing from the plans that other tests share."""

LATE = "schedule designs/hobby-batch.toml --today 2026-11-07 --done designs/hobby-done.csv"
"""The work is behind, so one apiary is late, and the exit code says so."""

WRITING = ("new", "--out", "--picture", "--sheet")


@pytest.mark.slow("the commands plan whole batches")
@pytest.mark.parametrize("example", RUN if IS_NIGHT else [each for each in RUN if each not in AT_NIGHT])
def test_example_runs_clean(example: str, place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As it is at night; at a landing with the quick effort."""
    monkeypatch.chdir(place)
    result = ran(example)
    assert result.exit_code == (example == LATE), result.output
    assert result.output
    if example == "check designs/hobby-batch.toml":
        assert len(wrapped_text(result.stdout, 80)) <= 40  # one screen


BOOK = "book import out/shop.book designs/autumn-events.csv --new"


def ran(example: str) -> Result:
    """What an example gives, after the examples that write what it reads, where another process ran those."""
    name, *words = shlex.split(example)
    if "out/shop.book" in words:  # each in a book of its own: they enter events
        for left in ("shop.book", "copy.book", "events.csv"):
            Path("out", left).unlink(missing_ok=True)
        if example != BOOK:
            assert CliRunner().invoke(main, shlex.split(BOOK)).exit_code == 0
        return CliRunner().invoke(main, [name, *words])
    unnamed = [f"out/{Path(words[0]).stem}/plan.json"] if name == "schedule" and "--earlier" not in words else []
    for before, word in pairwise((name, *words, *unnamed)):
        if before not in WRITING and word.startswith(("designs/", "out/")) and not Path(word).exists():
            if word in WRITTEN and not IS_NIGHT:
                Path(word).parent.mkdir()
                Path(word).write_bytes(json_bytes(batch_to_json(bought(WRITTEN[word]))))
            else:
                ends = tuple(f"{key} {part}" for key in WRITING for part in (word, Path(word).parent))
                ran(next(each for each in EXAMPLES if each.endswith(ends) or each.startswith(ends)))
    if not IS_NIGHT and "quick" in flags(name) and "--only" not in words:
        words = [*(word for word in words if word not in ("--quick", "--thorough")), "--quick"]
    return CliRunner().invoke(main, [name, *words])


@pytest.mark.slow("plans the production run, at night; else it reads its orders")
def test_the_fortnight_ends_with_every_order_filled_and_paid(
    tmp_path: Path, designs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    shutil.copytree(designs, "designs")
    Path("out").mkdir()
    for example in FORTNIGHT:
        name, *words = shlex.split(example)
        if name not in ("plan", "verify") or IS_NIGHT:
            result = CliRunner().invoke(main, [name, *words])
            assert result.exit_code == 0, f"{example}: {result.output}"
    assert "every order is filled" in CliRunner().invoke(main, shlex.split(FORTNIGHT[-4])).output
    state = read_book(Path("out/fortnight.book"))
    assert [order.order for order in state.orders if order.is_cancelled] == ["SM-2606"]
    shop = read_shop(Path("designs/creekside-shop.toml"))
    for order in state.orders:
        assert all(line.sold == line.count for line in order.lines if not line.is_cancelled)
        goods = sum(line.sold * line.price.minor for line in order.lines if line.price is not None)
        assert order.paid.minor == goods + tax_on(goods, shop, order.customer)
    assert not state.units
    assert not state.offcuts


def flags(name: str) -> set[str | None]:
    return {each.name for each in main.commands[name].params}


@pytest.mark.parametrize("example", sorted(AT_NIGHT))
def test_an_example_that_runs_at_night_is_read(example: str, place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(place)
    name, *words = shlex.split(example)
    assert example in EXAMPLES
    assert name in {each.split()[0] for each in EXAMPLES if each not in AT_NIGHT}
    with main.commands[name].make_context(name, words) as read:
        files = [each for each in read.params.values() if isinstance(each, Path) and each.parts[0] == "designs"]
    assert files
    assert all(each.exists() for each in files)


def test_every_command_has_an_example() -> None:
    assert {example.split()[0] for example in EXAMPLES} == set(main.commands)


def test_every_command_of_the_book_has_an_example() -> None:
    group = main.commands["book"]
    assert isinstance(group, Group)
    assert {example.split()[1] for example in EXAMPLES if example.startswith("book ")} == set(group.commands)


def test_the_ten_line_design_works(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    block = next(b for b in re.findall(r"```toml\n(.*?)```", TEXT, re.S) if "first-winter" in b)
    lines = [line.strip() for line in block.splitlines() if line.strip()]
    assert len(lines) <= 10
    (place / "designs/first-winter.toml").write_text("\n".join(lines))
    monkeypatch.chdir(place)
    result = CliRunner().invoke(main, ["check", "designs/first-winter.toml"])
    assert result.exit_code == 0
    assert "gap-not-measured" in result.output


def test_two_set_up_commands() -> None:
    commands = re.findall(r"^python3 -m venv .*$", TEXT, re.M)
    assert len(commands) == 2
    assert "woodshop plan designs/hobby-batch.toml" in commands[0]
    assert "pytest" in commands[1]


def test_readme_is_short() -> None:
    assert len(TEXT.splitlines()) <= 200
