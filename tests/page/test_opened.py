"""Open designs: undo, redo, saving, drafts, two tabs, and files that another program changed."""

import os
import shutil
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.nightly import tries
from tests.page.served import copied
from woodshop.errors import InputError
from woodshop.page.fitting import fitting_of
from woodshop.page.opened import editing
from woodshop.page.opened.folder import Folder
from woodshop.page.opened.opened import OpenDesign

DESIGNS = Path(__file__).parents[2] / "designs"
HOBBY, YARD = "hobby-batch", "creekside-lumberyard"


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """A folder with a design and its lumberyard."""
    for name in (HOBBY, YARD):
        shutil.copy(DESIGNS / f"{name}.toml", tmp_path)
    return tmp_path


@pytest.fixture
def opened(shop: Path) -> OpenDesign:
    """The hobby batch, open in its folder."""
    return Folder(shop).open(HOBBY)


def count(opened: OpenDesign, group: int, value: object) -> None:
    """Sets the number of hives of a group, as a tab does."""
    opened.edit(lambda text: editing.set_value(text, ("hives", group, "count"), value), "number of hives")


def test_undo_takes_the_latest_change_of_a_design_and_its_lumberyard(shop: Path) -> None:
    """With the design changed, then a price, then the design again. An edit after an undo leaves nothing to redo."""
    folder = Folder(shop)
    opened, sold = folder.open(HOBBY), folder.open_lumberyard(YARD)
    texts = [(opened.text, sold.text)]
    assert (folder.to_undo(opened), folder.to_redo(opened)) == (None, None)
    for hives in (12, None, 11):
        if hives is None:
            sold.edit(price, "price")
        else:
            count(opened, 0, hives)
        texts.append((opened.text, sold.text))
    for wanted in reversed(texts[:-1]):
        changed = folder.to_undo(opened)
        assert changed is not None
        changed.undo()
        assert (opened.text, sold.text) == wanted
    for wanted in texts[1:]:
        changed = folder.to_redo(opened)
        assert changed is not None
        changed.redo()
        assert (opened.text, sold.text) == wanted
    opened.undo()
    sold.undo()
    count(opened, 1, 4)
    assert (folder.to_undo(opened), folder.to_redo(opened)) == (opened, None)
    opened.edit(lambda text: editing.set_value(text, ("lumberyard",), "other.toml"), "another lumberyard")
    sold.edit(price, "price")
    assert folder.to_undo(opened) is opened  # the design does not name that lumberyard


def price(text: str) -> str:
    """The text of a lumberyard with another price of its first board."""
    return editing.set_value(text, ("board", 0, "sizes", 0, "price"), "5.90")


def test_a_readable_change_is_saved_at_once(opened: OpenDesign) -> None:
    before = opened.path.read_bytes()
    count(opened, 0, 12)
    assert opened.path.read_bytes() == before.replace(b"count = 13", b"count = 12")
    assert (opened.save_state, opened.design().hives[0].count) == ("saved", 12)
    assert (opened.can_undo, opened.undo_what, opened.can_redo) == (True, "number of hives", False)


def test_an_error_stays_a_draft_and_undo_ends_it(opened: OpenDesign) -> None:
    before = opened.path.read_bytes()
    count(opened, 0, "a dozen")
    assert opened.path.read_bytes() == before
    assert opened.save_state == "not saved"
    assert [problem.where for problem in opened.problems] == [f"{HOBBY}.toml, hives number 1, count"]
    assert opened.design().hives[0].count == 13
    opened.undo()
    assert (opened.problems, opened.save_state) == ((), "saved")
    opened.redo()
    assert opened.save_state == "not saved"


def test_two_tabs_do_not_lose_each_others_changes(shop: Path) -> None:
    folder = Folder(shop)
    first, second = folder.open(HOBBY), folder.open(HOBBY)
    told: list[int] = []
    stop = second.subscribe(lambda: told.append(first.revision))
    count(first, 0, 12)
    count(second, 1, 4)
    assert [hives.count for hives in first.design().hives] == [12, 4, 6]
    assert told == [1, 2]
    stop()
    first.undo()
    assert told == [1, 2]
    assert [hives.count for hives in second.design().hives] == [12, 5, 6]


def test_a_file_that_another_program_changed_is_not_replaced(opened: OpenDesign) -> None:
    theirs = opened.path.read_bytes().replace(b"count = 5", b"count = 3")
    opened.path.write_bytes(theirs)
    count(opened, 0, 12)
    assert opened.save_state == "changed on disk"
    assert opened.path.read_bytes() == theirs
    assert opened.file_text() == theirs.decode()
    count(opened, 0, 11)
    assert opened.path.read_bytes() == theirs
    opened.keep_mine()
    assert opened.save_state == "saved"
    assert opened.path.read_text() == opened.text
    assert opened.design().hives[1].count == 5


def test_what_another_program_wrote_can_be_taken_over_and_undone(opened: OpenDesign) -> None:
    theirs = opened.text.replace("count = 5", "count = 3")
    count(opened, 0, 12)
    mine = opened.text
    opened.path.write_text(theirs)
    opened.look_at_file()
    assert opened.save_state == "changed on disk"
    opened.take_file()
    assert (opened.text, opened.save_state) == (theirs, "saved")
    opened.undo()
    assert (opened.text, opened.path.read_text(), opened.save_state) == (mine, mine, "saved")


def test_a_removed_file_is_asked_about(opened: OpenDesign) -> None:
    opened.path.unlink()
    count(opened, 0, 12)
    assert (opened.save_state, opened.file_text()) == ("changed on disk", None)
    with pytest.raises(InputError, match="no such file"):
        opened.take_file()
    opened.keep_mine()
    assert opened.path.read_text() == opened.text


def test_a_file_that_comes_back_is_saved_to(opened: OpenDesign) -> None:
    before = opened.path.read_bytes()
    opened.path.write_bytes(before + b"# more\n")
    count(opened, 0, 12)
    opened.path.write_bytes(before)
    opened.look_at_file()
    assert (opened.save_state, opened.path.read_text()) == ("saved", opened.text)


def test_a_folder_that_cannot_be_written_loses_nothing(opened: OpenDesign, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "replace", full)
    count(opened, 0, 12)
    assert opened.save_state == "not saved"
    assert "No space left" in str(opened.not_written[0])
    monkeypatch.undo()
    opened.look_at_file()
    assert opened.save_state == "saved"


def test_a_byte_order_mark_and_line_ends_stay(shop: Path) -> None:
    data = b"\xef\xbb\xbf" + (shop / f"{HOBBY}.toml").read_bytes().replace(b"\n", b"\r\n")
    (shop / f"{HOBBY}.toml").write_bytes(data)
    opened = Folder(shop).open(HOBBY)
    count(opened, 0, 12)
    assert opened.path.read_bytes() == data.replace(b"count = 13", b"count = 12")


def test_an_edit_that_is_refused_changes_nothing(opened: OpenDesign) -> None:
    with pytest.raises(InputError):
        count(opened, 9, 1)
    assert (opened.revision, opened.can_undo) == (0, False)


@pytest.mark.parametrize("named", ["/etc/hosts", "../outside.toml", "link.toml", "/dev/zero", "pipe", "a\\u0000b"])
@pytest.mark.parametrize("key", ["lumberyard", "shop", "crew"])
def test_a_file_named_outside_the_folder_is_never_read(shop: Path, tmp_path_factory: pytest.TempPathFactory, named: str,
                                                       key: str) -> None:  # fmt: skip
    other = tmp_path_factory.mktemp("other") / "secret.toml"
    other.write_text("secret = true")
    (shop / "link.toml").symlink_to(other)
    os.mkfifo(shop / "pipe")
    text = (shop / f"{HOBBY}.toml").read_text()
    text = text.partition("[crew]")[0].replace(f'lumberyard = "{YARD}.toml"', "").replace(
        'unit = "in"', f'unit = "in"\n{key} = "{named}"'
    ) + text.partition("[[hives]]")[1] + text.partition("[[hives]]")[2]  # fmt: skip
    (shop / f"{HOBBY}.toml").write_text(text)
    opened = Folder(shop).open(HOBBY)
    assert [str(problem) for problem in opened.problems if "in the folder of this page" in problem.wanted] != []
    assert "secret" not in "".join(str(problem.given) for problem in opened.problems if "secret.toml" not in named)
    with pytest.raises(InputError):
        opened.design()


def edits() -> st.SearchStrategy[tuple[str, int, str]]:
    """Kinds of edits, each with a group of hives and a text."""
    kinds = st.sampled_from(["set", "copy", "remove", "add", "draft"])
    return st.tuples(kinds, st.integers(0, 3), st.sampled_from(["1/4", "16", "", '"', "é#", "x = 1\n[[hives]]"]))


def made(opened: OpenDesign, edit: tuple[str, int, str]) -> None:
    """Makes one edit, or none if the file has no such table."""
    kind, n, text = edit
    try:
        if kind == "set":
            opened.edit(lambda t: editing.set_value(t, ("hives", n, "width"), text), kind)
        elif kind == "copy":
            opened.edit(lambda t: editing.copy_table(t, ("hives", n)), kind)
        elif kind == "remove":
            opened.edit(lambda t: editing.remove_table(t, ("make", n)), kind)
        elif kind == "add":
            opened.edit(lambda t: editing.add_table(t, ("shed",), {"item": text, "have": n}), kind)
        else:
            opened.edit(lambda t: t + text, kind)
    except InputError:
        return


@pytest.mark.invariant
@settings(max_examples=tries(200), deadline=None)
@given(st.lists(edits(), max_size=6))
def test_undoing_any_edits_gives_back_the_bytes_and_redoing_them_the_text(
    tmp_path_factory: pytest.TempPathFactory, wanted: list[tuple[str, int, str]]
) -> None:
    path = tmp_path_factory.mktemp("undo") / f"{HOBBY}.toml"
    shutil.copy(DESIGNS / f"{HOBBY}.toml", path)
    before = path.read_bytes()
    opened = OpenDesign(path)
    for edit in wanted:
        made(opened, edit)
    last, steps = opened.text, 0
    while opened.can_undo:
        opened.undo()
        steps += 1
    assert (opened.text.encode(), path.read_bytes(), opened.save_state) == (before, before, "saved")
    for _ in range(steps):
        opened.redo()
    assert (opened.text, opened.can_redo) == (last, False)
    assert path.read_text() == opened.readable


UNSAFE = [
    "",
    ".",
    "..",
    "../hobby-batch",
    "/etc/passwd",
    "/etc/passwd",
    "..\\x",
    "c:x",
    "%2e%2e%2fx",
    "a\0",
    "a\n",
    "x" * 5000,
    "é" * 130,
    ".hidden",
    "con",
    "COM1.x",
    "x.toml ",
    "x/",
    "sub/x",
    "\udcff",
    "\u202ex",
]


@pytest.mark.parametrize("name", UNSAFE)
def test_an_unsafe_name_is_refused_for_reading_and_writing(shop: Path, name: str) -> None:
    before = sorted(shop.iterdir())
    for use in (Folder(shop).open, Folder(shop).open_lumberyard, lambda n: Folder(shop).new(n, "x")):
        with pytest.raises(InputError):
            use(name)
    assert sorted(shop.iterdir()) == before


def test_links_pipes_devices_and_folders_are_refused_and_not_listed(shop: Path, tmp_path: Path) -> None:
    inner = shop / "inner"
    inner.mkdir()
    shutil.copy(shop / f"{HOBBY}.toml", inner)
    (inner / "out.toml").symlink_to(shop / f"{HOBBY}.toml")
    (inner / "device.toml").symlink_to("/dev/zero")
    (inner / "nowhere.toml").symlink_to(shop / "not-there.toml")
    (inner / "same.toml").symlink_to(inner / f"{HOBBY}.toml")
    os.mkfifo(inner / "pipe.toml")
    (inner / "dir.toml").mkdir()
    folder = Folder(inner)
    assert folder.designs() == (HOBBY, "same")
    for name in ("out", "device", "nowhere", "pipe", "dir"):
        with pytest.raises(InputError):
            folder.open(name)
        with pytest.raises(InputError):
            folder.new(name, "x")
    assert folder.open("same") is folder.open(HOBBY)


def test_the_files_of_a_folder_are_known_by_their_kind(shop: Path) -> None:
    (shop / "shop.book").write_bytes(b"SQLite format 3\0rest")
    (shop / "other.toml").write_text("x = 1\n")
    folder = Folder(shop)
    assert (folder.designs(), folder.lumberyards(), folder.books()) == ((HOBBY,), (YARD,), ("shop.book",))
    assert folder.open_lumberyard(YARD).lumberyard().name == "Creekside Lumber and Feed"
    with pytest.raises(InputError):
        folder.open(YARD).design()


def test_a_new_file_never_replaces_one(shop: Path) -> None:
    folder = Folder(shop)
    text = (shop / f"{HOBBY}.toml").read_text()
    with pytest.raises(InputError, match="already in use"):
        folder.new(HOBBY, text)
    assert folder.new("second", text).design().batch == "hobby-batch"


def test_a_lumberyard_is_edited_in_the_same_way(shop: Path) -> None:
    folder = Folder(shop)
    opened = folder.open_lumberyard(YARD)
    place = ("board", 1, "sizes", 2, "price")
    opened.edit(lambda text: editing.set_value(text, place, "7.05"), "price")
    assert opened.save_state == "saved"
    opened.edit(lambda text: editing.set_value(text, place, "seven"), "price")
    assert "board number 2, sizes number 3, price" in opened.problems[0].where
    assert folder.lumberyards_not_saved(folder.open(HOBBY)) == (opened,)


def test_the_fit_is_worked_out_once_for_each_change(tmp_path: Path) -> None:
    folder = copied(tmp_path / "designs")
    design = Folder(folder).open("hobby-batch")
    fitting = fitting_of(design)
    first = fitting.fit("in")
    assert fitting.fit("in") is first
    design.edit(lambda text: text.replace("count = 13", "count = 12"), "How many hives")
    second = fitting.fit("in")
    assert second is not first
    lumberyard = folder / "creekside-lumberyard.toml"
    lumberyard.write_text(lumberyard.read_text("utf-8") + "\n# counted\n", "utf-8")  # by another program
    assert fitting.fit("in") is not second
    assert fitting.refused(*fitting.fit("in"), "in") == ()
    lumberyard.write_text(
        lumberyard.read_text("utf-8").replace('nominal = "2x4"', 'thickness = "1"\nwidth = "3"'), "utf-8"
    )
    assert "no board 1 1/2 in thick" in fitting.refused(*fitting.fit("in"), "in")[0].given
