"""One customer's pages out of the plan of a run: nothing is lost, counted twice or named anew."""

import io
import json
from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pdfplumber
import pytest
from click.testing import CliRunner, Result

from tests.once import DESIGNS, bought, uncut
from woodshop.cli import main
from woodshop.design.batch import Batch, Hives
from woodshop.documents.packet.layouts import needs_of
from woodshop.documents.packet.one_customer import ONLY_NAMES
from woodshop.errors import InputError
from woodshop.files.one_file import json_bytes
from woodshop.plan.one_customer import customers_of, hives_named, of_hives
from woodshop.plan.plan_batch import batch_to_json
from woodshop.plan.values import PlannedBatch
from woodshop.shape.part import Role, counted


def _by_order(batch: Batch) -> dict[str, tuple[Hives, ...]]:
    return {each.order: hives_named(batch, each.order)[1] for each in batch.hives}


def _shared_pieces(planned: PlannedBatch) -> Counter[str]:
    """The pieces of what belongs to no customer, counted on the units themselves."""
    marks = {(need.address.split(" / ")[0], need.part): need.mark for need in needs_of(planned)}
    found: Counter[str] = Counter()
    for unit in planned.units:
        if not unit.line.item.is_per_hive:
            for part, count in counted(unit.assembly.with_role(Role.MADE)):
                found[marks[unit.line.item.name, part]] += count * unit.line.count
    return found


@pytest.mark.invariant
@pytest.mark.parametrize(
    ("name", "divide"), [("production-run", customers_of), ("production-run", _by_order), ("ridge-club", customers_of)]
)
def test_all_customers_together_are_the_run_less_what_is_nobodys(
    name: str, divide: Callable[[Batch], dict[str, tuple[Hives, ...]]]
) -> None:
    """Hives, boards, units and, letter by letter, pieces."""
    whole = uncut(DESIGNS / f"{name}.toml")
    shares = [of_hives(whole, hives) for hives in divide(whole.batch).values()]
    assert len(shares) > 2
    assert [each for share in shares for each in share.batch.hives] == list(whole.batch.hives)
    made = [(each.item.name, each.hives.name, each.count) for each in whole.batch.lines if each.item.is_per_hive]
    own = [
        (each.item.name, each.hives.name, each.count)
        for share in shares
        for each in share.batch.lines
        if each.item.is_per_hive
    ]
    assert sorted(own) == sorted(made)
    nobodys = _shared_pieces(whole)
    pieces: Counter[str] = Counter(nobodys)
    for share in shares:
        pieces.update({need.mark: need.count for need in share.cut_before})
    assert pieces == Counter({need.mark: need.count for need in needs_of(whole)})
    assert nobodys
    names = {need.mark: need.address for need in needs_of(whole)}
    assert all(names[need.mark] == need.address for share in shares for need in share.cut_before)


def test_findings_are_those_of_the_hives_and_every_finding_is_somebodys() -> None:
    whole = uncut(DESIGNS / "production-run.toml")
    shares = {name: of_hives(whole, hives) for name, hives in customers_of(whole.batch).items()}
    assert {f.code for share in shares.values() for f in share.report.findings} == {
        f.code for f in whole.report.findings
    }
    places = [f.place for f in shares["Fen Road School"].report.findings]
    assert "mouse guard / 5-frame 9" in places
    assert not any("8-frame" in place or "orchard" in place for place in places)


def test_a_name_is_taken_in_any_case_and_a_wrong_one_gets_the_nearest() -> None:
    batch = uncut(DESIGNS / "production-run.toml").batch
    assert hives_named(batch, " tomasz  WREN ")[0] == "Tomasz Wren"
    assert [each.order for each in hives_named(batch, "sm-2603")[1]] == ["SM-2603"]
    with pytest.raises(InputError, match=r"--only: given 'Tomas Wren'.*Did you mean 'Tomasz Wren'\?"):
        hives_named(batch, "Tomas Wren")
    with pytest.raises(InputError, match="There are: North Ridge Bee Club; "):
        hives_named(batch, "x")
    hobby = uncut(DESIGNS / "hobby-batch.toml").batch
    assert list(customers_of(hobby)) == ["house tens", "orchard tens", "orchard eights"]


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the plan of the small run of orders."""
    folder = tmp_path_factory.mktemp("only")
    (folder / "run").mkdir()
    (folder / "run" / "plan.json").write_bytes(json_bytes(batch_to_json(bought("order-run"))))
    return folder


def _plan(place: Path, *words: str) -> Result:
    design, plan = DESIGNS / "order-run.toml", place / "run" / "plan.json"
    return CliRunner().invoke(main, ["plan", str(design), "--earlier", str(plan), *words])


@pytest.mark.slow("plans the run of orders, unless another test has")
def test_one_customers_pages_are_written_beside_the_run(place: Path) -> None:
    before = (place / "run" / "plan.json").read_bytes()
    result = _plan(place, "--only", "ida sorrel", "--out", str(place / "ida"), "--json")
    assert result.exit_code == 0, result.output
    told = json.loads(result.stdout)
    assert (told["customer"], told["hives"], told["boards_to_pack"]) == ("Ida Sorrel", 6, 6)
    assert {each.name for each in (place / "ida").iterdir()} == {*ONLY_NAMES, "manifest.json"}
    assert (place / "run" / "plan.json").read_bytes() == before
    with pdfplumber.open(io.BytesIO((place / "ida" / "packet.pdf").read_bytes())) as pdf:
        assert len(pdf.pages) <= 6
        first = pdf.pages[0].extract_text()
        text = "\n".join(page.extract_text() for page in pdf.pages)
    assert "Made for Ida Sorrel" in first
    assert "Nov 14, 2026" in first
    assert "Parts to take" in text
    assert "Layout" not in text
    assert "Wren" not in text


@pytest.mark.slow("plans the run of orders, unless another test has")
@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("--only", "Ida Sorrel", "--rest"), 2, "--rest was given with --only"),
        (("--only", "Ida Sorrel", "--counts", "counts.csv"), 2, "--counts was given with --only"),
        (("--only", "Ida Sorrel", "--quick"), 2, "--quick was given with --only"),
        (("--only", "Ida Sorel"), 3, "Did you mean 'Ida Sorrel'?"),
        (("--only", "Ida Sorrel", "--out", "run"), 3, "the folder of the earlier plan"),
    ],
)
def test_what_makes_no_sense_is_refused_in_one_message(
    place: Path, monkeypatch: pytest.MonkeyPatch, words: tuple[str, ...], code: int, said: str
) -> None:
    monkeypatch.chdir(place)
    result = _plan(place, *words)
    assert result.exit_code == code, result.output
    assert said in result.output
    assert not (place / "out").exists()


def test_without_a_plan_the_message_says_how_to_make_one(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    result = CliRunner().invoke(main, ["plan", str(DESIGNS / "order-run.toml"), "--only", "Ida Sorrel"])
    assert result.exit_code == 3
    assert "no plan; wanted the plan of order-run" in result.output
    assert "Run: woodshop plan" in result.output
