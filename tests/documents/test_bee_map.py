"""The bee-space map: what is printed at a gap is what was measured there, and nothing on the page hides another."""

import io
import math
from collections.abc import Callable
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pdfplumber
import pypdf
import pytest
from click.testing import CliRunner

from tests.nightly import IS_NIGHT
from woodshop.checks.mesh_state import MeshState, mesh_state
from woodshop.cli import main
from woodshop.design.batch import Unit
from woodshop.documents.bee_map import bee_map
from woodshop.documents.bee_map.bee_map import bee_map_file, bee_map_files, bee_maps, map_chapter
from woodshop.documents.bee_map.details import HALF, NAME, PATTERNS, VALUE, detail_callouts
from woodshop.documents.bee_map.sheets import DrawnMap, gap_rows, grade_text, key_sheet
from woodshop.drawing.arranging.patterns import Pattern, borders, filled, slabs
from woodshop.drawing.pens.pdf import write_pdf
from woodshop.drawing.values.model import Document
from woodshop.drawing.values.paper import Box, Sheet, Word
from woodshop.drawing.values.style import STYLE
from woodshop.errors import InputError
from woodshop.hive.gaps.faces import Gap
from woodshop.hive.gaps.gaps import measure_gaps
from woodshop.hive.gaps.grading import bee_space, grade_gap
from woodshop.hive.passages.bee_map import GRADES
from woodshop.plan.values import PlannedBatch
from woodshop.units.lengths import inch

A4_ROOM = 210 / 25.4 * 72 - 2 * STYLE.margin
HEAD = (
    'format = "woodshop-design/2"\nbatch = "b"\nunit = "{unit}"\npaper = "{paper}"\n'
    'lumberyard = "creekside-lumberyard.toml"\n'
)
ITEMS = '"fondant rim", "wire bottom", "spacer strips", "quilt box", "vent spacers"'
CASES = {
    "tens": ("in", "letter", 'name = "a & <b> \\u00fc"\nframes = 10\ngap = "1/4"', "", f"item = [{ITEMS}]"),
    "nucs": ("in", "a4", 'frames = 5\ngap = "3/16"', '[board]\nmounting = "flush rabbet"', f"item = [{ITEMS}]"),
    "national": (
        "mm",
        "a4",
        'pattern = "British National"\nframes = 11',
        '[board]\nmounting = "flush rabbet"\nrabbet_height = "10 mm"',
        f'item = [{ITEMS}, "mouse guard", "bottom insert"]',
    ),
    "grooved": ("in", "letter", 'frames = 10\ngap = "3/8"', '[board]\nmounting = "saw groove"', f"item = [{ITEMS}]"),
    "cakes": ("in", "letter", 'frames = 8\ngap = "1/4"', "", 'item = ["feeding shim", "feeder quilt"]'),
}


@pytest.fixture(scope="module")
def drawn(uncut_text: Callable[[str], PlannedBatch]) -> dict[str, tuple[PlannedBatch, DrawnMap]]:
    """A batch and its one map, by name."""
    found = {}
    for name, (unit, paper, hives, board, make) in CASES.items():
        text = HEAD.format(unit=unit, paper=paper)
        planned = uncut_text(f"{text}{board}\n[[hives]]\ncount = 2\n{hives}\n[[make]]\n{make}\n")
        (one,) = bee_maps(planned.units, unit)
        found[name] = (planned, one)
    return found


@pytest.fixture(params=sorted(CASES))
def one(request: pytest.FixtureRequest, drawn: dict[str, tuple[PlannedBatch, DrawnMap]]) -> DrawnMap:
    """One map after the other."""
    return drawn[request.param][1]


def words_of(sheet: Sheet) -> list[Word]:
    return [mark for mark in sheet.marks if isinstance(mark, Word)]


@pytest.mark.invariant
def test_what_is_printed_at_a_gap_is_what_was_measured_and_is_drawn_at_half_size(one: DrawnMap) -> None:
    """The way across as it lies on paper, twice as long, is the size printed beside it, and a gap of that name's."""
    measured = {(gap.name, gap.least) for gap in measure_gaps(one.hive.stack)}
    count = 0
    for made in detail_callouts(one.hive, one.unit).values():
        for each in made:
            gap = each.found.gap
            assert (gap.name, gap.least) in measured
            assert math.dist(each.found.start, each.found.end) / HALF / 72 == pytest.approx(
                float(gap.least.inches), abs=2e-4
            )
            assert next(word.text for word in each.words if word.size == VALUE) == gap.least.text(one.unit)
            assert " ".join(word.text for word in each.words if word.size == NAME).endswith(gap.name)
            count += 1
    assert count >= 8


def test_room_over_sugar_of_any_depth_is_drawn(uncut_text: Callable[[str], PlannedBatch]) -> None:
    """Its depth comes of a reckoning, and lies on no grid of the parts round it."""
    text = '[[hives]]\ncount = 6\nframes = 10\ngap = "1/4"\n[[make]]\nitem = ["fondant rim", "wire bottom"]\n'
    planned = uncut_text(HEAD.format(unit="in", paper="letter") + text)
    (one,) = bee_maps(planned.units, "in")
    over = {gap.least for gap in one.hive.gaps if gap.name == "head room over the sugar"}
    named = {each.found.gap.name for made in detail_callouts(one.hive, "in").values() for each in made}
    assert not over or "head room over the sugar" in named
    assert any(region.grade == "wide by design" for section in one.hive.sections for region in section.regions)


@pytest.mark.invariant
def test_sizes_and_names_read_back_from_the_pages(one: DrawnMap) -> None:
    data = write_pdf(Document("t", "s", (map_chapter((one,)),)), "a4")
    text = " ".join("".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages).split())
    rows = gap_rows(one.hive.graded)
    bare = text.replace(" ", "")
    for row in rows:
        assert row.gap.name.replace(" ", "") in bare
        assert row.gap.least.number(one.unit).replace(" ", "") in bare, row
    for made in detail_callouts(one.hive, one.unit).values():
        assert all(each.found.gap.least.number(one.unit).replace(" ", "") in bare for each in made)


def test_every_grade_that_occurs_stands_in_the_key_with_a_pattern_of_its_own(one: DrawnMap) -> None:
    key = {word.text for word in words_of(key_sheet(one.hive.space, one.unit, 142.0))}
    seen = {region.grade for section in one.hive.sections for region in section.regions}
    assert seen <= key
    assert len({PATTERNS[grade] for grade in GRADES}) == len(GRADES)
    assert set(GRADES) <= {word.text for word in words_of(one.small)}


@pytest.mark.invariant
def test_no_word_lies_on_another_and_none_is_small(one: DrawnMap) -> None:
    for sheet in (one.small, *(sheet for _, _, sheet in one.details)):
        assert sheet.size[0] <= A4_ROOM
        for word in words_of(sheet):
            assert word.size >= 8
        for first, second in combinations(words_of(sheet), 2):
            assert not first.box.grown(-0.3).meets(second.box.grown(-0.3)), (first.text, second.text)
    for made in detail_callouts(one.hive, one.unit).values():
        for a, b in combinations(made, 2):
            assert not a.box.meets(b.box), (a.found.gap.name, b.found.gap.name)


@pytest.mark.parametrize("paper", ["letter", "a4"])
def test_a_map_takes_three_pages_at_most_and_nothing_is_clipped(
    paper: str, drawn: dict[str, tuple[PlannedBatch, DrawnMap]]
) -> None:
    in_turn = [one for n, (_, one) in enumerate(drawn.values()) if IS_NIGHT or (n % 2 == 0) is (paper == "letter")]
    for one in in_turn:
        with pdfplumber.open(io.BytesIO(write_pdf(Document("t", "s", (map_chapter((one,)),)), paper))) as pdf:
            assert len(pdf.pages) <= 3
            for page in pdf.pages:
                things = [*page.chars, *page.lines, *page.curves, *page.rects]
                assert min(each["x0"] for each in things) >= STYLE.margin - 1
                assert max(each["x1"] for each in things) <= float(page.width) - STYLE.margin + 1
                assert min(each["top"] for each in things) >= STYLE.margin - 1
                assert max(each["bottom"] for each in things) <= float(page.height) - STYLE.margin + 5


@pytest.mark.invariant
@pytest.mark.usefixtures("anew")
def test_the_same_map_gives_the_same_bytes(drawn: dict[str, tuple[PlannedBatch, DrawnMap]]) -> None:
    planned = drawn["nucs"][0]
    for name in ("map.pdf", "map.svg"):
        first, second = (bee_map_file(planned.units, Path(name)) for _ in range(2))
        assert first == second


def test_a_name_of_any_kind_is_harmless(drawn: dict[str, tuple[PlannedBatch, DrawnMap]]) -> None:
    files = bee_map_files([drawn["tens"][1]])
    assert sorted(files) == ["bee-space-a-b-10-frame-16-1-4.svg"]
    tree = ElementTree.fromstring(files["bee-space-a-b-10-frame-16-1-4.svg"])
    assert "a & <b> ü" in "".join(tree.itertext())


def test_hives_that_stand_alike_share_a_map(uncut_text: Callable[[str], PlannedBatch]) -> None:
    hives = "".join(f'[[hives]]\nname = "{n}"\ncount = 1\nframes = {f}\ngap = "1/4"\n' for n, f in
                    (("east", 10), ("west", 10), ("south", 8)))  # fmt: skip
    planned = uncut_text(HEAD.format(unit="in", paper="a4") + hives + '[[make]]\nitem = "feeding shim"\n')
    maps = bee_maps(planned.units, "in")
    assert [[place.partition(",")[0] for place in each.hive.places] for each in maps] == [["east", "west"], ["south"]]


def test_hives_that_stand_alike_are_put_together_and_loaded_once(
    uncut_text: Callable[[str], PlannedBatch], monkeypatch: pytest.MonkeyPatch
) -> None:
    hives = "".join(f'[[hives]]\nname = "{n}"\ncount = 1\nframes = {f}\ngap = ["1/4", "5/16"]\n' for n, f in
                    (("east", 10), ("west", 10), ("north", 10), ("south", 8)))  # fmt: skip
    planned = uncut_text(HEAD.format(unit="in", paper="a4") + hives + f"[[make]]\nitem = [{ITEMS}]\n")
    loaded: list[str] = []

    def counted(group: dict[str, Unit]) -> MeshState | None:
        loaded.append(next(iter(group.values())).line.hives.name)
        return mesh_state(group)

    monkeypatch.setattr(bee_map, "mesh_state", counted)
    maps = bee_maps(planned.units, "in")
    assert loaded == ["east", "south"]
    assert [[place.partition(",")[0] for place in each.hive.places] for each in maps] == [
        ["east", "west", "north"],
        ["south"],
    ]


def test_another_gap_that_was_measured_is_said(uncut_text: Callable[[str], PlannedBatch]) -> None:
    hives = '[[hives]]\ncount = 3\nframes = 10\ngap = ["1/4", "1/4", "3/8"]\n'
    planned = uncut_text(HEAD.format(unit="in", paper="a4") + hives + f"[[make]]\nitem = [{ITEMS}]\n")
    (one,) = bee_maps(planned.units, "in")
    assert {gap.least for gap in one.hive.others if gap.name == "mesh over top bars"} == {inch("3/8")}


def test_a_file_of_another_kind_is_refused(drawn: dict[str, tuple[PlannedBatch, DrawnMap]]) -> None:
    with pytest.raises(InputError, match="map ending in"):
        bee_map_file(drawn["tens"][0].units, Path("map.png"))
    with pytest.raises(InputError, match="without an item for a hive"):
        bee_map_file((), Path("map.pdf"))


@pytest.mark.outside("Hendrickson, The Bee Space: less than 1/4 in is propolised, more than 3/8 in gets burr comb")
@pytest.mark.parametrize(
    ("size", "good", "words"),
    [
        ("1/4", True, "bee space"),
        ("3/8", True, "bee space"),
        ("3/16", False, "slightly tight, by 1/16 in"),
        ("1/8", False, "too tight, by 1/8 in"),
        ("1/2", False, "slightly wide, by 1/8 in"),
        ("5/8", False, "too wide, by 1/4 in"),
    ],
)
def test_a_way_is_judged_by_the_published_band(size: str, good: bool, words: str) -> None:
    wide, ends = inch(size), ("a, box 1", "b, box 1")
    gap = Gap(name="a way", place="box 1", least=wide, most=wide, between=ends, kind="bees' way", own=False)
    graded = grade_gap(gap, bee_space())
    assert (graded.grade.is_good, grade_text(graded, "in")) == (good, words)


def test_a_wide_gap_under_the_mesh_stands_in_a_heavy_frame(drawn: dict[str, tuple[PlannedBatch, DrawnMap]]) -> None:
    one = drawn["grooved"][1]
    named = [each for made in detail_callouts(one.hive, "in").values() for each in made]
    (over, *_) = [each for each in named if each.found.gap.name == "mesh over top bars"]
    assert not over.is_good
    assert over.found.gap.least > inch("3/8")


@pytest.mark.invariant
def test_an_area_is_cut_into_rectangles_and_edged_once() -> None:
    """An L with a hole: the same area, edges as long as its outlines, none on the edge of the window."""
    ring = [(0.0, 0.0), (8.0, 0.0), (8.0, 3.0), (4.0, 3.0), (4.0, 6.0), (0.0, 6.0)]
    hole = [(1.0, 1.0), (1.0, 2.0), (2.0, 2.0), (2.0, 1.0)]
    boxes = slabs([ring, hole])
    assert sum((b.right - b.left) * (b.top - b.bottom) for b in boxes) == 8 * 3 + 4 * 3 - 1
    assert not any(a.meets(b) for a, b in combinations(boxes, 2))
    edges = borders(boxes, Box(-1.0, -1.0, 9.0, 9.0))
    assert sum(math.dist(*edge) for edge in edges) == 28 + 4
    within = borders(boxes, Box(0.0, 0.0, 9.0, 9.0))
    assert sum(math.dist(*edge) for edge in within) == 28 + 4 - 8 - 6


@pytest.mark.parametrize("pattern", list(Pattern))
def test_a_pattern_stays_in_its_area(pattern: Pattern) -> None:
    box = Box(3.0, 5.0, 43.0, 25.0)
    marks = filled([box], pattern)
    assert bool(marks) == (pattern is not Pattern.WHITE)
    for mark in marks:
        points = getattr(mark, "points", None) or [(mark.x, mark.y)]  # type: ignore[union-attr]
        assert all(box.left - 0.1 <= x <= box.right + 0.1 for x, _ in points)
        assert all(box.bottom - 0.1 <= y <= box.top + 0.1 for _, y in points)


@pytest.mark.slow("measures and draws a whole hive")
def test_check_draws_the_map_into_a_new_file(designs: Path, tmp_path: Path) -> None:
    """A file that is there is left alone, and no map is drawn for another ending."""
    wanted = tmp_path / "map.pdf"
    args = ["check", str(designs / "hobby-batch.toml"), "--map"]
    done = CliRunner().invoke(main, [*args, str(wanted)])
    assert done.exit_code == 0, done.output
    first = wanted.read_bytes()
    assert first.startswith(b"%PDF")
    assert CliRunner().invoke(main, [*args, str(wanted)]).exit_code == 3
    assert wanted.read_bytes() == first
    assert CliRunner().invoke(main, [*args, str(tmp_path / "map.dxf")]).exit_code == 3
    assert [path.name for path in tmp_path.iterdir()] == ["map.pdf"]
