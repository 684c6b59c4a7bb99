"""Seeded defects are in order, a sample of them is caught; the healthy controller keeps drawn rigs safe.

`detect.py` and `random_rigs.py` do all of it; CI runs the first.
"""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

from tests.defects import random_rigs, seeded
from tests.defects.seeded import C_SOURCES, Defect, DefectError

DEFECTS = seeded.all_defects()
SUITE = seeded.suite()
SAMPLE = DEFECTS[4::9]
RIGS = range(1, 21)


def label(defect: Defect) -> str:
    return defect.name


def changed(defect: Defect, folder: Path) -> set[str]:
    """Files that a defect changes."""
    copy = folder / "c"
    shutil.copytree(C_SOURCES, copy, ignore=shutil.ignore_patterns("build"))
    seeded.apply(defect, copy)
    return {file.name for file in copy.iterdir() if file.read_bytes() != (C_SOURCES / file.name).read_bytes()}


def test_there_are_forty_defects_at_least() -> None:
    assert len(DEFECTS) >= 40
    assert len({defect.mistake for defect in DEFECTS}) == len(DEFECTS)
    assert [int(defect.name[:2]) for defect in DEFECTS] == list(range(1, len(DEFECTS) + 1))


@pytest.mark.parametrize("defect", DEFECTS, ids=label)
def test_each_applies_and_says_what_it_is(defect: Defect, tmp_path: Path) -> None:
    assert changed(defect, tmp_path)
    assert defect.shown_by in SUITE
    assert defect.mistake.endswith(".")


@pytest.mark.parametrize("defect", SAMPLE, ids=label)
def test_a_defect_is_caught(defect: Defect, tmp_path: Path) -> None:
    (catch,) = seeded.hunt(defect, {defect.shown_by: SUITE[defect.shown_by]}, tmp_path)
    assert catch.scenario == defect.shown_by
    assert 0 <= catch.after_ms <= catch.at_ms


def test_no_scenario_knows_a_patch() -> None:
    texts = [scenario.text for scenario in SUITE.values()]
    assert not [d.name for d in DEFECTS for text in texts if d.name[3:] in text or "defect" in text]


def test_a_patch_that_no_longer_applies_is_told(tmp_path: Path) -> None:
    stale = Defect("stale", "-", "-", "--- a/pid.c\n+++ b/pid.c\n@@ -1,1 +1,1 @@\n-gone\n+new\n")
    with pytest.raises(DefectError, match=r"stale: no longer applies to pid\.c at line 1"):
        seeded.build(tmp_path, stale)


def test_a_patch_that_does_not_build_is_told(tmp_path: Path) -> None:
    first = (C_SOURCES / "pid.c").read_text().splitlines()[0]
    broken = Defect("broken", "-", "-", f"--- a/pid.c\n+++ b/pid.c\n@@ -1 +1 @@\n-{first}\n+nonsense\n")
    with pytest.raises(DefectError, match="broken: does not build"):
        seeded.build(tmp_path, broken)


def test_a_file_without_its_head_is_told(tmp_path: Path) -> None:
    path = tmp_path / "01-bare.patch"
    path.write_text("a\nb\n\n--- a/pid.c\n")
    with pytest.raises(DefectError, match=r"01-bare\.patch: write a line on the mistake"):
        seeded.read_defect(path)


@pytest.fixture(scope="module")
def healthy(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Link to the controller as it is."""
    return seeded.build(tmp_path_factory.mktemp("healthy"))


@pytest.mark.parametrize("rig", RIGS)
def test_a_drawn_rig_is_kept_safe(rig: int, healthy: str) -> None:
    assert random_rigs.failures(rig, healthy) == []


def test_python_keeps_a_drawn_rig_as_c_does(healthy: str, tmp_path: Path) -> None:
    day = random_rigs.on_rig(random_rigs.days()["faults"], 3)
    assert seeded.play(day, "builtin", tmp_path).digest == seeded.play(day, healthy, tmp_path).digest


def test_the_same_rig_is_drawn_again_and_another_differs() -> None:
    assert random_rigs.draw(7) == random_rigs.draw(7) != random_rigs.draw(8)


def test_days_fail_a_controller_that_is_not_healthy(tmp_path: Path) -> None:
    """What judges the rigs must be able to fail: a lost flame taken for granted."""
    (slow,) = (defect for defect in DEFECTS if defect.name.endswith("flame-loss-slow"))
    link = seeded.build(tmp_path, slow)
    assert any("gas shut within 4 s" in failure.what for failure in random_rigs.failures(1, link))
