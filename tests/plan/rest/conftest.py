"""The small run, planned once for every module here."""

from pathlib import Path

import pytest

from tests.plan.rest.small_run import SmallRun


@pytest.fixture(scope="session")
def small_run(tmp_path_factory: pytest.TempPathFactory, designs: Path) -> SmallRun:
    return SmallRun(tmp_path_factory.mktemp("small-run"), designs)
