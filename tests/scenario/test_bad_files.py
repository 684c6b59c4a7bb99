"""Files that are wrong, each beside the exact messages it must give (`NAME.expected`)."""

from pathlib import Path

import pytest

from harness.errors import FileMistakesError
from harness.scenario import load_scenario

FOLDER = Path(__file__).parent / "bad"
FILES = sorted(file for file in FOLDER.glob("*.toml") if not file.name.endswith(".wiring.toml"))


def messages(file, plants):
    """The messages for a file, with the folder left out."""
    with pytest.raises(FileMistakesError) as caught:
        load_scenario(file, plants)
    return str(caught.value).replace(str(FOLDER) + "/", "").splitlines()


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_every_mistake_is_told_at_its_line(file, plants):
    assert messages(file, plants) == file.with_suffix(".expected").read_text().splitlines()


def test_every_expectation_has_its_file():
    assert {file.stem for file in FOLDER.glob("*.expected")} == {file.stem for file in FILES}
