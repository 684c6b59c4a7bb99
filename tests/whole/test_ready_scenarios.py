"""Every ready scenario ends as it says, in Python and in C, and the plant's books close at its end."""

from __future__ import annotations

from pathlib import Path

import pytest

from harness.bench import run
from harness.scenario import load_scenario
from tests.whole.rehearsal import READY, label, play


@pytest.mark.parametrize("file", READY, ids=label)
def test_ends_as_expected_with_closed_books(file: Path, reference, tmp_path, monkeypatch):
    monkeypatch.setattr(run, "BALANCE_LIMIT", 1e-9)
    in_c, in_python = (play(file, link, tmp_path) for link in (reference().links["lib"], "builtin"))
    assert in_c.reasons == ()
    assert in_c.status == load_scenario(file).expected
    assert in_c.digest == in_python.digest
    assert in_c.verdicts == in_python.verdicts
