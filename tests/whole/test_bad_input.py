"""What a person or a device does wrong gives one clear message, the right exit code, and loses no record."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.whole.rehearsal import BUSY, book, meddler, start, unlit

PASS, FAIL, WRONG_USE, INCONCLUSIVE = 0, 1, 2, 3
QUICK = ("--answer-timeout", "100 ms")


def write(folder: Path, text: str = BUSY) -> str:
    (folder / "own.toml").write_text(text)
    return "own.toml"


def broken(old: str, new: str) -> str:
    assert old in BUSY
    return BUSY.replace(old, new, 1)


#: What is wrong: the scenario, and what the message must say.
FILES = {
    "unknown key": (broken("length", "lenght"), r'own\.toml:4: .*lenght.*did you mean "length"'),
    "wrong unit": (broken('"2 min"', '"2 kW"'), r"own\.toml:4: length: '2 kW' is a power; a time is wanted"),
    "no unit": (broken('"12 degC"', "12"), r"own\.toml:7: ambient: 12 has no unit"),
    "bad TOML": (broken("[panel]", "[panel"), r"own\.toml:11: "),
    "unknown plant": (
        broken("herms-gas", "herms-gaz"),
        r'own\.toml:3: .*herms-gaz.*did you mean "herms-gas"',
    ),
    "unknown place": (broken('"pump_inlet"', '"pump_inlit"'), r'own\.toml:\d+: .*did you mean "pump_inlet"'),
    "unknown signal": (broken("not gas_valve", "not gas_vent"), r"own\.toml:\d+: .*gas_vent"),
    "nothing to judge": (BUSY.split("[[assertion]]")[0], r"own\.toml:1: states no assertion"),
    "unknown panel input": (
        broken("mash_setpoint =", "mash_setpiont ="),
        r'own\.toml:13: .*did you mean "mash_setpoint"',
    ),
    "panel out of range": (broken("run = true", 'run = "3 min"'), r"own\.toml:\d+: panel run: "),
    "empty file": ("", r"own\.toml: is empty"),
}


@pytest.mark.parametrize(("text", "message"), FILES.values(), ids=FILES)
def test_a_wrong_file_is_told_with_its_line(text, message, tmp_path):
    done = unlit(tmp_path, "run", write(tmp_path, text))
    assert done.code == WRONG_USE
    assert len(re.findall(message, done.err)) == 1, done.err
    assert not book(tmp_path).path.exists()


#: What is wrong: the words after `run`, the exit code, and what the message must say.
WORDS = {
    "missing file": (("nowhere.toml",), WRONG_USE, r"^nowhere\.toml: does not exist"),
    "missing folder": (("no/where",), WRONG_USE, r"^no/where: does not exist"),
    "folder without scenarios": (("empty",), WRONG_USE, r"^empty: .*scenario"),
    "unknown kind of link": (
        ("own.toml", "--device", "bultin"),
        WRONG_USE,
        r"bultin: .*Did you mean builtin",
    ),
    "no such port": (("own.toml", "--device", "/dev/ttyACM99"), INCONCLUSIVE, r"^/dev/ttyACM99: "),
    "no such command": (("own.toml", "--device", "run:./firmwear"), INCONCLUSIVE, r"no program './firmwear'"),
    "no such library": (
        ("own.toml", "--device", "lib:./none.so"),
        INCONCLUSIVE,
        r"no file 'none.so'|no file './none.so'",
    ),
    "no such URL": (
        ("own.toml", "--device", "socket://127.0.0.1:1"),
        INCONCLUSIVE,
        r"^socket://127\.0\.0\.1:1: ",
    ),
    "time-out that is none": (("own.toml", "--answer-timeout", "2 K"), WRONG_USE, r"--answer-timeout 2 K: "),
    "time-out out of range": (
        ("own.toml", "--answer-timeout", "1 h"),
        WRONG_USE,
        r"--answer-timeout 1 h is out",
    ),
    "mute": (("own.toml", "--device", meddler("mute"), *QUICK), INCONCLUSIVE, r"nothing came in 0\.25 s"),
    "only NUL": (
        ("own.toml", "--device", meddler("nuls"), *QUICK),
        INCONCLUSIVE,
        r"bytes came in 0\.25 s, but no whole line",
    ),
    "too few channels": (
        ("own.toml", "--device", meddler("few_channels")),
        WRONG_USE,
        r'drives actuator "gas_valve".*\[wiring\.outputs\]',
    ),
    "wrong units": (("own.toml", "--device", meddler("wrong_units")), WRONG_USE, r'input "liquor" in uV'),
}


@pytest.mark.parametrize(("words", "code", "message"), WORDS.values(), ids=WORDS)
def test_what_cannot_be_played_is_told_and_leaves_no_run(words, code, message, tmp_path):
    write(tmp_path)
    (tmp_path / "empty").mkdir()
    done = unlit(tmp_path, "run", *words)
    assert done.code == code, done.err
    assert len(re.findall(message, done.err, re.MULTILINE)) == 1, done.err
    assert not book(tmp_path).path.exists()


#: Habit: exchanges recorded at least, and what the reason must say.
HABITS = {
    "cut": (19, r"`at 4750 .*` was sent 4 times and not answered within 0\.1 s"),
    "garbage": (19, r"every answer came damaged"),
    "floods": (19, r"the device floods the line"),
    "exits": (19, r"ended with exit code 7.*watchdog"),
    "wrong_time": (19, r"answers came that do not belong to it"),
    "over_range": (20, r"^at 4\.750 s: the device set output gas_valve to 2; a bool is 0 to 1"),
    "no_value": (20, r"no value \(x\) for output gas_valve"),
    "stays_on": (480, r"left gas_valve, igniter on after `end`"),
}


@pytest.mark.parametrize(("habit", "exchanges", "message"), [(k, *v) for k, v in HABITS.items()], ids=HABITS)
def test_a_device_that_fails_in_a_run_makes_it_inconclusive(habit, exchanges, message, tmp_path):
    done = unlit(tmp_path, "run", write(tmp_path), "--device", meddler(habit), *QUICK)
    assert done.code == INCONCLUSIVE, done.out
    assert "\x1b" not in done.out + done.err
    record = book(tmp_path).read(1)
    assert record.summary.shown_status == "inconclusive"
    (reason,) = record.summary.end.reasons
    assert re.search(message, reason), reason
    assert reason.split()[-1] in done.out
    times, _ = record.signals(["liquor", "out.gas_valve"])
    assert len(times) >= exchanges - 1
    assert record.summary.end.exchanges == exchanges
    assert record.computed_digest() == record.summary.end.digest


NEVER = """
[[disturbance]]
kind = "pump-stops"
when = "liquor > 99 degC"
"""
UNTRIGGERED = """
[[assertion]]
title = "the liquor that boils is cooled"
after = "rises(liquor > 99 degC)"
within = "1 s"
expect = "not gas_valve"
"""


@pytest.mark.parametrize(
    ("more", "message"),
    [(NEVER, r"own\.toml:\d+: disturbance pump-stops never started"), (UNTRIGGERED, r"not exercised")],
    ids=["disturbance", "assertion"],
)
def test_what_never_came_is_no_pass(more, message, tmp_path):
    done = unlit(tmp_path, "run", write(tmp_path, BUSY + more))
    assert done.code == INCONCLUSIVE
    assert re.search(message, done.out.replace("\n", " "))
    assert book(tmp_path).runs()[0].shown_status == "inconclusive"


def test_a_logbook_that_cannot_be_made_is_told(tmp_path):
    write(tmp_path)
    (tmp_path / "file").write_text("not a folder")
    for name, code in (
        ("file/book.sqlite", INCONCLUSIVE),
        ("file", WRONG_USE),
        (str(tmp_path), INCONCLUSIVE),
    ):
        done = unlit(tmp_path, "run", "own.toml", "--logbook", name)
        assert done.code == code, done
        assert "--logbook" in done.err
    assert (tmp_path / "file").read_text() == "not a folder"


def test_a_full_disk_ends_the_run_and_keeps_what_there_was(tmp_path):
    """The file may not grow beyond a limit, as on a full disk."""
    write(tmp_path, broken('"2 min"', '"3 h"'))
    limited = (
        "import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN); "
        "resource.setrlimit(resource.RLIMIT_FSIZE, (2_000_000, 2_000_000)); "
    )
    done = unlit(tmp_path, "run", "own.toml", before=limited)
    assert done.code == INCONCLUSIVE, done
    assert "--logbook" in done.err
    (run,) = book(tmp_path).runs()
    assert run.shown_status == "interrupted"
    assert len(book(tmp_path).read(1).signals(["liquor"])[0]) >= 1024


def test_two_at_once_on_one_logbook(tmp_path):
    write(tmp_path)
    children = [start(tmp_path, "run", "own.toml", "--seed", seed) for seed in ("1", "2")]
    for child in children:
        _, err = child.communicate()
        assert (child.returncode, err) == (PASS, "")
    runs = book(tmp_path).runs()
    assert sorted(run.meta.seed for run in runs) == [1, 2]
    assert {run.shown_status for run in runs} == {"pass"}
