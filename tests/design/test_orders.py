"""Orders become groups of hives: the same from TOML, CSV and workbook, nothing lost, nothing made unasked."""

import csv
import io
from collections import Counter
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import xlsxwriter
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from woodshop.design.batch import Batch
from woodshop.design.design_file import Design, read_design
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.orders.lines import read_run
from woodshop.design.orders.orders import Order, OrderBox, group_names, groups_of
from woodshop.design.settle.settle import settle
from woodshop.design.tables import BoxKeys, HivesTable
from woodshop.errors import InputError

HEAD = """format = "woodshop-design/2"
batch = "b"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
on_by = 2026-12-01
"""
BOX = '[[box]]\nname = "mill tens"\nframes = 10\nwidth = "16 1/4"\ngap = "1/4"\n'
SET = '[[set]]\nname = "Winter Set"\nitem = ["board", "quilt box"]\n'
COLUMNS = ("order", "customer", "item", "box", "count", "form", "due", "priority")
Line = dict[str, Any]


class Shop:
    """A folder with a lumberyard and a measured file, in which designs with orders are read."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def toml(self, lines: list[Line], more: str = "", head: str = "") -> Design:
        orders = "".join(
            "[[order]]\n" + "".join(f"{key} = {_toml(value)}\n" for key, value in line.items() if value is not None)
            for line in lines
        )
        return self._read(HEAD + head + BOX + SET + more + orders)

    def csv(self, lines: list[Line], mark: str = ",", mark_first: bool = False, more: str = "") -> Design:
        out = io.StringIO()
        writer = csv.writer(out, delimiter=mark, lineterminator="\r\n")
        writer.writerow([name.title() for name in COLUMNS])
        writer.writerows([["" if line.get(key) is None else line[key] for key in COLUMNS] for line in lines])
        (self.folder / "o.csv").write_text(out.getvalue(), encoding="utf-8-sig" if mark_first else "utf-8", newline="")
        return self._read(HEAD + 'orders = "o.csv"\n' + BOX + SET + more)

    def xlsx(self, lines: list[Line], title: str = "", more: str = "") -> Design:
        with xlsxwriter.Workbook(self.folder / "o.xlsx", {"strings_to_formulas": False}) as book:
            sheet, day = book.add_worksheet("orders"), book.add_format({"num_format": "d mmm yyyy"})
            rows: list[list[Any]] = [[title]] if title else []
            rows += [[name.upper() for name in COLUMNS], *([line.get(key) for key in COLUMNS] for line in lines)]
            for n, row in enumerate(rows):
                for column, value in enumerate(row):
                    if isinstance(value, date):
                        sheet.write_datetime(n, column, value, day)
                    elif value is not None:
                        sheet.write(n, column, value)
        return self._read(HEAD + 'orders = "o.xlsx"\n' + BOX + SET + more)

    def _read(self, text: str) -> Design:
        (self.folder / "design.toml").write_text(text, encoding="utf-8")
        return read_run(self.folder / "design.toml")

    def batch(self, design: Design) -> Batch:
        return settle(design, read_lumberyards(design.lumberyards))

    def refusal(self, lines: list[Line], more: str = "") -> str:
        with pytest.raises(InputError) as caught:
            self.toml(lines, more)
        return str(caught.value)


def _toml(value: Any) -> str:
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return f'"{escaped}"'
    return value.isoformat() if isinstance(value, date) else str(value)


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory, designs: Path) -> Shop:
    folder = tmp_path_factory.mktemp("orders")
    for name in ("creekside-lumberyard.toml", "harbor-lumberyard.toml", "wren-boxes.toml"):
        (folder / name).write_bytes((designs / name).read_bytes())
    return Shop(folder)


def line(customer: str, item: str, box: str, count: int, form: str | None = "packed", **more: Any) -> Line:
    return {"customer": customer, "item": item, "box": box, "count": count, "form": form, **more}


def made(batch: Batch) -> Counter[tuple[str, str, str]]:
    """How many of each item for each customer and box."""
    told: Counter[tuple[str, str, str]] = Counter()
    for each in batch.lines:
        told[each.hives.customer, each.hives.format, each.item.name] += each.count
    return told


# ---- one order, whatever file it comes from -----------------------------------------------------

NAMES = st.sampled_from(["Anna Voss", "Reed & Sons", "=1+1", "+49 170", "@mill", "-x", 'O"Hara; Ltd', "Łukasz, jun."])
LINES = st.lists(
    st.fixed_dictionaries(
        {
            "customer": NAMES,
            "item": st.sampled_from(["board", "winter set", "quilt box", "board + mouse guard", "wire bottom"]),
            "box": st.sampled_from(["mill tens", "10-frame 16", "8-frame 13 3/4", "5-frame", "wren-boxes.toml"]),
            "count": st.integers(1, 90),
            "form": st.sampled_from(["packed", "with mesh", "unassembled kit"]),
            "due": st.sampled_from([None, date(2026, 11, 3), date(2026, 11, 20)]),
            "priority": st.sampled_from([None, 1, 9]),
        }
    ),
    min_size=1,
    max_size=7,
)


@pytest.mark.invariant
@settings(max_examples=tries(40), deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(LINES)
def test_toml_csv_and_workbook_give_the_same_design(shop: Shop, drawn: list[Line]) -> None:
    lines = [{"order": f"A-{n}"} | line for n, line in enumerate(drawn)]
    one = shop.toml(lines)
    for other in (
        shop.csv(lines),
        shop.csv(lines, ";", mark_first=True),
        shop.csv(lines, "\t"),
        shop.xlsx(lines),
        shop.xlsx(lines, title="Orders of the autumn"),
    ):
        assert other == one
    assert sum(hives.count for hives in one.hives) == sum(line["count"] for line in lines)


@pytest.mark.invariant
@settings(max_examples=tries(40), deadline=None)
@given(LINES)
def test_just_what_was_ordered_is_made(shop: Shop, drawn: list[Line]) -> None:
    """Counted from the order lines by hand: each item of each line, for its customer and box."""
    sets = {
        "board": ["fondant rim", "wire bottom", "spacer strips"],
        "winter set": ["fondant rim", "wire bottom", "spacer strips", "quilt box"],
        "board + mouse guard": ["fondant rim", "wire bottom", "spacer strips", "mouse guard"],
    }
    boxes = {"mill tens": "10-frame 16 1/4", "wren-boxes.toml": "8-frame 13 7/8", "5-frame": "5-frame 9"}
    lines = [{"order": f"A-{n}"} | each for n, each in enumerate(drawn)]
    for each in lines:
        if each["item"] == "wire bottom" and each["form"] == "packed":
            each["form"] = "with mesh"  # a floor alone has no rim to be packed
    wanted: Counter[tuple[str, str, str]] = Counter()
    for each in lines:
        for item in sets.get(each["item"], [each["item"]]):
            wanted[each["customer"], boxes.get(each["box"], each["box"]), item] += each["count"]
    assert made(shop.batch(shop.toml(lines))) == wanted


def test_the_production_run_is_what_it_was_as_hives_in_the_design(designs: Path) -> None:
    """Nine rows for six customers, counted in the sheet by hand: 400 hives, 228 of them with quilt boxes."""
    design = read_run(designs / "production-run.toml")
    assert [(hives.name, hives.count) for hives in design.hives] == [
        ("north ridge tens", 96),
        ("north ridge eights", 44),
        ("alder creek tens", 120),
        ("wren eights", 36),
        ("quarry lane eights", 58),
        ("school nucs", 16),
        ("orchard tens", 30),
    ]
    batch = settle(design, read_lumberyards(design.lumberyards))
    told = {
        item: sum(x.count for x in batch.lines if x.item.name == item) for item in {x.item.name for x in batch.lines}
    }
    assert told["fondant rim"] == 400 - 22
    assert told["wire bottom"] == 400 - 22 + 9
    assert told["quilt box"] == 96 + 44 + 58 + 30
    assert told["bottom insert"] == 96 + 120
    assert (told["feeder quilt"], told["feeding shim"], told["vent spacers"]) == (36, 16, 400)
    assert batch.hives[2].due == date(2026, 11, 13)


# ---- which hives are the same -------------------------------------------------------------------


def test_lines_of_one_order_for_one_box_go_on_the_same_hives(shop: Shop) -> None:
    design = shop.toml([line("Anna", "board", "mill tens", 60), line("Anna", "quilt box", "mill tens", 40, None)])
    assert [(hives.name, hives.count, hives.form) for hives in design.hives] == [
        ("mill tens", 40, "packed"),
        ("mill tens, 2", 20, "packed"),
    ]
    assert made(shop.batch(design))["Anna", "10-frame 16 1/4", "quilt box"] == 40
    assert made(shop.batch(design))["Anna", "10-frame 16 1/4", "fondant rim"] == 60
    assert "on the same hives" in {default.name for default in shop.batch(design).defaults}


def test_another_order_form_day_or_customer_is_another_group(shop: Shop) -> None:
    lines = [
        line("Anna", "board", "mill tens", 1),
        line("Anna", "board", "mill tens", 2, "empty"),
        line("Anna", "board", "mill tens", 3, order="7"),
        line("Anna", "board", "mill tens", 4, due=date(2026, 11, 3)),
        line("Bert", "board", "mill tens", 5),
        line("Anna", "board", "10-frame 16", 6),
    ]
    design = shop.toml(lines)
    assert [hives.count for hives in design.hives] == [1, 2, 3, 4, 5, 6]
    assert [hives.name for hives in design.hives] == [
        "mill tens, Anna, packed",
        "mill tens, Anna, empty",
        "mill tens, Anna, 7",
        "mill tens, Anna, packed, due 2026-11-03",
        "mill tens, Bert",
        "Anna, 10-frame 16",
    ]


@pytest.mark.invariant
@settings(max_examples=tries(200), deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from("AB"), st.sampled_from(["", "1"]), st.sampled_from(["x", "y"]), st.integers(1, 5),
            st.sampled_from(["packed", "empty"]), st.sampled_from([("i",), ("j",), ("i", "k"), ("k", "l")]),
        ),
        max_size=8,
    )
)  # fmt: skip
def test_groups_hold_every_count_and_their_names_differ(drawn: list[Any]) -> None:
    """Items of all lines, counted before and after; a line whose item stands in an earlier like line is left out."""
    keys = BoxKeys.model_construct(frames=10)
    lines, seen = [], set()
    for customer, number, box, count, form, items in drawn:
        if not {(customer, number, box, form, item) for item in items} & seen:
            seen |= {(customer, number, box, form, item) for item in items}
            lines.append(
                Order(
                    where="",
                    customer=customer,
                    number=number,
                    items=items,
                    box=OrderBox(box, keys),
                    count=count,
                    form=form,
                    due=None,
                    priority=None,
                )
            )
    groups = groups_of(lines)
    wanted = Counter({(x.customer, x.number, x.box.name, x.form, item): 0 for x in lines for item in x.items})
    found: Counter[Any] = Counter()
    for each in lines:
        for item in each.items:
            wanted[each.customer, each.number, each.box.name, each.form, item] += each.count
    for group in groups:
        first = group.lines[0]
        assert {item for source in group.lines for item in source.items} == set(group.items)
        for item in group.items:
            found[first.customer, first.number, first.box.name, first.form, item] += group.count
    assert found == wanted
    names = group_names(groups, {"A, x"})
    assert len({*names, "A, x"}) == len(names) + 1


# ---- how it is made -----------------------------------------------------------------------------


def test_a_make_without_hives_says_how_and_one_with_a_name_says_it_for_those(shop: Shop) -> None:
    more = (
        '[[make]]\nitem = "quilt box"\nskirt = "3/4"\n'
        '[[make]]\nitem = "quilt box"\nskirt = "1/2"\nhives = "mill tens"\n'
        '[[make]]\nitem = "vent spacers"\n[[make]]\nitem = "bee-space gauge"\n'
    )
    lines = [line("Anna", "winter set", "mill tens", 2), line("Bert", "quilt box", "10-frame 16", 3)]
    batch = shop.batch(shop.toml(lines, more))
    skirts = {
        each.hives.customer: str(dict(each.given)["skirt"]) for each in batch.lines if each.item.name == "quilt box"
    }
    assert skirts == {"Anna": "1/2 in", "Bert": "3/4 in"}
    assert "vent spacers" not in {each.item.name for each in batch.lines}
    assert ("orders", "vent spacers", "not made") in {(d.where, d.name, d.value) for d in batch.defaults}
    assert [each.item.name for each in batch.lines if each.item.per != "hive"] == ["bee-space gauge"]


def test_hives_of_the_design_stand_beside_orders(shop: Shop) -> None:
    own = '[[hives]]\nname = "home"\nframes = 10\ncount = 4\ngap = "1/4"\n'
    own += '[[make]]\nitem = ["fondant rim", "wire bottom"]\n'
    batch = shop.batch(shop.toml([line("Anna", "board", "mill tens", 2)], own))
    counts = {(each.hives.name, each.item.name): each.count for each in batch.lines}
    assert counts["home", "fondant rim"] == 4
    assert counts["mill tens", "spacer strips"] == 2
    assert ("home", "spacer strips") not in counts


def test_the_shed_is_counted_off_by_the_name_of_the_hives(shop: Shop) -> None:
    shed = '[[shed]]\nitem = "fondant rim"\nhives = "mill tens"\nhave = 2\n'
    lines = [line("Anna", "board", "mill tens", 5)]
    batch = shop.batch(shop.toml(lines, shed))
    assert {each.item.name: each.count for each in batch.lines}["fondant rim"] == 3
    assert "Did you mean 'mill tens'?" in shop.refusal(lines, shed.replace("mill tens", "mill ten"))
    assert "at most one for each hive" in shop.refusal(lines, shed.replace("have = 2", "have = 6"))


def test_a_make_for_hives_that_did_not_order_it_is_refused(shop: Shop) -> None:
    told = shop.refusal([line("Anna", "board", "mill tens", 2)], '[[make]]\nitem = "quilt box"\nhives = "mill tens"\n')
    assert "quilt box for 'mill tens'; wanted an item ordered for them: fondant rim" in told


@pytest.mark.parametrize(
    ("box", "frames", "width"),
    [
        ("mill tens", 10, "16 1/4 in"),
        ("Mill  Tens", 10, "16 1/4 in"),
        ("10-frame 16", 10, "16 in"),
        ('10 frames, 16-1/4"', 10, "16 1/4 in"),
        ("8-frame 13 7/8", 8, "13 7/8 in"),
        ("5-frame", 5, "9 in"),
        ("wren-boxes.toml", 8, "13 7/8 in"),
        ("wren-boxes.toml: wren eights", 8, "13 7/8 in"),
    ],
)
def test_a_box_by_its_words(shop: Shop, box: str, frames: int, width: str) -> None:
    batch = shop.batch(shop.toml([line("Anna", "board", box, 2)]))
    setting = batch.lines[0].setting
    assert (setting.box.frames, str(setting.box.width)) == (frames, width)


@pytest.mark.parametrize(
    ("box", "pattern", "frames"),
    [
        ("British National", "British National", 11),
        ("dadant-blatt", "Dadant-Blatt", 10),
        ("Dadant-Blatt square 12 frames", "Dadant-Blatt square", 12),
        ("Langstroth 8-frame", "Langstroth", 8),
    ],
)
def test_a_box_is_ordered_by_its_pattern(shop: Shop, box: str, pattern: str, frames: int) -> None:
    design = shop.toml([line("Anna", "quilt box", box, 2)])
    assert [(hives.pattern, hives.frames, hives.name) for hives in design.hives] == [
        (pattern, frames, f"Anna, {pattern} {frames}-frame")
    ]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"box": "wren-boxes.toml: wren tens"}, "a box of wren-boxes.toml. Did you mean 'wren eights'?"),
        ({"box": "nowhere.toml"}, "nowhere.toml: given no such file"),
        ({"form": "empty", "item": "wire bottom"}, "order number 1, form: given 'empty'; wanted another form"),
        ({"form": None}, "order number 1, form: given nothing"),
        ({"colour": "red"}, "order number 1, colour: given the unknown key 'colour'"),
        ({"cuont": 3}, "Did you mean 'count'?"),
        ({"due": "10/11/26"}, "order number 1, due: given '10/11/26'"),
        ({"count": "12.0"}, "order number 1, count: given '12.0'"),
    ],
)
def test_slips_in_an_order_line_are_told_by_their_key(shop: Shop, change: Line, said: str) -> None:
    assert said in shop.refusal([line("Anna", "board", "mill tens", 2) | change])


def test_a_box_with_a_control_character_in_a_sheet_is_refused(shop: Shop) -> None:
    with pytest.raises(InputError, match="Did you mean"):
        shop.csv([line("Anna", "board", "wren-boxes.toml: wren eigh\x7fs", 2)])


def test_the_design_itself_is_held_against_its_orders(shop: Shop) -> None:
    def refused(text: str) -> str:
        with pytest.raises(InputError) as caught:
            shop._read(text)
        return str(caught.value)

    assert "design.toml, hives: given nothing; wanted a value for 'hives'" in refused(HEAD)
    assert "design.toml, box: given this key, but no orders" in refused(
        HEAD + BOX + '[[hives]]\nframes = 10\ncount = 1\n[[make]]\nitem = "quilt box"\n'
    )
    order = '[[order]]\ncustomer = "A"\nitem = "board"\nbox = "mill tens"\ncount = 1\nform = "packed"\n'
    assert "set number 1, name: given 'board'" in refused(HEAD + BOX + SET.replace("Winter Set", "board") + order)
    assert "Did you mean 'quilt box'?" in refused(HEAD + BOX + SET.replace("quilt box", "quilt bx") + order)
    assert "box number 2, name: given 'mill tens'" in refused(HEAD + BOX + BOX + order)


def test_orders_left_unread_are_never_settled(shop: Shop) -> None:
    shop.toml([line("Anna", "board", "mill tens", 2)])
    design = read_design(shop.folder / "design.toml")
    assert design.hives == ()
    with pytest.raises(ValueError, match="orders"):
        settle(design, read_lumberyards(design.lumberyards))


def test_a_sheet_beside_the_orders_is_named_as_not_read(shop: Shop) -> None:
    with xlsxwriter.Workbook(shop.folder / "o.xlsx") as book:
        book.add_worksheet("Prices").write(0, 0, "old")
        sheet = book.add_worksheet("Orders")
        sheet.write_row(0, 0, ["Customer", "Item", "Box", "Qty", "Form", "Phone"])
        sheet.write_row(1, 0, ["Anna", "board", "mill tens", 2, "packed", "555"])
        sheet.write_formula(2, 3, "=D2+1", None, 3)
        sheet.write_row(2, 0, ["Bert", "board", "mill tens"])
        sheet.write(2, 4, "packed")
    design = shop._read(HEAD + 'orders = "o.xlsx"\nother_columns = ["phone"]\n' + BOX)
    assert [hives.count for hives in design.hives] == [2, 3]  # a formula stands for what was last reckoned
    assert ("sheets not read", "Prices") in {(each.name, each.value) for each in design.order_defaults}


def test_several_files_of_orders_are_one_run(shop: Shop) -> None:
    (shop.folder / "a.csv").write_text("customer,item,box,count,form\nAnna,board,mill tens,2,packed\n")
    (shop.folder / "b.csv").write_text("customer,item,box,count,form\nBert,board,mill tens,3,packed\n")
    design = shop._read(HEAD + 'orders = ["a.csv", "b.csv"]\n' + BOX)
    assert [(hives.customer, hives.count) for hives in design.hives] == [("Anna", 2), ("Bert", 3)]
    (shop.folder / "a.csv").write_text("customer,item,box,count,form\nAnna,bord,mill tens,2,packed\n")
    (shop.folder / "b.csv").write_text("customer,item,box,count,form\nBert,board,mill tens,x,packed\n")
    with pytest.raises(InputError) as caught:
        shop._read(HEAD + 'orders = ["a.csv", "b.csv"]\n' + BOX)
    assert [problem.where for problem in caught.value.problems] == ["a.csv, cell B2", "b.csv, cell D2"]


@pytest.mark.invariant
def test_a_group_of_an_order_has_every_key_of_its_box() -> None:
    assert BoxKeys.model_fields.keys() <= HivesTable.model_fields.keys()
