"""What the commands print for a metric shop: the demo, and orders, a shop file, a book and stores in metric units."""

import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from tests.documents.printed_words import foreign, too_fine, words_of
from tests.nightly import IS_NIGHT, spread
from tests.once import DESIGNS, bought, lists_only, once
from woodshop.cli import main
from woodshop.design.design_file import read_design_text
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.settle.settle import settle
from woodshop.documents.answers.new_design import Answers, Group, new_design
from woodshop.documents.packet.layouts import numbered_layouts
from woodshop.documents.result import result_files
from woodshop.errors import WoodshopError
from woodshop.hardware.catalogue import items

DEMO, LUMBERYARD = "birkholm-run.toml", "birkholm-lumberyard.toml"
FILES = {
    "orders.csv": """Order,Customer,Item,Box,Qty,Form,Due,Priority,Note
L-1,Grete Lund,board + quilt box,linden ten,4,packed,2026-11-14,1,
L-2,Skov Allotments,board,heath ten,3,with mesh,2026-11-20,,
L-2,Skov Allotments,mouse guard,10-frame 413,3,,2026-11-20,,
""",
    "shop.toml": """format = "woodshop-shop/2"
unit = "mm"
name = "Birkholm Beehives"
currency = "EUR"
labour = "28.00"
margin = "25 %"
[saw]
rip_kerf = "3"
[times]
paint = "9"
[paint]
price = "21.00"
litres = "2.5"
coverage = "8 m2/L"
coats = 2
""",
    "orders.toml": """format = "woodshop-design/2"
batch = "linden-orders"
unit = "mm"
lumberyard = "birkholm-lumberyard.toml"
shop = "shop.toml"
orders = "orders.csv"
wood = "20"
[[box]]
name = "linden ten"
pattern = "Dadant-Blatt"
frames = 10
gap = ["7", "8", "7"]
[[box]]
name = "heath ten"
frames = 10
gap = ["6.5", "7", "7"]
""",
    "stores.toml": """format = "woodshop-stores/1"
unit = "kg"
outside = ["0 C", "0 C", "3 C", "7 C", "12 C", "16 C", "18 C", "17 C", "14 C", "9 C", "5 C", "2 C"]
[[hive]]
name = "orchard 1"
weighed = "50 kg"
without_stores = "27 kg"
[[hive]]
name = "orchard 2"
count = 3
deep_frames = "4"
""",
}
BOOK = (
    ("order accepted", "order=L-1", "customer=Grete Lund", "item=quilt box", "box=linden ten", "count=4", "price=39"),
    ("stock bought", "stock=20 mm x 70 mm spruce, 2400 mm", "count=10", "price=4.10"),
    ("units finished", "item=quilt box", "box=linden ten", "count=4"),
    ("offcut put away", "material=board 20 mm", "length=650", "width=70", "offcut=#1"),
    ("box measured", "customer=Grete Lund", "box=linden ten", "frames=10", "length=500.5", "width=435.5", "gap=7, 8"),
)
SAYS = (
    f"check {DEMO}", f"check {DEMO} --gaps", "check orders.toml --moves --map map.pdf",
    f"openings {DEMO} --explain", f"sizes {DEMO}", f"sizes {DEMO} --overhang 1.5x",
    f"season {DEMO} --table 2400 1200 --out season", f"season {DEMO} --table 1 2",
    f"schedule {DEMO} --earlier plan.json --out days --quick", "verify plan.json", "orders orders.toml",
    "season orders.toml --out packing", "quote orders.toml --shop shop.toml --quick --out quotes",
    "compare orders.toml --vary board.sugar=6kg --quick", "stores stores.toml", "syrup --strength 2:1 --sugar 10kg",
    "syrup --volume 8L", "syrup --stores-wanted 20kg --stores-there 12kg --hives 3", "items --board --unit mm",
    "syrup --board-weight 5kg --board-tare 2kg", "book list shop.book", "book list shop.book measured",
    "book list shop.book offcuts", "book check shop.book", "deliver shop.book --day 2026-11-13 --out delivery",
    "book add shop.book offcut\u00a0put\u00a0away material=board length=65x width=70",
    "orders orders.toml --book shop.book",
    f"new - --unit mm --pattern Dadant-Blatt --frames 10 --count 3 --gap 8 --lumberyard {LUMBERYARD}",
    f"plan {DEMO} --rest --earlier plan.json --progress spoiled.csv --quick --out rest",
    *(f"explain {word} --unit mm" for word in (
        "wood", "saw.mark", "narrow\u00a0rip", "strip-lifts-rim", "gap", "quilt\u00a0box", "syrup", "hives.gap")),
)  # fmt: skip
AT_NIGHT = ("check orders.toml", f"check {DEMO} --moves", f"compare {DEMO} --vary board.sugar=6kg,7kg --quick")
"""The same outputs for other designs."""


def faults(text: str) -> list[str]:
    """What a metric shop should not read; comments of a file are read in one line."""
    plain = text.replace("\n# ", " ")
    return [*foreign(plain), *too_fine(plain)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop's folder: the demo with its plan, orders, stores, and a book that was kept in millimetres."""
    shop = tmp_path_factory.mktemp("shop")
    for name in (DEMO, LUMBERYARD):
        shutil.copy(DESIGNS / name, shop)
    for name, text in FILES.items():
        (shop / name).write_text(text, encoding="utf-8")
    with lists_only():
        files = once(f"lists of {DEMO}", lambda: result_files(bought(DEMO.removesuffix(".toml")), lambda line: None))
    (shop / "plan.json").write_bytes(files["plan.json"])
    layouts = numbered_layouts(bought(DEMO.removesuffix(".toml")))[:-2]  # the rest is small
    cut = "".join(f"cut,{each.number},{each.times},\n" for each in layouts)
    (shop / "spoiled.csv").write_text(f"event,name,count,reason\n{cut}", encoding="utf-8")
    start = ("--new", "--unit", "mm", "--currency", "EUR")
    for n, event in enumerate(BOOK):
        words = ["book", "add", str(shop / "shop.book"), *event, *(start if n == 0 else ())]
        added = CliRunner().invoke(main, words)
        assert added.exit_code == 0, added.output
    return shop


@pytest.mark.parametrize("command", SAYS + AT_NIGHT if IS_NIGHT else SAYS)
def test_no_inch_on_the_console_and_none_in_what_is_written(
    folder: Path, command: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(folder)
    before = set(folder.rglob("*"))
    with lists_only():
        said = CliRunner().invoke(main, [word.replace("\u00a0", " ") for word in command.split()])
    assert said.exception is None or isinstance(said.exception, SystemExit)
    assert said.output
    assert faults(said.output) == []
    written = [path for path in set(folder.rglob("*")) - before if path.is_file() and path.suffix != ".book"]
    found = {(path.name, word) for path in written for text in words_of(path.name, path.read_bytes())
             for word in faults(text)}  # fmt: skip
    assert not found


def test_no_inch_in_the_questions_of_a_measured_pattern() -> None:
    typed = "450 385 25 27 15 470 25 20 10 435 25 10 9 37 240 225".replace(" ", "\n") + "\n8, 7\n"
    words = ["new", "-", "--measure", "--frames", "10", "--count", "3", "--unit", "mm", "--lumberyard", LUMBERYARD]
    said = CliRunner().invoke(main, words, input=typed)
    assert said.exit_code == 0, said.output
    assert "such as 7" in said.output
    assert faults(said.output) == []


@pytest.mark.parametrize("name", [item.name for item in items()])
def test_no_inch_in_the_settings_of_an_item(name: str) -> None:
    said = CliRunner().invoke(main, ["items", name, "--unit", "mm"])
    assert said.exit_code == 0
    assert faults(said.output) == []


def _refused(text: str, path: Path) -> str:
    try:
        settle(read_design_text(text, path), read_lumberyards((DESIGNS / LUMBERYARD,)))
    except WoodshopError as why:
        return str(why)
    return ""


def _changed() -> list[str]:
    """The demo, and a new design with every key, each with one value spoiled."""
    lines = (DESIGNS / DEMO).read_text(encoding="utf-8").splitlines()
    group = Group(10, 3, ("7",), pattern="Dadant-Blatt")
    every = Answers(
        groups=(group,), kind="shop", makes=tuple(each.name for each in items()), unit="mm", lumberyards=(LUMBERYARD,)
    )
    found = []
    for of, begin in ((lines, ""), (new_design(every, DEMO).splitlines(), "# ")):
        for n, line in enumerate(of):
            key = re.match(rf"{begin}(\w+) = ", line)
            if key is not None and key[1] not in ("format", "unit", "lumberyard", "book", "shop", "orders", "patterns"):
                for value in ("x", "0", "260", "-4"):
                    found.append("\n".join([*of[:n], f'{key[1]} = "{value}"', *of[n + 1 :]]) + "\n")
    return found


def test_no_inch_in_a_refusal() -> None:
    """The names of bands and of their sources stay as they are printed."""
    said = {_refused(text, DESIGNS / DEMO) for text in spread(_changed(), 60)}
    assert len(said) > 20
    assert {each for text in said for each in faults(text.replace("quarter inch", ""))} == set()
