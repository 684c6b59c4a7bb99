"""`atmega:`: an ATmega328P cycle by cycle, its EEPROM, its timers and its sleep; its end and its faults."""

from __future__ import annotations

import time
from contextlib import closing
from pathlib import Path

import pytest

from harness.bench.device import Device
from harness.errors import LinkError, WrongUseError
from harness.links import open_link
from tests.emulated import build_bare, build_emulated, build_host
from tests.links.test_emulator import children, is_running, power_cut

BLANK = 0xFF


@pytest.fixture(scope="module")
def reference(tmp_path_factory):
    return build_emulated(tmp_path_factory.mktemp("boards"))["avr"].replace("avr:", "atmega:", 1)


@pytest.fixture
def sleeper(tmp_path):
    return build_bare(tmp_path, "atmega", "sleeper.c")


def ask(link) -> bytes:
    """What sleeper.c says, without the end of its line."""
    link.write(b"?")
    said = b""
    while not said.endswith(b"\n") or len(said) < 3:
        more = link.read(10.0)
        assert more, "the chip does not wake"
        said += more
    return said[:-1]


def test_a_lockout_outlives_a_power_cut_as_on_the_host(reference, tmp_path):
    fault, outputs = power_cut(reference)
    assert fault > 0
    assert (fault, outputs) == power_cut(build_host(tmp_path))


def test_each_power_cut_leaves_the_cells_as_they_were(sleeper):
    with closing(open_link(sleeper)) as link:
        for starts in range(5):
            assert ask(link)[1] == (BLANK + 1 + starts) % 256
            link.restart()
    with closing(open_link(sleeper)) as link:
        assert ask(link)[1] == 0, "another chip, another EEPROM"


def test_a_chip_that_sleeps_is_woken_as_the_byte_comes_not_as_its_timer_turns_over(sleeper):
    with closing(open_link(sleeper)) as link:
        assert len({ask(link)[0] for _ in range(20)}) > 10


def ticks_s(link, asks: int) -> float:
    """How far the chip's clock runs meanwhile, by an 8-bit timer: that far, or less. [s]"""
    before, ticks = ask(link)[0], 0
    for _ in range(asks):
        now = ask(link)[0]
        ticks += (now - before) % 256
        before = now
    return ticks * 64e-6


def test_the_chip_s_clock_does_not_run_ahead_of_the_wall_s(sleeper):
    """Free, it does while bytes pass: 0.35 ms a line, played in less. A slow machine makes it easier."""
    with closing(open_link(f"{sleeper},wall")) as link:
        begun = time.monotonic()
        assert ticks_s(link, 300) <= time.monotonic() - begun + 0.005


def test_bytes_by_interrupt_need_no_help(tmp_path):
    with closing(open_link(build_bare(tmp_path, "atmega", "interrupt.c"))) as link:
        for number in range(100):
            line = b"line %d of the interrupt driver\n" % number
            link.write(line)
            said = link.read(5.0)
            assert said == line


def test_it_ends_with_its_link(reference):
    before = children()
    link = open_link(reference)
    (started,) = children() - before
    link.close()
    link.close()
    assert not is_running(started)
    assert not Path(link._built.name).exists()
    with pytest.raises(LinkError, match="the link is closed"):
        link.restart()


def test_a_crash_a_deep_sleep_and_a_hang_are_told(tmp_path):
    crashes = open_link(build_bare(tmp_path, "atmega", "astray.c"))
    what = r"the simulated chip ended with exit code 1\. Its last words: .*has left its code or memory"
    with closing(crashes), pytest.raises(LinkError, match=what):
        crashes.read(10.0)
    sleeps = open_link(build_bare(tmp_path, "atmega", "deep_sleep.c"))
    with closing(sleeps), pytest.raises(LinkError, match="sleeps with interrupts off"):
        sleeps.read(10.0)
    hangs = Device(open_link(build_bare(tmp_path, "atmega", "hang.c")), hello_timeout_s=0.2)
    with closing(hangs), pytest.raises(LinkError, match=r"nothing came in 0\.2 s"):
        hangs.hello()


def test_a_wrong_file_is_told(tmp_path):
    with pytest.raises(WrongUseError, match=r"atmega:: no file\. Write it after the colon, as in atmega:"):
        open_link("atmega:")
    with pytest.raises(LinkError, match=r"there is no file '.*none\.elf'\. Build the firmware"):
        open_link(f"atmega:{tmp_path / 'none.elf'}")
    (tmp_path / "text.elf").write_text(":100000000C9434000C94")
    with pytest.raises(LinkError, match=r"text\.elf is no ELF file"):
        open_link(f"atmega:{tmp_path / 'text.elf'}")


def test_a_missing_compiler_or_library_names_its_package(reference, monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(LinkError, match=r"there is no C compiler.*apt install gcc libc6-dev libsimavr-dev$"):
        open_link(reference)
    for name in ("cc", "gcc"):
        stand_in = tmp_path / name
        stand_in.write_text("#!/bin/sh\necho 'fatal error: simavr' >&2\nexit 1\n")
        stand_in.chmod(0o755)
    with pytest.raises(LinkError, match=r"could not be compiled: 'fatal error: simavr'.*libsimavr-dev$"):
        open_link(reference)
