"""Small good files of every format, and good command lines over them, from which the cases are made."""

import io
import json
import shutil
from pathlib import Path

from click import Group, Option
from click.testing import CliRunner

from tests.fuzz.corrupt_plans import sealed
from tests.fuzz.corrupt_schedules import schedule_file
from tests.once import lists_only
from woodshop.cli import main
from woodshop.plan.book.event_sheets import read_event_rows
from woodshop.records.rows import events_from_rows
from woodshop.records.store import new_book

CHECKOUT = Path(__file__).resolve().parents[2]
PLAIN = """format = "woodshop-design/2"
batch = "plain"
unit = "in"
lumberyard = "creekside-lumberyard.toml"
on_by = 2026-11-26
[[hives]]
name = "tens"
frames = 10
width = "16 1/4"
count = 2
gap = ["1/4", "5/16"]
[[make]]
item = ["fondant rim", "wire bottom"]
"""
RICH = """format = "woodshop-design/2"
batch = "rich"
title = "Winter 2026"
unit = "in"
lumberyard = ["creekside-lumberyard.toml", "harbor-lumberyard.toml"]
on_by = 2026-11-26
paper = "letter"
surplus = "spare"
[board]
mounting = "stapled under"
sugar = "16 lb"
density = "0.85 kg/L"
height = "2 1/2"
[saw]
rip_kerf = "1/8"
crosscut_kerf = "1/8"
shortest_offcut = "16"
longest_rip = "8 ft"
[climate]
outside = ["21 F", "23 F", "32 F", "43 F", "54 F", "63 F", "68 F", "66 F", "59 F", "48 F", "37 F", "26 F"]
[labels]
columns = 3
[worth]
layout = "1.00"
[[hives]]
name = "tens"
customer = "Ida Sorrel"
frames = 10
width = "16 1/4"
count = 3
gap = ["1/4", "5/16", "1/4"]
cover = "telescoping"
[[hives]]
name = "nationals"
pattern = "British National"
count = 1
gap = "1/4"
[[shed]]
item = "fondant rim"
hives = "tens"
have = 1
[[make]]
item = ["fondant rim", "wire bottom", "spacer strips"]
hives = "tens"
spare = 1
[[make]]
item = "packing blocks"
people = 2
[[make]]
item = "quilt box"
hives = "tens"
skirt = "0"
"""
METRIC = PLAIN.replace('"plain"', '"metric"').replace('unit = "in"', 'unit = "mm"').replace('"16 1/4"', '"413"')
METRIC = METRIC.replace('["1/4", "5/16"]', '"7"')
ORDERED = PLAIN[: PLAIN.index("[[hives]]")].replace('"plain"', '"ordered"') + 'orders = "ORDERS"\n'
ORDERS = """Order,Customer,Item,Box,Count,Form,Due,Priority
M-1,Ida Sorrel,board + quilt box,10-frame 16 1/4,2,packed,2026-11-14,1
M-2,Heath End,board,10-frame 16,2,with mesh,2026-11-20,
M-3,Tomasz Wren,board,wren-boxes.toml: wren eights,1,unassembled kit,2026-11-20,
"""
JOB = {
    "format": "woodshop-job/1",
    "unit": "1/64 in",
    "money": "cent",
    "kerf": {"rip": 8, "crosscut": 8},
    "cutting": {"stages": 2, "first": "along", "final_trim": False},
    "rules": {"narrow_below": 48, "parent_wood": 128, "surplus": "drop"},
    "stock": [
        {"id": "1x6", "width": 352, "length": 6144, "cost": 1112, "end_trim": 32},
        {"id": "rack", "width": 352, "length": 2600, "cost": 100, "count": 1},
    ],
    "blanks": [
        {"id": "shelf", "width": 352, "length": 2304, "count": 2, "rotate": False},
        {"id": "cleat", "width": 96, "length": 2304, "count": 3, "rotate": False},
    ],
}
SHEETS = {
    "counts.csv": "hives,was,count\ntens,2,3\n",
    "progress.csv": "event,name,count,layout,length\ncut,1,1,,\nspoiled,A,1,,\nshorter,,1,1,3\n",
}
EVENTS = """kind,day,id,stock,item,box,count,price,length,width,offcut,material,of
stock bought,2026-10-01,1,"1x6 pine, 8 ft",,,4,11.12,,,,board 3/4 in,
offcut put away,2026-10-02,2,,,,,,31 1/2,5 1/2,R7,board 3/4 in,
units finished,2026-10-03,,,quilt box,tens,3,,,,,,
stock used,,,"1x6 pine, 8 ft",,,1,,,,,,
undo,,5,,,,,,,,,,2
"""
SHEETS["events.csv"] = EVENTS
SHEETS["counted.csv"] = 'stock,offcut,item,box,counted\n"1x6 pine, 8 ft",,,,2\n,,quilt box,tens,3\n'
FROM_DESIGNS = (
    "creekside-lumberyard.toml",
    "harbor-lumberyard.toml",
    "creekside-shop.toml",
    "orchard-stores.toml",
    "wren-boxes.toml",
)
_COMMANDS = """
check plain.toml
check rich.toml --json
check metric.toml
check plain.toml --explain gap
check plain.toml --sheet new-sheet.toml
check plain.toml --map map.svg
check plain.toml --measured unit.toml
check plain.toml --band Langstroth
check csv-orders.toml
check xlsx-orders.toml
orders csv-orders.toml
orders xlsx-orders.toml
orders csv-orders.toml --json
orders xlsx-orders.toml --json
openings plain.toml
sizes rich.toml --overhang 1/16
cut job.json --quick
cut job.json --out cut-plan.json
verify plan.json
verify plan.json --job job.json
verify batch.json
verify batch.json --json
verify schedule.json
schedule plain.toml --earlier batch.json --quick --out days
schedule plain.toml --earlier batch.json --replaces schedule.json --today 2026-10-03 --quick --out days
plan plain.toml --rest --earlier batch.json --counts counts.csv --quick --out rest
plan plain.toml --rest --earlier batch.json --progress progress.csv --quick --out rest
stores orchard-stores.toml
stores orchard-stores.toml --json
compare plain.toml --vary price.1x6=+10% --quick
season plain.toml --out season --tables 2
quote plain.toml --shop creekside-shop.toml --quick --out quoted
plan plain.toml --quick --out packet
new made.toml --frames 10 --count 2 --gap 1/4
new --for shop --frames 8 --count 3 --gap 1/4,5/16 --width 14
items
items quilt-box --picture box.svg
sources density
book list shop.book
book list shop.book units --json
book list shop.book --kind undo --as-of 5
book check shop.book
book import shop.book events.csv
book import new.book events.csv --new --json
book export shop.book exported.csv
book count shop.book counted.csv --yes
book count shop.book --blank sheet.csv
book add shop.book units-finished item=quilt-box box=tens count=2 --day 2026-10-04
book correct shop.book 1 count=3 price=10.98
book undo shop.book 4 --reason wrong
book backup shop.book copy.book
explain strip-lifts-rim
explain
syrup --strength 2:1 --sugar 10lb
syrup --volume 2gal
syrup --stores-wanted 60lb --stores-there 40lb --hives 3
syrup --board-weight 9lb --board-tare 4lb
"""
COMMANDS = _COMMANDS.strip().splitlines()


def write_corpus(folder: Path) -> None:
    """The good files in a folder; what can only be made by a command is made by it."""
    for name in FROM_DESIGNS:
        (folder / name).write_bytes((CHECKOUT / "designs" / name).read_bytes())
    texts = {"plain.toml": PLAIN, "rich.toml": RICH, "metric.toml": METRIC, "orders.csv": ORDERS, **SHEETS}
    texts |= {f"{kind}-orders.toml": ORDERED.replace("ORDERS", f"orders.{kind}") for kind in ("csv", "xlsx")}
    texts["job.json"] = json.dumps(JOB, indent=1)
    for name, text in texts.items():
        (folder / name).write_text(text, encoding="utf-8")
    (folder / "orders.xlsx").write_bytes(_workbook())
    plain, job = folder / "plain.toml", folder / "job.json"
    assert new_book(
        folder / "shop.book", sent=events_from_rows(read_event_rows(folder / "events.csv"), "in", "USD")
    ).new
    for words in (
        ["check", plain, "--sheet", folder / "unit.toml"],
        ["cut", job, "--out", folder / "plan.json"],
        ["plan", plain, "--quick", "--out", folder / "packet"],
    ):
        with lists_only():
            done = CliRunner().invoke(main, [str(word) for word in words])
        if done.exit_code:
            raise RuntimeError(f"{words}: {done.output}")
    (folder / "batch.json").write_bytes((folder / "packet/plan.json").read_bytes())
    schedule = schedule_file()
    schedule["project"]["name"] = json.loads((folder / "batch.json").read_text(encoding="utf-8"))["batch"]
    (folder / "schedule.json").write_text(json.dumps(sealed(schedule)), encoding="utf-8")
    shutil.rmtree(folder / "packet")


def _workbook() -> bytes:
    import xlsxwriter

    data = io.BytesIO()
    with xlsxwriter.Workbook(data, {"in_memory": True}) as book:
        page = book.add_worksheet("Orders")
        for n, line in enumerate(ORDERS.splitlines()):
            for m, cell in enumerate(line.split(",")):
                page.write(n, m, int(cell) if cell.isdigit() else cell)
        page.write_formula(1, 4, "=1+1", None, 2)
        page.set_column(0, 3, 20)
    return data.getvalue()


def options_of(command: str) -> list[tuple[str, bool]]:
    """The options of a command, or of all commands of a group, and whether each takes a value."""
    known = main.commands.get(command)
    group = list(known.commands.values()) if isinstance(known, Group) else [known] if known else []
    found = [each for one in group for each in one.params]
    return [(each.opts[0], not each.is_flag) for each in found if isinstance(each, Option)]


def known_keys() -> list[str]:
    """Keys of design, lumberyard and shop files, for putting where they do not belong."""
    from woodshop.trade.compare import known_keys as varied

    return sorted({key.rpartition(".")[2] for key in varied()} | {"batch", "orders", "item", "name", "title", "format"})
