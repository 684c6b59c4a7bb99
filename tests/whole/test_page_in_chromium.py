"""The page in a real browser, opened from disk: it draws, zooms, reads off, and lets nobody in or out."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from harness.assertions import AssertionSpec
from harness.report.page.write import page
from tests.report.page.small_run import HOSTILE, SPECS, Rows, record
from tests.whole.browser import Browser

WHOLE = "document.querySelector('#whole-run')"
PLOTS = f"[...{WHOLE}.querySelectorAll('.plot')]"
LIQUOR = f"{WHOLE}.querySelectorAll('.strip.level output')[0].textContent"
NOW = f"{WHOLE}.querySelector('.now').textContent"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Pages of a run that fails, of two beside each other, of a device that means harm, of endless words."""
    here = tmp_path_factory.mktemp("pages")
    run = record(here)
    endless = (*SPECS, AssertionSpec("x" * 200, "y" * 200, always="liquor < 60 degC"))
    late = record(here, rows=Rows(shut_s=5.0, end_s=50.0), specs=endless, title="z" * 200)
    everywhere = dict.fromkeys(("title", "scenario_file", "device", "device_name", "scenario_text"), HOSTILE)
    bad = record(here, **everywhere, specs=endless, reasons=(HOSTILE, "w" * 200))
    for name, runs in (("run", [run]), ("two", [run, late]), ("bad", [bad])):
        (here / f"{name}.html").write_text(page(runs), encoding="utf-8")
    return here


@pytest.fixture(scope="module")
def running() -> Iterator[Browser]:
    with Browser() as browser:
        yield browser


def opened(running: Browser, folder: Path, name: str) -> Browser:
    """The browser with a page in a wide window; opened anew only where another page was: that is slow."""
    there = f"location.pathname.endsWith('/{name}.html') && innerWidth === 1280"
    if running.value(there) is not True:
        running.screen(1280)
        running.open(folder / f"{name}.html")
    return running


@pytest.fixture
def browser(running: Browser, folder: Path) -> Browser:
    """The browser with the page of one run, all of it shown."""
    opened(running, folder, "run")
    running.value(f"{WHOLE}.querySelector('[data-do=whole]').click()")
    running.heard.clear()
    return running


def sound(browser: Browser) -> None:
    """Assert that all is drawn, nothing went wrong, and nothing is pushed out of sight."""
    assert browser.value("document.documentElement.dataset.drawn") == "yes"
    strips, drawn = browser.value(
        "['.plot', '.plot .main-svg:first-child'].map((s) => document.querySelectorAll(s).length)"
    )
    assert strips == drawn >= 10
    assert browser.value("document.documentElement.scrollWidth") == 1280
    assert browser.value("[...document.querySelectorAll('th')].every((one) => one.offsetHeight < 44)")
    inside = "[...document.querySelectorAll('.scroll')].every((one) => one.scrollWidth <= one.clientWidth)"
    assert browser.value(inside)
    assert browser.troubles() == []


def span(browser: Browser, low: float, high: float, near: float = 1.0) -> None:
    """Wait until the first strips of the whole run show these times; those out of sight follow later."""
    shown = f"{PLOTS}.slice(0, 3).map((plot) => plot.layout.xaxis.range)"
    test = f"{shown}.every((r) => Math.abs(r[0] - {low}) <= {near} && Math.abs(r[1] - {high}) <= {near})"
    browser.until(test)


def place(browser: Browser, strip: int) -> dict[str, float]:
    """Where the drawing area of a strip of the whole run lies in the window."""
    browser.value(f"{PLOTS}[{strip}].scrollIntoView({{behavior: 'instant', block: 'center'}})")
    found: dict[str, float] = browser.value(
        f"(() => {{ const r = {PLOTS}[{strip}].getBoundingClientRect();"
        "return {left: r.left + 56, width: r.width - 68, y: r.top + r.height / 3}; })()"
    )
    return found


def drag(browser: Browser, begin: float, end: float, y: float) -> None:
    """Press, move in steps, release."""
    browser.mouse("mouseMoved", begin, y)
    browser.mouse("mousePressed", begin, y, held=True)
    for step in (0.2, 0.5, 0.8, 1.0):
        browser.mouse("mouseMoved", begin + step * (end - begin), y, held=True)
    browser.mouse("mouseReleased", end, y)


def test_it_opens_from_disk_without_an_error_or_a_request(running: Browser, folder: Path) -> None:
    running.screen(1280)
    running.open(folder / "run.html")
    sound(running)


def test_dragging_zooms_all_strips_and_a_button_shows_all_again(browser: Browser) -> None:
    at = place(browser, 1)
    drag(browser, at["left"] + at["width"] / 4, at["left"] + at["width"] / 2, at["y"])
    span(browser, 15_000, 30_000, near=400)
    ticks: list[str] = browser.value(f"{PLOTS}[1].layout.xaxis.ticktext")
    assert set(ticks) <= {f"00:{second:02d}" for second in range(60)}
    browser.value(f"{WHOLE}.querySelector('[data-do=whole]').click()")
    span(browser, 0, 60_000)


def test_dragging_pans_where_that_is_chosen(browser: Browser) -> None:
    for _ in range(2):
        browser.value(f"{WHOLE}.querySelector('[data-do=in]').click()")
    low, high = browser.value(f"{PLOTS}[1].layout.xaxis.range")
    browser.value(f"{WHOLE}.querySelector('[value=pan]').click()")
    at = place(browser, 1)
    drag(browser, at["left"] + at["width"] / 2, at["left"] + at["width"] / 4, at["y"])
    span(browser, low + (high - low) / 4, high + (high - low) / 4, near=200)
    browser.value(f"{WHOLE}.querySelector('[value=zoom]').click()")


def test_the_cursor_reads_every_trace(browser: Browser) -> None:
    at = place(browser, 1)
    browser.mouse("mouseMoved", at["left"] + at["width"] / 4, at["y"])
    browser.until(f"{NOW}.startsWith('00:1') || {NOW}.startsWith('00:15')")
    liquor = float(browser.value(LIQUOR))
    assert liquor == pytest.approx(50 + 15_000 / 2500, abs=0.2)
    lanes = browser.value(f"[...{WHOLE}.querySelectorAll('.strip.lanes output')].map((o) => o.textContent)")
    assert lanes == ["on", "on"]


def test_the_keyboard_is_enough(browser: Browser) -> None:
    browser.value(f"{WHOLE}.focus()")
    moved = browser.value(NOW)
    browser.key("ArrowRight")
    assert browser.value(NOW) > moved
    browser.key("+")
    browser.key("ArrowLeft", shift=True)
    browser.key("ArrowLeft", shift=True)
    browser.key("ArrowLeft", shift=True)
    span(browser, 0, 30_000)
    browser.key("0")
    span(browser, 0, 60_000)
    browser.key(".")
    assert browser.value(f"{WHOLE}.querySelector('.last').textContent").startswith(browser.value(NOW)[:7])


def test_a_moment_shows_its_values_and_leads_into_the_whole_run(browser: Browser) -> None:
    said: dict[str, Any] = browser.value(
        "(() => { const a = document.querySelector('#a1');"
        "const labels = [...a.querySelectorAll('.label')].map((l) => l.textContent);"
        "return {values: a.querySelector('output').textContent, labels}; })()"
    )
    assert said == {"values": "60", "labels": ["limit 60 °C", "margin −2 K"]}
    browser.value("document.querySelector('#a1 [data-goto]').click()")
    browser.until(f"{PLOTS}[1].layout.xaxis.range[0] > 0")
    low, high = browser.value(f"{PLOTS}[1].layout.xaxis.range")
    assert low <= 25_000 <= high
    assert browser.value(NOW).startswith("00:25.0")


def test_the_policy_stops_connections_and_foreign_scripts(browser: Browser) -> None:
    browser.value(
        "window.stopped = []; addEventListener('securitypolicyviolation',"
        "(event) => stopped.push(event.effectiveDirective))"
    )
    browser.value("fetch('http://127.0.0.1:9/').catch(() => 0)")
    browser.value(
        "(() => { const s = document.createElement('script'); s.textContent = 'window.ran = 1';"
        "document.head.append(s); })()"
    )
    browser.until("window.stopped.length >= 2")
    assert browser.value("stopped.sort()") == ["connect-src", "script-src-elem"]
    assert browser.value("window.ran ?? 0") == 0


def test_dark_and_paper_repaint_the_curves(browser: Browser, folder: Path) -> None:
    colour = f"{PLOTS}[1].querySelector('.lines path').style.stroke"
    light = browser.value(colour)
    browser.screen(1280, dark=True)
    browser.until(f"{colour} !== {light!r}")
    browser.value(
        "addEventListener('beforeprint', () => { window.printed = "
        f"[{colour}, {PLOTS}.every((plot) => plot.clientWidth < 690)]; }})"
    )
    browser.paper(folder / "run.pdf")
    assert browser.value("window.printed") == [light, True]
    assert (folder / "run.pdf").read_bytes().startswith(b"%PDF")
    assert browser.value(colour) != light


def test_of_two_runs_the_one_that_is_over_has_no_values_any_more(running: Browser, folder: Path) -> None:
    browser = opened(running, folder, "two")
    sound(browser)
    at = place(browser, 1)
    browser.mouse("mouseMoved", at["left"] + 0.9 * at["width"], at["y"])
    browser.until(f"{NOW}.startsWith('00:5')")
    outputs = f"[...{WHOLE}.querySelectorAll('.strip.level')[0].querySelectorAll('output')]"
    assert browser.value(f"{outputs}.map((output) => output.textContent)") == ["62", "–"]


def test_what_a_device_says_does_not_run(running: Browser, folder: Path) -> None:
    browser = opened(running, folder, "bad")
    sound(browser)
    browser.value(f"{WHOLE}.focus()")
    for _ in range(12):
        browser.key(".")
    assert "onerror" in browser.value(f"{WHOLE}.querySelector('.last').textContent + document.body.innerText")
    assert browser.value("document.title").startswith("run 3: <img src=x")
    assert browser.value("document.querySelectorAll('img').length") == 0
    assert browser.troubles() == []


def test_where_it_cannot_draw_it_says_so_and_shows_no_empty_strips(running: Browser, folder: Path) -> None:
    browser, old = running, "delete window.DecompressionStream"
    made = browser.ask("Page.addScriptToEvaluateOnNewDocument", source=old)
    try:
        browser.open(folder / "run.html")
    finally:
        browser.ask("Page.removeScriptToEvaluateOnNewDocument", identifier=made["identifier"])
    words: str = browser.value("document.body.innerText")
    assert "The curves are not drawn here" in words
    assert "never that hot" in words
    assert "Drag over a strip" not in words
    assert browser.value("[...document.querySelectorAll('.group, .goto')].every((one) => !one.offsetHeight)")


def test_a_phone_needs_no_scrolling_sideways(running: Browser, folder: Path) -> None:
    running.screen(390, 844, touch=True)
    for name in ("run", "two"):
        running.open(folder / f"{name}.html")
        assert running.value("document.documentElement.scrollWidth") == 390
        assert running.value(f"{WHOLE}.querySelector('[value=read]').checked")
        narrow = "[...document.querySelectorAll('td.change')].every((one) => one.offsetWidth > 90)"
        assert running.value(narrow)
        widths = "[...document.querySelectorAll('.main-svg')].every((svg) => svg.clientWidth <= 390)"
        assert running.value(widths)
        assert running.troubles() == []
