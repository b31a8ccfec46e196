"""Hostile files and command lines: no traceback, no hang, no great memory, and nothing written at 2, 3 and 4.

A sample here; `.ci/nightly` tries 20,000, and `python -m tests.fuzz.run` as many as are asked for.
"""

import os
from pathlib import Path

import pytest

from tests.fuzz.corpus import write_corpus
from tests.fuzz.run import load_all, try_case

pytestmark = [
    pytest.mark.forks,
    pytest.mark.skipif(not hasattr(os, "fork"), reason="no processes can be forked here"),
]
CASES, PARTS = 200, 4


@pytest.fixture(scope="session")
def corpus(tmp_path_factory: pytest.TempPathFactory) -> Path:
    load_all()
    folder = tmp_path_factory.mktemp("corpus")
    write_corpus(folder)
    return folder


@pytest.mark.slow("dozens of commands in each case")
@pytest.mark.invariant
@pytest.mark.parametrize("part", range(PARTS))
def test_hostile_input_is_one_clear_error_or_is_planned(corpus: Path, part: int) -> None:
    tried = [try_case(0, number, corpus) for number in range(part, CASES, PARTS)]
    assert [f"{each.case} {each.words}: {each.wrong}" for each in tried if each.wrong] == []
    assert len({each.code for each in tried}) > 2, "all cases end alike: nothing is tried"


def test_a_traceback_a_hang_and_a_written_file_are_caught(corpus: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from tests.fuzz import run

    def wrong(command: object) -> str:
        monkeypatch.setattr(run, "woodshop", command)
        return try_case(0, 1, corpus).wrong

    import click

    @click.command(context_settings={"ignore_unknown_options": True})
    @click.argument("words", nargs=-1)
    @click.option("-h", "--help", is_flag=True)
    def fails(words: tuple[str, ...], help: bool) -> None:
        raise KeyError("a slip")

    @click.command(context_settings={"ignore_unknown_options": True})
    @click.argument("words", nargs=-1)
    @click.option("-h", "--help", is_flag=True)
    def writes(words: tuple[str, ...], help: bool) -> None:
        Path("new").write_text("half")
        raise SystemExit(3)

    @click.command(context_settings={"ignore_unknown_options": True})
    @click.argument("words", nargs=-1)
    @click.option("-h", "--help", is_flag=True)
    def hangs(words: tuple[str, ...], help: bool) -> None:
        while True:
            pass

    assert "KeyError: 'a slip'" in wrong(fails)
    assert "and written: ['new']" in wrong(writes)
    monkeypatch.setattr(run, "SECONDS", 1)
    assert "over 1 s of processor" in wrong(hangs)
