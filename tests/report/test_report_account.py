"""What is told to machines: the same facts in JSON, in XML and in Markdown, each read by another's reader."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import junitparser
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from markdown_it import MarkdownIt

from harness.assertions.verdict import Outcome, Verdict
from harness.bench.run import run_scenario
from harness.logbook import Logbook
from harness.report import account
from harness.report.account import Judged, RunAccount, SessionAccount, account_of, unplayed
from harness.report.json_results import as_json
from harness.report.junit import as_junit
from harness.report.markdown import as_markdown
from harness.report.plain import plain
from harness.scenario import parse_scenario
from tests.results_schema import results_schema

BOLD = ("strong_open", "strong_close")
SCHEMA = Path(account.__file__).with_name("results.schema.json")
VALID = Draft202012Validator(results_schema())

MET = Judged("gas shut", "a standard", Outcome.MET, 2.2, "s", 481_800, 1, "")
BROKEN = Judged("never <hot> | `fast`", "", Outcome.BROKEN, -3.0, "degC", 481_800, 1, "")
IDLE = Judged("never came", "", Outcome.NOT_EXERCISED, None, "s", None, 0, "no")
PASS = RunAccount(scenario="a.toml", title="A", status="pass", run=1, assertions=(MET,), told=("pass A",))
FAIL = replace(PASS, status="fail", run=2, assertions=(MET, BROKEN), told=("fail A", "```", "\u2502"))
UNSURE = replace(PASS, status="inconclusive", reasons=("at 1.000 s: gone",), assertions=(MET, IDLE))
GONE = unplayed("b.toml", "B", ("b.toml: not played", "no such port"), begun=True)
WAITING = unplayed("c.toml", "C", begun=False)


def session(*runs: RunAccount, code: int | None = None) -> SessionAccount:
    return SessionAccount(passed=code == 0, exit_code=code, device="builtin", logbook="book", runs=runs)


def suites(text: str) -> list[junitparser.TestSuite]:
    return list(junitparser.JUnitXml.fromstring(text.encode()))


def test_the_schema_file_is_what_the_values_say() -> None:
    told = "after a change: python -m tests.results_schema > harness/report/results.schema.json"
    assert json.loads(SCHEMA.read_text()) == results_schema(), told
    Draft202012Validator.check_schema(results_schema())


def test_every_key_is_described() -> None:
    page = SCHEMA.with_name("RESULTS.md").read_text()
    schema = results_schema()
    for table in (schema, schema["$defs"]["RunAccount"], schema["$defs"]["Judged"]):
        assert [key for key in table["properties"] if f"`{key}`" not in page] == []


@pytest.mark.parametrize("run", [PASS, FAIL, UNSURE, GONE, WAITING, replace(FAIL, as_expected=True)])
def test_json_keeps_to_its_schema(run: RunAccount) -> None:
    data = json.loads(as_json(session(run, code=1)))
    VALID.validate(data)
    assert data["runs"][0]["status"] == run.status


def test_a_figure_is_told_with_its_bound(tmp_path: Path) -> None:
    """Nothing heats and nobody draws: the liquor stays where it began, and switches nothing."""
    text = (
        'title = "Idle"\nplant = "herms-gas"\nlength = "10 s"\n[plant_setup]\nliquor_start = "12 degC"\n'
        '[[assertion]]\ntitle = "far"\nfigure = "worst_error(in.liquor, 20 degC)"\nat_least = "7 K"\n'
        '[[assertion]]\ntitle = "rest"\ncount = "gas_valve"\nat_most = 3\n'
        '[[assertion]]\ntitle = "cold"\nalways = "liquor < 30 degC"\n'
    )
    book = Logbook(tmp_path / "book")
    run = run_scenario(parse_scenario(text, "idle.toml"), "builtin", book).run_id
    far, rest, cold = account_of(book.read(run)).assertions
    assert (far.figure, far.at_least, far.at_most) == ("worst_error(in.liquor, 20 degC)", 7, None)
    assert (far.value, far.margin_unit) == (pytest.approx(8, abs=0.5), "K")
    assert (rest.figure, rest.value, rest.at_most) == ("gas_valve", 0, 3)
    assert (cold.figure, cold.value) == (None, None)


def test_the_schema_refuses_what_is_no_result() -> None:
    data = json.loads(as_json(session(PASS, code=0)))
    data["runs"][0]["status"] = "fine"
    assert not VALID.is_valid(data)
    del data["runs"][0]["status"]
    assert not VALID.is_valid(data)


def test_a_real_run_says_the_same_everywhere(tmp_path: Path) -> None:
    text = (
        'title = "Idle"\nplant = "herms-gas"\nlength = "10 s"\n[[assertion]]\ntitle = "cold"\n'
        'always = "liquor < 1 degC"\n[[assertion]]\ntitle = "no gas"\nnever = "gas_valve"\n'
    )
    book = Logbook(tmp_path / "book")
    result = run_scenario(parse_scenario(text, "idle.toml"), "builtin", book)
    told = account_of(book.read(result.run_id))
    assert (told.status, told.digest, told.run) == ("fail", result.digest, 1)
    assert [one.outcome for one in told.assertions] == [v.outcome for v in result.verdicts]
    assert told.told[0].split()[:2] == ["fail", "Idle"]
    VALID.validate(json.loads(as_json(session(told, code=1))))
    assert [(s.tests, s.failures, s.errors) for s in suites(as_junit(session(told)))] == [(3, 1, 0)]
    assert "**fail**" in as_markdown(session(told, code=1))


@pytest.mark.parametrize(
    ("run", "counts"),
    [(PASS, (2, 0, 0)), (FAIL, (3, 1, 0)), (UNSURE, (3, 0, 2)), (GONE, (1, 0, 1)), (WAITING, (1, 0, 1))],
)
def test_xml_counts_what_is_not_well(run: RunAccount, counts: tuple[int, int, int]) -> None:
    (suite,) = suites(as_junit(session(run)))
    assert (suite.tests, suite.failures, suite.errors) == counts
    assert suite.skipped == 0


def test_an_unsure_run_without_a_reason_is_an_error_too() -> None:
    (suite,) = suites(as_junit(session(replace(PASS, status="inconclusive", assertions=()))))
    assert suite.errors == 1


def test_nothing_played_is_no_empty_success() -> None:
    (suite,) = suites(as_junit(session()))
    assert suite.errors == 1


@pytest.mark.parametrize(("met", "failures"), [(True, 0), (False, 1)])
def test_expected_is_one_question(met: bool, failures: int) -> None:
    text = as_junit(session(replace(FAIL, expected="fail", as_expected=met)))
    assert [(s.tests, s.failures, s.errors) for s in suites(text)] == [(1, failures, 0)]


def test_markdown_names_what_came_in_between_and_shows_it_as_text() -> None:
    text = as_markdown(session(PASS, FAIL, UNSURE, WAITING, code=1))
    assert "| pass | A | 1 met | +2.2 s |" in text
    assert r"broken at 08:01.8, margin -3 degC: never &lt;hot&gt; \| \`fast\`" in text
    assert "| **inconclusive** | A | 1 met, 1 not exercised | at 1.000 s: gone |" in text
    assert "| **not played** | C |  |  |" in text
    assert "````text\nfail A\n```\n" in text
    assert "not come to its end" in as_markdown(session(PASS))


def test_neither_a_formula_nor_a_person_is_made_of_a_title() -> None:
    text = as_markdown(session(replace(PASS, title="heat $x_1$, by @brewer")))
    assert r"heat \$x\_1\$, by \@brewer" in text


def table_rows(text: str) -> list[list[str]]:
    """The table's rows as text, as another program reads the page."""
    tokens = MarkdownIt("commonmark", {"html": True}).enable("table").parse(text)
    cells: list[list[str]] = []
    for before, token in pairwise(tokens):
        if before.type == "tr_open":
            cells.append([])
        if before.type in ("td_open", "th_open"):
            assert {part.type for part in token.children or ()} <= {"text", "text_special", *BOLD}
            cells[-1].append("".join(part.content for part in token.children or ()))
    return cells[1:]


def _shown(text: str) -> str:
    """What a cell of a table makes of a text: its blanks at the ends are none of it."""
    return plain(text).strip(" ")


MARKS = [*"|`*_<>[]()&\\#~!-: a1", "<b>", "&lt;", "](", "\n", "\u202e", "\x1b[1m", "\udc80", "http://a.b"]


@given(st.lists(st.sampled_from(MARKS), max_size=9).map("".join) | st.text(max_size=9), st.text())
def test_no_text_breaks_a_file(title: str, note: str) -> None:
    run = replace(FAIL, title=title, reasons=(note,), assertions=(replace(BROKEN, title=title, note=note),))
    made = session(run, code=1)
    (suite,) = suites(as_junit(made))
    assert (suite.failures, suite.errors) == (1, 1)
    (row,) = table_rows(as_markdown(made))
    assert row[:3] == ["fail", _shown(title or "a.toml"), "1 broken"]
    VALID.validate(json.loads(as_json(made).encode("utf-8", "replace")))


@given(st.floats())
def test_margins_come_through_or_are_none(margin: float) -> None:
    judged = account._judged(Verdict("t", "", Outcome.MET, margin, "s"))
    data = json.loads(as_json(session(replace(PASS, assertions=(judged,)))))
    written = data["runs"][0]["assertions"][0]["margin"]
    assert written == (margin if abs(margin) < float("inf") else None)
