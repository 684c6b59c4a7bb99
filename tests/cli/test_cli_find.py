"""Scenarios by path, and the shipped ones by name from anywhere."""

from __future__ import annotations

from pathlib import Path

import pytest

from harness.cli.find import find, locate
from harness.errors import FileMistakesError, WrongUseError
from harness.shipped import shipped

HOME = shipped("scenarios")


@pytest.fixture(autouse=True)
def _elsewhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


@pytest.mark.parametrize(
    ("name", "below"),
    [
        ("cold-start", "heating/cold-start.toml"),
        ("cold-start.toml", "heating/cold-start.toml"),
        ("heating/first-heat", "heating/first-heat.toml"),
        ("heating", "heating"),
        ("scenarios", "."),
        ("scenarios/heating", "heating"),
        ("scenarios/heating/first-heat.toml", "heating/first-heat.toml"),
    ],
)
def test_a_shipped_scenario_is_found_by_name(name: str, below: str) -> None:
    assert locate(name) == HOME / below


def test_a_shipped_scenario_below_here_is_named_as_a_person_would(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(HOME.parent)
    assert str(locate("cold-start")) == str(Path("scenarios/heating/cold-start.toml"))


def test_a_name_that_themes_have_in_common_is_not_guessed() -> None:
    with pytest.raises(WrongUseError, match=r"of 2 scenarios\. Name one: direct-fire/first-heat or heating/"):
        locate("first-heat")
    assert locate("direct-fire/first-heat") == HOME / "direct-fire" / "first-heat.toml"


def test_what_stands_here_comes_first() -> None:
    Path("first-heat").mkdir()
    assert locate("first-heat") == Path("first-heat")


@pytest.mark.parametrize("name", ["../secret", "scenarios/../../x", "/nowhere/first-heat", "in/first-heat"])
def test_nothing_outside_is_offered(name: str) -> None:
    with pytest.raises(WrongUseError, match="does not exist"):
        locate(name)


def test_all_that_is_missing_is_told_at_once() -> None:
    with pytest.raises(FileMistakesError) as caught:
        find(["nothing-like-it", "late-ligth"], "run")
    assert [mistake.file for mistake in caught.value.mistakes] == ["nothing-like-it", "late-ligth"]
    assert "Did you mean late-light?" in str(caught.value)


def test_each_scenario_is_played_once() -> None:
    found = find(["heating", "cold-start", "cold-start"], "run")
    assert found.count(HOME / "heating" / "cold-start.toml") == 1
