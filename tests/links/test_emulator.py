"""`avr:` and `arm:`: firmware built for its chip in an emulator: its end, its power, its faults."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from contextlib import closing, suppress
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harness.bench.device import Device
from harness.errors import LinkError, WrongUseError
from harness.links import open_link
from harness.links.emulator_file import ARM, AVR, check_elf
from tests.emulated import KINDS, build_bare, build_emulated, build_host

ROOT = Path(__file__).resolve().parents[2]
READINGS = (65432, 66123, None, 70123, 1, 0)
FLAME_WITHOUT_GAS = (65432, 66123, 65987, 70123, 1, 1)
MEMORY_DAMAGED = 12


@pytest.fixture(scope="module")
def reference(tmp_path_factory):
    return build_emulated(tmp_path_factory.mktemp("boards"))


@pytest.fixture(scope="module")
def host(tmp_path_factory):
    return build_host(tmp_path_factory.mktemp("host"))


def device(text: str) -> Device:
    found = Device(open_link(text))
    found.hello()
    return found


def exchanges(board: Device, times, readings=READINGS) -> list:
    board.prepare(range(1, 1 + len(readings)))
    outputs = []
    for t_ms in times:
        board.send_at(t_ms, readings)
        outputs.append(board.receive())
    return outputs


def children() -> set[int]:
    return {int(pid) for pid in Path(f"/proc/self/task/{os.getpid()}/children").read_text().split()}


def is_running(pid: int) -> bool:
    try:
        return "\nState:\tZ" not in Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return False


def test_both_boards_say_and_do_what_the_host_does(reference, host):
    """All three at once: several emulators live side by side."""
    boards = [device(text) for text in (host, *reference.values())]
    told = []
    for board in boards:
        heard: list = []
        board.on_message = heard.append
        outputs = [board.go(0), *exchanges(board, range(250, 10_001, 250)), board.end()]
        told.append((board.identity, outputs, heard))
    assert told[1] == told[0]
    assert told[2] == told[0]
    assert [(board.repeats, board.damaged) for board in boards] == [(0, 0)] * 3
    for board in boards:
        board.close()


@pytest.mark.parametrize("kind", KINDS)
def test_the_emulator_ends_with_its_link(kind, reference):
    before = children()
    board = device(reference[kind])
    (started,) = children() - before
    board.link.restart()
    board.hello()
    board.close()
    board.close()
    assert children() == before
    assert not is_running(started)
    for use in (lambda: board.link.write(b"a"), lambda: board.link.read(0), board.link.restart):
        with pytest.raises(LinkError, match="the link is closed"):
            use()


HOLDER = """
import sys
from harness.links import open_link
from harness.links.emulator_file import ARM, AVR, check_elf
link = open_link(sys.argv[1])
print(link._child.pid, flush=True)
link.read(60.0)
"""


@pytest.mark.parametrize("kind", KINDS)
def test_the_emulator_ends_when_the_bench_is_killed(kind, reference):
    words = [sys.executable, "-c", HOLDER, reference[kind]]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True, cwd=ROOT) as bench:
        pid = int(bench.stdout.readline())
        assert is_running(pid)
        bench.send_signal(signal.SIGKILL)
    for _ in range(2000):
        if not is_running(pid):
            break
        time.sleep(0.005)
    assert not is_running(pid)


def power_cut(text: str) -> tuple:
    """A lockout, a power cut, and what the controller comes back with."""
    with closing(device(text)) as board:
        board.go(0)
        fault = exchanges(board, range(250, 9001, 250), FLAME_WITHOUT_GAS)[-1][6]
        board.restart()
        return fault, board.back(10_000)


def test_memory_outlives_a_power_cut_on_arm(reference, host):
    fault, outputs = power_cut(reference["arm"])
    assert (fault, outputs) == power_cut(host)
    assert fault > 0


def test_memory_is_damaged_after_a_power_cut_on_avr(reference):
    """The machine has no EEPROM: what is read back is zeros, which the firmware must not take for stored."""
    _, outputs = power_cut(reference["avr"])
    assert outputs[6] == MEMORY_DAMAGED


def test_what_was_not_read_before_the_power_cut_is_gone(reference):
    with closing(device(reference["arm"])) as board:
        board.link.write(b"nonsense\n" * 5)
        board.restart()
        assert board.go(0) == board.tick(0)


@pytest.mark.parametrize("kind", KINDS)
def test_an_emulator_that_has_ended_starts_again(kind, reference):
    with closing(device(reference[kind])) as board:
        (pid,) = children()
        os.kill(pid, signal.SIGKILL)
        with pytest.raises(LinkError, match=r"the emulator was ended by SIGKILL\."):
            board.go(0)
        board.restart()
        assert board.go(0)


def test_an_interrupt_that_the_emulator_forgets_is_made_good(tmp_path):
    """A loop that looks at memory only, as an interrupt-driven serial driver has it: QEMU 7.2 would hang."""
    text = build_bare(tmp_path, "avr", "interrupt.c")
    with closing(open_link(text)) as link:
        for number in range(300):
            line = b"line %d of the interrupt driver\n" % number
            link.write(line)
            assert link.read(5.0) == line


@pytest.mark.parametrize("kind", KINDS)
def test_a_crash_and_a_hang_are_told(kind, tmp_path):
    what = r"the emulator was ended by SIG(SEGV|ABRT)\. .*(firmware|fatal)"
    crashes = open_link(build_bare(tmp_path, kind, "crash.c"))
    with closing(crashes), pytest.raises(LinkError, match=what) as error:
        crashes.read(10.0)
    assert len(str(error.value)) < 600
    hangs = Device(open_link(build_bare(tmp_path, kind, "hang.c")), hello_timeout_s=0.2)
    with closing(hangs), pytest.raises(LinkError, match=r"nothing came in 0\.2 s"):
        hangs.hello()


ELF = b"\x7fELF\x01\x01\x01" + bytes(9)
FILES = {
    "a text": (b":100000000C9434000C94", "no ELF file"),
    "empty": (b"", "no ELF file"),
    "cut short": (ELF + b"\x02\x00\x53\x00", "no ELF file"),
    "for a PC": (ELF + b"\x02\x00\x3e\x00" + bytes(60), "built for another machine, x86-64"),
    "for some chip": (ELF + b"\x02\x00\x99\x00" + bytes(60), "built for another machine, number 153"),
    "big endian": (b"\x7fELF\x01\x02" + bytes(10) + b"\0\2\0\x08" + bytes(60), "built for another machine"),
}


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize(("content", "what"), FILES.values(), ids=FILES)
def test_a_wrong_file_is_told(kind, content, what, tmp_path):
    file = tmp_path / "fw.elf"
    file.write_bytes(content)
    with pytest.raises(LinkError, match=rf"fw\.elf is {what}") as error:
        open_link(f"{kind}:{file}")
    assert "Give the .elf that the build for the" in str(error.value)


def test_an_object_file_and_the_other_chip_are_told(tmp_path):
    file = tmp_path / "fw.o"
    for kind, number, other in (("avr", 83, "arm"), ("arm", 40, "avr")):
        file.write_bytes(ELF + bytes([1, 0, number, 0]) + bytes(60))
        with pytest.raises(LinkError, match="no linked program but an object file"):
            open_link(f"{kind}:{file}")
        with pytest.raises(LinkError, match="built for another machine, A"):
            open_link(f"{other}:{file}")


CHIPS = {
    "atmega2560": r"an AVR of another size \(avr6\)",
    "atmega32u4": r"another AVR, the 'atmega32u4'",
    "atmega168": r"another AVR, the 'atmega168'",
}


@pytest.mark.parametrize("kind", ["avr", "atmega"])
@pytest.mark.parametrize(("chip", "what"), CHIPS.items(), ids=CHIPS)
def test_another_avr_is_told(kind, chip, what, tmp_path):
    """Those of the same size start, and then say nothing: their pins and registers lie elsewhere."""
    with pytest.raises(LinkError, match=rf"hang-{kind}\.elf is built for {what}\. Build it with -mmcu"):
        open_link(build_bare(tmp_path, kind, "hang.c", chip))


@pytest.mark.parametrize("kind", KINDS)
def test_a_file_cut_short_anywhere_is_told(kind, reference, tmp_path):
    content = Path(reference[kind].partition(":")[2]).read_bytes()
    file = tmp_path / "fw.elf"
    for length in {52, 60, len(content) // 2, len(content) - 1}:
        file.write_bytes(content[:length])
        with pytest.raises(LinkError, match=r"fw\.elf is cut short\. Build it again"):
            open_link(f"{kind}:{file}")


@settings(max_examples=200)
@given(rest=st.binary(max_size=200), number=st.sampled_from((AVR, ARM)))
def test_whatever_stands_in_a_file_is_told_or_taken(rest, number, tmp_path_factory):
    file = tmp_path_factory.getbasetemp() / "any.elf"
    file.write_bytes(ELF + bytes([2, 0, number, 0]) + rest)
    with suppress(LinkError):
        check_elf("avr:any.elf", file, number, "chip")


@pytest.mark.parametrize("kind", KINDS)
def test_no_file_is_told(kind, tmp_path):
    with pytest.raises(WrongUseError, match=rf"{kind}:: no file\. Write it after the colon, as in {kind}:"):
        open_link(f"{kind}:")
    with pytest.raises(LinkError, match=r"there is no file '.*none\.elf'\. Build the firmware"):
        open_link(f"{kind}:{tmp_path / 'none.elf'}")
    with pytest.raises(LinkError, match=r"is a folder or a device\. Give the"):
        open_link(f"{kind}:{tmp_path}")
    os.mkfifo(tmp_path / "pipe")
    with pytest.raises(LinkError, match=r"is a folder or a device\. Give the"):
        open_link(f"{kind}:{tmp_path / 'pipe'}")


@pytest.mark.parametrize("kind", KINDS)
def test_this_process_gets_its_cores_back(kind, reference):
    before = os.sched_getaffinity(0)
    board = device(reference[kind])
    board.link.restart()
    board.close()
    assert os.sched_getaffinity(0) == before


def test_a_system_that_cannot_bind_or_place_a_child_still_plays(reference, monkeypatch):
    monkeypatch.setattr("harness.links.emulator._bound_to_this_process", list)
    monkeypatch.delattr(os, "sched_setaffinity")
    monkeypatch.setattr(os, "listdir", _no_such_folder)
    for text in reference.values():
        with closing(device(text)) as board:
            assert board.go(0)


def _no_such_folder(path):
    raise FileNotFoundError


@pytest.mark.parametrize(("kind", "package"), [("avr", "qemu-system-misc"), ("arm", "qemu-system-arm")])
def test_a_missing_emulator_names_its_package(kind, package, reference, monkeypatch, tmp_path):
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(LinkError, match=rf"qemu-system-{kind} is not installed.*apt install {package}$"):
        open_link(reference[kind])
