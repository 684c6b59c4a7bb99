"""What a page says, and what it must not let through."""

from __future__ import annotations

import base64
import hashlib
import re
from dataclasses import replace
from html.parser import HTMLParser
from pathlib import Path

import pytest

from harness.assertions import AssertionSpec
from harness.logbook import LoggedEvent
from harness.report.page.cautions import CAUTIONS
from harness.report.page.write import page
from tests.report.page.small_run import BASIS, HOSTILE, Rows, record

ATTACK = re.compile(r"document\.title|onerror")


class Parts(HTMLParser):
    """The page as a parser sees it: words outside scripts and styles, scripts, attributes."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.scripts: list[str] = []
        self._inside = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._inside = tag

    def handle_endtag(self, tag: str) -> None:
        self._inside = ""

    def handle_data(self, data: str) -> None:
        if self._inside == "script":
            self.scripts.append(data)
        elif self._inside != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture(scope="module")
def hostile(tmp_path_factory: pytest.TempPathFactory) -> str:
    everywhere = dict.fromkeys(("title", "scenario_file", "device", "device_name", "device_version"), HOSTILE)
    return page(
        [
            record(
                tmp_path_factory.mktemp("hostile"),
                **everywhere,
                scenario_text=HOSTILE,
                firmware={HOSTILE: HOSTILE},
                plant_setup={HOSTILE: HOSTILE},
                reasons=(HOSTILE,),
            )
        ]
    )


def test_text_from_outside_stays_text(hostile: str) -> None:
    parts = Parts(hostile)
    assert not any(tag in ("img", "iframe", "object", "embed", "link", "base") for tag, _ in parts.tags)
    assert sum(tag == "script" for tag, _ in parts.tags) == 3
    assert not any(ATTACK.search(script) for script in parts.scripts)
    assert not any(key.startswith("on") for _, attributes in parts.tags for key in attributes)
    assert parts.text.count("onerror") >= 8
    assert "\x1b" not in hostile
    assert r"\x1b[2J" in parts.text


def test_nothing_is_asked_for_from_outside(hostile: str) -> None:
    parts = Parts(hostile)
    links = [
        value for _, attributes in parts.tags for key in ("src", "href") if (value := attributes.get(key))
    ]
    assert links
    assert all(link.startswith("#") for link in links)
    assert "url(" not in hostile.partition("<body>")[0]
    assert "@import" not in hostile


def test_the_policy_lets_in_the_page_s_own_scripts_alone(hostile: str) -> None:
    tags = Parts(hostile).tags
    policy = next(a["content"] for tag, a in tags if tag == "meta" and a.get("http-equiv"))
    assert policy is not None
    assert policy.startswith("default-src 'none'; script-src 'sha256-")
    assert "unsafe-eval" not in policy
    script = re.search(r"<script>(.*?)</script>", hostile, re.S)
    assert script
    digest = base64.b64encode(hashlib.sha256(script[1].encode()).digest()).decode()
    assert f"'sha256-{digest}'" in policy


def test_verdicts_stand_first_the_gravest_on_top(tmp_path: Path) -> None:
    text = Parts(page([record(tmp_path)])).text
    verdicts = text.index(" Verdicts ")
    assert verdicts < text.index("What decided") < text.index("The whole run") < text.index("What was played")
    assert "fail of 5 assertions: 1 broken, 1 not exercised, 3 met" in text
    table = text[verdicts : text.index("What decided")]
    assert table.index("broken") < table.index("not exercised") < table.index("met")
    assert "−2 K 00:25.0 never that hot" in table
    assert "+2.5 s 00:31.5 gas shut in time" in table
    assert "+4 K 00:30.0 never too hot" in table


def test_a_page_tells_what_was_played_and_warns(tmp_path: Path) -> None:
    text = Parts(page([record(tmp_path)])).text
    for said in (
        "A green run is not permission to light a burner.",
        *CAUTIONS,
        "herms-gas",
        "set-up: burner_power 9 kW",
        "seed 3",
        "firmware board",
        "firmware version 1.2",
        f"./board sha256 {'ab' * 32}",
        'title = "small" length = "60 s"',
        "flame-lost starts",
        "Never changed: in.mash_setpoint 62 °C, ambient 12 °C",
        "after falls(flame) within 4 s expect not gas_valve",
        "Basis: common practice",
        "a note",
    ):
        assert said in text, said


def test_a_run_without_an_end_is_shown_as_interrupted(tmp_path: Path) -> None:
    text = Parts(page([record(tmp_path, finish=False)])).text
    assert "interrupted no assertion was judged" in text
    assert "Why: interrupted: the process that played it ended" in text
    assert not re.search(r"\bpass\b", text.partition("What was played")[0])


def test_an_inconclusive_run_says_why(tmp_path: Path) -> None:
    met = record(tmp_path, specs=(), reasons=("at 12.000 s: the link closed",))
    text = Parts(page([met])).text
    assert "inconclusive no assertion was judged" in text
    assert "Why: at 12.000 s: the link closed" in text


def test_a_logbook_that_does_not_tell_what_was_asked_still_gives_a_page(tmp_path: Path) -> None:
    text = Parts(page([record(tmp_path, assertions=[])])).text
    assert "The logbook does not tell what it looked at." in text
    assert "The whole run" in text


def test_several_runs_stand_beside_each_other(tmp_path: Path) -> None:
    late = record(tmp_path, rows=Rows(shut_s=5.0), device_version="1.3", scenario_text='title = "small"\n')
    text = Parts(page([record(tmp_path), late])).text
    assert "run 1, board 1.3: of 5 assertions" in text
    assert "met +2.5 s" in text
    assert "met → broken" in text
    assert "the same margin" in text
    assert "firmware version ≠ 1.2 1.3" in text
    assert 'What differs from A to B … title = "small" -length = "60 s"' in text


def test_the_same_run_gives_the_same_page_of_moderate_size(tmp_path: Path) -> None:
    run = record(tmp_path)
    first = page([run])
    assert first == page([run])
    assert len(first.encode()) < 3e6


def test_two_assertions_of_one_title_are_two(tmp_path: Path) -> None:
    specs = [AssertionSpec("twice", BASIS, always=f"liquor < {limit} degC") for limit in (66, 60)]
    text = Parts(page([record(tmp_path, specs=tuple(specs))])).text
    assert "fail of 2 assertions: 1 broken, 1 met" in text
    assert "−2 K 00:25.0 twice" in text
    assert "+4 K 00:30.0 twice" in text


def test_a_device_that_says_very_much_leaves_the_page_usable(tmp_path: Path) -> None:
    run = record(tmp_path)
    said = tuple(LoggedEvent(at, "device", f"say {at:0100d}") for at in range(60_000))
    text = page([replace(run, events=said)])
    assert len(text.encode()) < 4e6
    assert "60000 events; the first 3000 are listed" in text
