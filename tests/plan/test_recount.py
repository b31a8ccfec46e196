"""New counts after a plan: nothing lost between what was bought, cut, used, left over and bought again."""

import json
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner, Result

from tests.nightly import IS_NIGHT
from woodshop.checks.check_batch import check_batch
from woodshop.cli import main
from woodshop.cutting.checkers.check import check_plan
from woodshop.cutting.checkers.prove import prove_plan
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.orders.lines import read_run
from woodshop.design.settle.settle import settle
from woodshop.documents.answers.written_plan import recount_section
from woodshop.drawing.pens.text import section_text
from woodshop.errors import InputError
from woodshop.plan.plan_batch import batch_to_json, plan_batch
from woodshop.plan.rest.material import SHARE
from woodshop.plan.rest.reading import Tally, Written, counted, read_tally, read_written, with_counts
from woodshop.plan.rest.recount import Recount, recount

DESIGN = """format = "woodshop-design/2"
batch = "b"
unit = "in"
lumberyard = "lumberyard.toml"
[[hives]]
name = "tens"
frames = 10
width = "16 1/4"
count = 8
gap = "1/4"
[[hives]]
name = "eights"
frames = 8
width = "13 3/4"
count = 6
gap = "1/4"
[[shed]]
item = "fondant rim"
hives = "tens"
have = 2
[[make]]
item = ["fondant rim", "wire bottom"]
[[make]]
item = "quilt box"
hives = "tens"
"""
COUNTS = ({}, {"tens": 5}, {"tens": 12}, {"eights": 0}, {"tens": 0, "eights": 9}, {"tens": 1, "eights": 1})
EVERY = [(counts, part, bool(part)) for part in (0, 1) for counts in COUNTS]
SOME = EVERY if IS_NIGHT else [each for n, each in enumerate(EVERY) if n % 2 == each[1]]
"""At a landing each of the counts once, nothing cut and a half in turn."""


class Bench:
    """A design planned once, and recounts of it."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        (folder / "design.toml").write_text(DESIGN)
        self.design = read_run(folder / "design.toml")
        self.lumberyard = read_lumberyards(self.design.lumberyards)
        batch = settle(self.design, self.lumberyard)
        units, report = check_batch(batch)
        self.text = json.dumps(batch_to_json(plan_batch(batch, units, report, effort="quick")))
        (folder / "plan.json").write_text(self.text)
        self.old: Written = read_written(self.text, "plan.json")

    def again(self, counts: dict[str, int], tally: Tally | None = None, **how: Any) -> Recount:
        batch = settle(with_counts(self.design, counts), self.lumberyard)
        units, report = check_batch(batch)
        return recount(self.old, batch, units, report, tally, effort="quick", **how)

    def cut(self, part: int, of: int) -> Tally:
        """The first so many of the boards of every layout."""
        return Tally({(m, n): self.old.plans[m].layouts[n].times * part // of for m, n in self.old.layouts})


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory, designs: Path) -> Bench:
    folder = tmp_path_factory.mktemp("bench")
    (folder / "lumberyard.toml").write_bytes((designs / "creekside-lumberyard.toml").read_bytes())
    return Bench(folder)


def sizes(plan: Any, layouts: Callable[[int], int]) -> Counter[tuple[int, int]]:
    """Pieces of a plan by the sides they were cut to, in so many boards of each layout; straight from the layouts."""
    found: Counter[tuple[int, int]] = Counter()
    for n, layout in enumerate(plan.layouts):
        for piece in layout.pieces:
            if not piece.spare:
                found[max(piece.length, piece.width), min(piece.length, piece.width)] += layouts(n)
    return found


def test_nothing_changed_and_nothing_bought_is_the_old_plan(bench: Bench) -> None:
    told = bench.again({})
    assert told.lines == ()
    assert told.rest.total == told.was
    assert all(row.planned == row.used + row.buy for row in told.stock)
    assert section_text(recount_section(told, "in")).split("\n")[1].endswith("no change.")


def test_nothing_changed_and_all_bought_leaves_nothing_to_buy(bench: Bench) -> None:
    told = bench.again({}, is_bought=True)
    assert told.rest.total.minor == 0
    assert told.saved.minor == 0
    assert all(row.planned == row.used + row.left for row in told.stock if not row.what.startswith("offcut"))


def test_all_cut_leaves_nothing_to_cut(bench: Bench) -> None:
    told = bench.again({}, bench.cut(1, 1))
    assert told.rest.plans == ()
    assert all(row.to_cut == 0 == row.over for row in told.pieces)
    assert told.rest.total.minor == 0


@pytest.mark.slow("plans a run and its rest")
@pytest.mark.invariant
@pytest.mark.parametrize(("counts", "part", "offcuts"), SOME, ids=str)
def test_every_piece_wanted_was_cut_or_will_be_and_every_board_is_somewhere(
    bench: Bench, counts: dict[str, int], part: int, offcuts: bool
) -> None:
    """Counted anew from the old layouts, the new layouts and the parts of the new batch."""
    tally = bench.cut(part, 2)
    told = bench.again(counts, tally, with_offcuts=offcuts)
    batch = told.rest.batch
    fresh = plan_batch(batch, told.rest.units, told.rest.report, effort="quick")
    rest = {each.job.material: each for each in told.rest.plans}
    for each in fresh.plans:
        material = each.job.material
        wanted: Counter[tuple[int, int]] = Counter()
        for blank in each.job.job.blanks:
            wanted[max(blank.length, blank.width or 0), min(blank.length, blank.width or 0)] += blank.count
        old = bench.old.plans.get(material)
        cut = Counter() if old is None else sizes(old, lambda n, m=material: tally.done.get((m, n), 0))
        still = (
            Counter()
            if material not in rest
            else sizes(rest[material].plan, lambda n, m=material: rest[m].plan.layouts[n].times)
        )
        for size in wanted:
            assert still[size] == max(0, wanted[size] - cut[size])
        assert set(still) <= set(wanted)
    for each in rest.values():
        assert check_plan(each.plan) == ()
        assert prove_plan(each.plan) == ()
    for row in told.stock:
        if not row.what.startswith("offcut"):
            assert row.planned == row.cut + row.used + row.left
            assert min(row.planned, row.cut, row.used, row.left, row.buy) >= 0
    assert told.rest.total.minor == sum(p.total.minor for p in told.rest.purchases)


@pytest.mark.invariant
def test_what_is_there_is_used_before_more_is_bought(bench: Bench) -> None:
    """All bought, some boards fewer wanted: nothing is bought, and the boards left over have their price."""
    told = bench.again({"tens": 4, "eights": 3}, is_bought=True)
    assert told.rest.total.minor == 0
    assert sum(row.left for row in told.stock) > 0
    by_hand = sum(row.left * bench_price(bench, row.what) for row in (*told.stock, *told.goods) if row.left)
    assert told.left_over.minor == by_hand
    assert SHARE > 1


def bench_price(bench: Bench, what: str) -> int:
    return next(line.price for line in bench.old.bought if line.what == what)


def test_goods_are_counted_in_closed_packs(bench: Bench) -> None:
    """14 boards of which 8 tens at 16 lb; with 2 tens fewer 32 lb less. Packs held less those opened stay closed."""
    told = bench.again({"tens": 2, "eights": 1}, is_bought=True)
    pounds = {"white sugar, 25 lb bag": 25, "white sugar, 4 lb bag": 4}
    rows = {row.what: row for row in told.goods if row.goods == "sugar"}
    held = sum(row.planned * pounds[what] for what, row in rows.items())
    closed = sum(row.left * pounds[what] for what, row in rows.items())
    wanted = sum(hives.sugar.pounds * hives.count for hives in told.rest.batch.hives)
    assert held - closed >= wanted
    assert all(row.left == row.planned or held - closed - pounds[what] < wanted for what, row in rows.items())
    assert closed > 0


def test_no_hives_of_a_kind_left_takes_their_lines_and_shed_away(bench: Bench) -> None:
    design = with_counts(bench.design, {"tens": 0})
    assert [hives.name for hives in design.hives] == ["eights"]
    assert design.shed == ()
    assert {make.item.name for make in design.makes} == {"fondant rim", "wire bottom"}
    one = with_counts(bench.design, {"tens": 1})
    assert one.shed[0].have == 1
    assert "1 of 2 on hand used" in {default.value for default in one.order_defaults}
    with pytest.raises(InputError, match="no hives to make anything for"):
        with_counts(bench.design, {"tens": 0, "eights": 0})


# ---- the sheets ---------------------------------------------------------------------------------


def refused(read: Callable[[], object]) -> str:
    with pytest.raises(InputError) as caught:
        read()
    return "\n".join(str(problem) for problem in caught.value.problems)


def test_counts_are_read_and_their_faults_told_by_cell(bench: Bench, tmp_path: Path) -> None:
    sheet = tmp_path / "counts.csv"
    sheet.write_text("Hives;Was;Now\ntens;8;5\neights;;0\n")
    assert [(hives.name, hives.count) for hives in counted(bench.design, sheet).hives] == [("tens", 5)]
    sheet.write_text("hives,was,count\ntens,9,5\neigths,,2\ntens,,x\neights,,1\neights,,1\n")
    told = refused(lambda: counted(bench.design, sheet))
    assert "counts.csv, cell B2: given 9; wanted 8, as in the design" in told
    assert "counts.csv, cell A3: given 'eigths'; wanted the name of hives of the design. Did you mean 'eights'?" in told
    assert "counts.csv, cell C4: given 'x'; wanted a whole number, 0 to" in told
    assert "counts.csv, cell A6: given 'eights' again" in told


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("layout,cut,failed\n,,1\n", "row 2: given nothing; wanted a mark"),
        ("layout,cut,mark\n,,A\n", "row 2: given nothing; wanted a whole number"),
        ("cut,mark,failed\n1,,\n", "row 2: given nothing; wanted the number of a layout"),
        ("layout,mark,failed\n1,,\n", "row 2: given nothing; wanted a whole number"),
    ],
)
def test_a_tally_without_one_of_its_columns_is_refused(bench: Bench, tmp_path: Path, text: str, said: str) -> None:
    (tmp_path / "cut.csv").write_text(text)
    assert said in refused(lambda: read_tally(tmp_path / "cut.csv", bench.old))


def test_a_tally_is_held_against_the_plan(bench: Bench, tmp_path: Path) -> None:
    sheet = tmp_path / "cut.csv"
    material, n = bench.old.layouts[0]
    piece = bench.old.plans[material].layouts[n].pieces[0].id
    mark = next(mark for mark, address in bench.old.marks.items() if address == piece)
    sheet.write_text(f"layout,cut,mark,failed\nLayout 1,1,,\n,,{mark.lower()},1\n")
    tally = read_tally(sheet, bench.old)
    assert tally.done == {(material, n): 1}
    assert tally.failed == {(material, piece): 1}
    sheet.write_text(f"layout,cut,mark,failed\n1,999,,\n999,1,,\n,,ZZ,1\n,,{mark},3\n2,1,{mark},1\n,1,,\n")
    told = refused(lambda: read_tally(sheet, bench.old))
    for said in (
        "cell B2: given '999'",
        "cell A3: given '999'; wanted the number of a layout",
        "cell C4: given 'ZZ'",
        f"cell C5: given 3 of {mark} failed; wanted at most 0",
        "row 6: given both",
        "cell A7: given nothing; wanted the number of a layout",
    ):
        assert f"cut.csv, {said}" in told


def test_a_failed_piece_is_cut_again(bench: Bench) -> None:
    tally = bench.cut(1, 1)
    material, n = bench.old.layouts[0]
    piece = bench.old.plans[material].layouts[n].pieces[0].id
    told = bench.again({}, Tally(tally.done, {(material, piece): 1}))
    assert sum(row.to_cut for row in told.pieces) == 1
    assert [each.job.material for each in told.rest.plans] == [material]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda raw: raw | {"format": "x"}, "woodshop-batch/2"),
        (lambda raw: raw | {"format": "woodshop-batch/1"}, "the format before"),
        (lambda raw: {key: value for key, value in raw.items() if key != "marks"}, "an incomplete plan"),
        (lambda raw: raw | {"batch": "other"}, "a plan of 'other'"),
        (lambda raw: raw | {"currency": "EUR"}, "a plan in EUR"),
        (
            lambda raw: raw | {"purchases": [raw["purchases"][0] | {"group": "ready-made mouse guard"}]},
            "bought ready-made",
        ),
    ],
)
def test_another_plan_is_refused(bench: Bench, change: Any, said: str) -> None:
    text = json.dumps(change(json.loads(bench.text)))

    def read() -> None:
        old = read_written(text, "plan.json")
        batch = settle(bench.design, bench.lumberyard)
        recount(old, batch, *check_batch(batch))

    assert said in refused(read)


def test_a_plan_that_fails_its_check_is_refused(bench: Bench) -> None:
    raw = json.loads(bench.text)
    plan = next(iter(raw["plans"].values()))
    plan["layouts"][0]["pieces"][0]["x"] += 10_000
    assert "does not pass its check" in refused(lambda: read_written(json.dumps(raw), "plan.json"))


# ---- the command --------------------------------------------------------------------------------


def run(*words: object) -> Result:
    return CliRunner().invoke(main, [str(word) for word in words])


def test_the_command_writes_a_plan_that_verifies(bench: Bench, tmp_path: Path) -> None:
    (tmp_path / "counts.csv").write_text("hives,count\ntens,5\n")
    (tmp_path / "cut.csv").write_text("layout,cut\n1,1\n")
    words = ["recount", bench.folder / "design.toml", "--plan", bench.folder / "plan.json", "--quick"]
    words += ["--counts", tmp_path / "counts.csv", "--cut", tmp_path / "cut.csv", "--out", tmp_path / "rest"]
    told = run(*words)
    assert told.exit_code == 0, told.output
    assert "Good pieces cut" in told.stdout
    assert {file.name for file in (tmp_path / "rest").iterdir()} == {"recount.pdf", "plan.json", "manifest.json"}
    assert run("verify", tmp_path / "rest/plan.json").exit_code == 0
    as_json = json.loads(run(*words[:-2], "--json").stdout)
    assert as_json["bought"] is True
    assert sum(row["cut"] for row in as_json["pieces"]) > 0
    bad = run("recount", bench.folder / "design.toml", "--plan", tmp_path / "counts.csv")
    assert (bad.exit_code, bad.stderr.count("error:")) == (3, 1)


def test_the_list_of_orders(designs: Path) -> None:
    told = run("orders", designs / "order-run.toml")
    assert told.exit_code == 0
    assert "18 hives: 18 fondant rim, 15 wire bottom" in told.stdout
    assert "note, Heath End Allotments: they pack their own sugar" in told.stdout
    as_json = json.loads(run("orders", designs / "order-run.toml", "--json").stdout)
    assert sum(group["count"] for group in as_json["groups"]) == 18
    assert run("orders", designs / "hobby-batch.toml").exit_code == 3
