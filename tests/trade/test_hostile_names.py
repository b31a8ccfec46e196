"""Names that do harm elsewhere: formulas, markup, paths, marks of direction. All files of a run, looked through."""

import csv
import io
import json
import re
from pathlib import Path

import openpyxl
import pdfplumber
import pypdf
import pytest

from woodshop.checks.check_batch import check_batch
from woodshop.design.lumberyard.lumberyard_file import read_lumberyards
from woodshop.design.orders.lines import read_run
from woodshop.design.settle.settle import settle
from woodshop.documents.answers.hives import orders_section
from woodshop.documents.result import result_files
from woodshop.drawing.pens.text import section_text
from woodshop.errors import InputError
from woodshop.files.folder import write_folder
from woodshop.plan.plan_batch import plan_batch
from woodshop.plan.rest.earlier_plan import read_earlier
from woodshop.plan.rest.plan_rest import plan_rest
from woodshop.plan.rest.progress import Progress
from woodshop.plan.values import PlannedBatch

NAMES = (
    "=cmd|'/C calc'!A0",
    '=HYPERLINK("http://a.example","x")',
    "+1-800-HIVES",
    "-2+3",
    "@SUM(A1:A9)",
    "<b>Bold</b> & <a href='x'>Sons</a>",
    "../../etc/passwd",
    "C:\\bees\\..\\x.exe",
    'Quote "Q" %s {x} $HOME',
    "Łukasz Żur & Søn",
    "CON.txt; rm -rf",
)
HEAD = """format = "woodshop-design/2"
batch = "hostile"
unit = "in"
lumberyard = "lumberyard.toml"
orders = "orders.csv"
[labels]
pieces = true
"""
REFUSED = (
    "Anna\nVoss",
    "Anna\rVoss",
    "Anna\tVoss",
    "\u202eannA",
    "An\u200bna",
    "An\u2028na",
    "An\x1bna",
    "\ufeffAnna x",
)


def shop(folder: Path, designs: Path, names: tuple[str, ...]) -> Path:
    (folder / "lumberyard.toml").write_bytes((designs / "creekside-lumberyard.toml").read_bytes())
    (folder / "design.toml").write_text(HEAD, encoding="utf-8")
    with (folder / "orders.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["Customer", "Item", "Box", "Count", "Form", "Note"])
        for n, name in enumerate(names):
            writer.writerow([name, "feeding shim", "5-frame" if n % 2 else "8-frame 14", 1, "with mesh", name])
    return folder / "design.toml"


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory, designs: Path) -> PlannedBatch:
    design = read_run(shop(tmp_path_factory.mktemp("hostile"), designs, NAMES))
    batch = settle(design, read_lumberyards(design.lumberyards))
    return plan_batch(batch, *check_batch(batch), effort="quick")


@pytest.fixture(scope="module")
def files(planned: PlannedBatch) -> dict[str, bytes]:
    """Everything that is written of the run, and of its rest before anything was bought."""
    made = result_files(planned, lambda _: None)
    earlier = read_earlier(made["plan.json"].decode("utf-8"), "plan.json")
    progress = Progress(bought=())
    again = plan_rest(earlier, planned.batch, planned.units, planned.report, progress, effort="quick")
    rest = result_files(again.rest, lambda _: None, again)
    return made | {f"rest/{name}": data for name, data in rest.items()}


def test_the_names_are_the_customers(planned: PlannedBatch) -> None:
    assert tuple(hives.customer for hives in planned.batch.hives) == NAMES


def test_file_names_hold_letters_and_digits_alone(files: dict[str, bytes], tmp_path: Path) -> None:
    """No name leads out of the folder, and none is one that some system keeps for itself."""
    for name in files:
        assert re.fullmatch(r"[A-Za-z0-9_.-]+(/[A-Za-z0-9_.-]+)*", name), name
        assert not any(part.startswith(".") or part.split(".")[0].upper() == "CON" for part in name.split("/"))
    write_folder(tmp_path / "out", files)
    assert {path.name for path in tmp_path.iterdir()} == {"out"}


def test_no_cell_of_a_list_is_a_formula(files: dict[str, bytes]) -> None:
    """A cell beginning with one of these is reckoned by spreadsheet programs."""
    lists = [name for name in files if name.endswith(".csv")]
    assert len(lists) == 6
    for name in lists:
        for row in csv.reader(io.StringIO(files[name].decode("utf-8"))):
            for cell in row:
                assert not cell.startswith(("=", "+", "-", "@", "\t", "\r")), (name, cell)


def test_no_formula_of_the_workbook_holds_a_name(files: dict[str, bytes]) -> None:
    book = openpyxl.load_workbook(io.BytesIO(files["workbook.xlsx"]))
    seen = set()
    for sheet in book.worksheets:
        for row in sheet.iter_rows():
            for cell in row:
                text = str(cell.value)
                if cell.data_type == "f":
                    assert not any(name.lstrip("=") in text for name in NAMES), text
                    assert "cmd" not in text
                assert cell.hyperlink is None or not cell.hyperlink.target
                seen |= {name for name in NAMES if name in text}
    assert seen  # the workbook names hives of a run


@pytest.mark.parametrize("file", ["packet.pdf", "labels.pdf"])
def test_names_are_printed_as_they_are_spelled(files: dict[str, bytes], file: str) -> None:
    """Markup is not obeyed: its brackets stand on the paper. Broken lines are joined without their spaces."""
    with pdfplumber.open(io.BytesIO(files[file])) as pdf:
        text = "".join("".join(page.extract_text().split()) for page in pdf.pages)
        fonts = {char["fontname"] for page in pdf.pages for char in page.chars}
    for name in NAMES:
        assert "".join(name.split()) in text, name
    assert all("SourceSansPro" in font for font in fonts)


def test_no_pdf_runs_or_opens_anything(files: dict[str, bytes]) -> None:
    for name, data in files.items():
        if not name.endswith(".pdf"):
            continue
        reader = pypdf.PdfReader(io.BytesIO(data))
        for number in range(1, len(reader.xref[0]) + 1):
            try:
                found = str(reader.get_object(number))
            except (KeyError, pypdf.errors.PdfReadError):
                continue
            assert not re.search(r"/(JavaScript|JS|Launch|URI|GoToR|OpenAction|AA)\b", found), name


def test_pictures_hold_no_markup_of_a_name(files: dict[str, bytes]) -> None:
    for name, data in files.items():
        if name.endswith(".svg"):
            assert b"<b>" not in data
            assert b"<a href='x'" not in data
            assert b"<script" not in data


def test_the_plan_gives_every_name_back(files: dict[str, bytes]) -> None:
    raw = json.loads(files["plan.json"])
    hives = {line["hives"] for line in raw["lines"]}
    assert all(any(hive.startswith(name) for hive in hives) for name in NAMES)


@pytest.mark.parametrize("name", REFUSED)
def test_line_breaks_controls_and_marks_of_direction_are_refused(tmp_path: Path, designs: Path, name: str) -> None:
    """In a sheet and in the design alike; the message itself holds none of them."""
    texts = []
    with pytest.raises(InputError) as caught:
        read_run(shop(tmp_path, designs, ("Anna", name)))
    texts.append(str(caught.value))
    assert "orders.csv, cell A3: given " in texts[0]
    design = HEAD.replace('orders = "orders.csv"\n', "") + (
        f'[[hives]]\ncustomer = {json.dumps(name)}\nframes = 10\ncount = 1\n[[make]]\nitem = "feeding shim"\n'
    )
    (tmp_path / "design.toml").write_text(design, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_run(tmp_path / "design.toml")
    texts.append(str(caught.value))
    assert "hives number 1, customer" in texts[1]
    assert all(line.isprintable() for text in texts for line in text.split("\n"))


def test_a_list_of_orders_prints_notes_on_one_line(tmp_path: Path, designs: Path) -> None:
    from woodshop.design.design_file import read_design
    from woodshop.design.orders.lines import read_orders

    design = read_design(shop(tmp_path, designs, NAMES))
    assert design.ordering is not None
    for line in section_text(orders_section(read_orders(design.ordering), design)).split("\n"):
        assert line.isprintable()
