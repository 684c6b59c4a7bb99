"""Scenario files below what a person names."""

import pytest

from harness.errors import FileMistakesError
from harness.scenario import find_scenarios


@pytest.fixture
def tree(tmp_path):
    for name in (
        "b/two.toml",
        "b/deep/three.toml",
        "a/one.toml",
        "a/rig.wiring.toml",
        "a/notes.md",
        "c/readme.txt",
        "b/.hidden/four.toml",
    ):
        file = tmp_path / name
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text("")
    return tmp_path


def names(tree, *paths):
    return [str(path.relative_to(tree)) for path in find_scenarios([tree / path for path in paths])]


def test_folders_give_all_below_them_sorted_without_wiring_and_hidden_files(tree):
    assert names(tree, "") == ["a/one.toml", "b/deep/three.toml", "b/two.toml"]


def test_each_file_comes_once_in_the_order_asked(tree):
    assert names(tree, "b/two.toml", "a", "b") == ["b/two.toml", "a/one.toml", "b/deep/three.toml"]


def test_every_wrong_path_is_told(tree):
    with pytest.raises(FileMistakesError) as caught:
        find_scenarios([tree / name for name in ("c", "nowhere", "a/notes.md", "a/rig.wiring.toml", "a")])
    assert str(caught.value).replace(f"{tree}/", "").splitlines() == [
        "c: is a folder without a scenario (*.toml). Name another.",
        "nowhere: does not exist. Check the name.",
        "a/notes.md: is no .toml file. Name a scenario or a folder of scenarios.",
        "a/rig.wiring.toml: is a wiring file, not a scenario. Name the scenario that uses it.",
    ]


def test_a_name_that_no_system_takes(tmp_path):
    with pytest.raises(FileMistakesError, match="cannot be read: File name too long"):
        find_scenarios([tmp_path / ("x" * 300)])
