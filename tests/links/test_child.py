"""`run:` and `pty:`: bytes both ways, the child's end, and what is left behind."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from harness.errors import LinkError
from harness.line import Decoder, Say, Side
from harness.links import open_link
from harness.links.descriptor import Descriptors

DEVICES = Path(__file__).parent / "devices"
KINDS = ("run", "pty")


@pytest.fixture(params=KINDS)
def tool(request):
    """Opens a link to tool.py; closes it afterwards."""
    links = []

    def open_tool(words):
        links.append(open_link(f"{request.param}:{sys.executable} -S {DEVICES / 'tool.py'} {words}"))
        return links[-1]

    yield open_tool
    for link in links:
        link.close()


def take(link, count: int) -> bytes:
    """Exactly `count` bytes, or what came before a second of silence."""
    data = b""
    while len(data) < count and (piece := link.read(1.0)):
        data += piece
    return data


def write_often(link, data: bytes) -> None:
    for _ in range(10_000):
        link.write(data)


def write_and_read(link) -> None:
    link.write(b"x")
    link.read(5.0)


def lines(link, count: int) -> list:
    decoder, events = Decoder(Side.DEVICE), []
    while len(events) < count and (data := link.read(1.0)):
        events += decoder.feed(data)
    return events


def descriptors() -> list[str]:
    return sorted(os.listdir("/proc/self/fd"))


def is_running(pid: int) -> bool:
    """False once the process is gone; one that nobody collected yet counts as gone."""
    try:
        return "\nState:\tZ" not in Path(f"/proc/{pid}/status").read_text()
    except OSError:
        return False


def test_every_byte_passes_both_ways(tool):
    link = tool("echo")
    data = bytes(range(256)) * 4
    link.write(data)
    assert take(link, len(data)) == data


def test_read_gives_nothing_when_nothing_comes(tool):
    assert tool("echo").read(0.01) == b""


def test_the_end_of_the_child_is_told_with_its_last_words(tool):
    link = tool("die 7")
    with pytest.raises(LinkError) as error:
        link.read(5.0)
    assert str(error.value).startswith(link.text)
    assert "ended with exit code 7. Its last words: 'no such channel / bad \\x07 table'" in str(error.value)


def test_talking_to_an_ended_child_is_a_link_error(tool):
    link = tool("die 0")
    for _ in range(2):
        with pytest.raises(LinkError, match="ended with exit code 0"):
            write_and_read(link)


def test_a_signal_is_named():
    with (
        closing(open_link("run:sh -c 'kill -SEGV $$'")) as link,
        pytest.raises(LinkError, match=r"was ended by SIGSEGV\. It said nothing on stderr\. Run it by hand"),
    ):
        link.read(5.0)


def test_a_full_stderr_does_not_stop_the_child(tool):
    link = tool("noisy")
    link.write(b"on\n")
    assert take(link, 3) == b"on\n"
    assert len(link._last_words) <= 2048
    assert link._last_words.endswith(b"last words\n")


def test_writing_to_a_flooding_child_does_not_lock(tool):
    link = tool("flood")
    with pytest.raises(LinkError, match=r"floods the line: \d+ bytes came unasked"):
        write_often(link, b"y" * 4096)


def test_a_child_that_never_reads_is_told(tool, monkeypatch):
    monkeypatch.setattr("harness.links.descriptor.WRITE_TIMEOUT_S", 0.05)
    monkeypatch.setattr("harness.links.child.END_GRACE_S", 0.02)
    link = tool("hang")
    assert take(link, 5) == b"deaf\n"
    with pytest.raises(LinkError, match=r"takes no input; \d+ bytes waited 0\.05 s"):
        link.write(b"y" * 200_000)
    link.close()


def test_close_ends_a_child_that_will_not_end(tool, monkeypatch):
    monkeypatch.setattr("harness.links.child.END_GRACE_S", 0.02)
    link = tool("hang")
    assert take(link, 5) == b"deaf\n"
    pid = link._child.pid
    link.close()
    assert not is_running(pid)


def test_close_ends_what_the_child_started(tool):
    link = tool("child")
    pid = int(link.read(5.0))
    assert is_running(pid)
    link.close()
    link.close()
    # An orphan's end is not ours to wait for: the kernel may take a moment over the signal.
    assert any(not is_running(pid) or time.sleep(0.005) for _ in range(200))


def test_close_leaves_nothing_behind(tool):
    before, cores = descriptors(), os.sched_getaffinity(0)
    link = tool("echo")
    folder, pid = Path(link._folder.name), link._child.pid
    link.write(b"a")
    assert take(link, 1) == b"a"
    link.close()
    assert descriptors() == before
    assert os.sched_getaffinity(0) == cores
    assert not folder.exists()
    assert not is_running(pid)
    for use in (lambda: link.write(b"a"), lambda: link.read(0.0)):
        with pytest.raises(LinkError, match="the link is closed"):
            use()


def test_a_link_that_does_not_open_leaves_nothing_behind():
    before = descriptors()
    for kind in KINDS:
        with pytest.raises(LinkError):
            open_link(f"{kind}:./no-such-program")
    assert descriptors() == before


@pytest.mark.parametrize("kind", KINDS)
def test_restart_starts_afresh_and_keeps_the_memory(kind):
    before = descriptors()
    link = open_link(f"{kind}:{sys.executable} -S {DEVICES / 'odd_device.py'} good")
    pids = set()
    for times in (1, 2, 3):
        assert lines(link, 1) == [Say(f"power-up {times}")]
        pids.add(link._child.pid)
        link.restart()
    assert len(pids) == 3
    link.close()
    assert descriptors() == before
    assert not any(map(is_running, pids))


def test_each_link_has_a_memory_of_its_own():
    links = [open_link(f"run:{sys.executable} -S {DEVICES / 'odd_device.py'} good") for _ in range(2)]
    assert [lines(link, 1) for link in links] == [[Say("power-up 1")]] * 2
    for link in links:
        link.close()


def test_a_child_on_pipes_shares_the_core_and_one_on_a_terminal_does_not(tool):
    cores = os.sched_getaffinity(0)
    link = tool("echo")
    shared = os.sched_getaffinity(link._child.pid) == os.sched_getaffinity(0)
    assert len(os.sched_getaffinity(0)) == (1 if link.text.startswith("run:") else len(cores))
    assert shared
    link.close()
    assert os.sched_getaffinity(0) == cores


def test_two_links_at_once_give_the_cores_back():
    cores = os.sched_getaffinity(0)
    first, second = (open_link("run:cat") for _ in range(2))
    first.close()
    second.close()
    assert os.sched_getaffinity(0) == cores


def test_a_signal_without_a_name_has_its_number():
    with (
        closing(open_link("run:sh -c 'kill -40 $$'")) as link,
        pytest.raises(LinkError, match=r"was ended by (signal 40|SIG)"),
    ):
        link.read(5.0)


def test_another_reason_not_to_start_is_told(monkeypatch):
    def refuse(*_, **__):
        raise OSError(errno.E2BIG, "Argument list too long")

    monkeypatch.setattr("subprocess.Popen", refuse)
    with pytest.raises(LinkError, match="'cat' did not start: Argument list too long"):
        open_link("run:cat")


def test_a_system_that_cannot_place_or_look_ahead_does_as_well(monkeypatch):
    """As on macOS: no waitid, no affinity."""
    monkeypatch.delattr(os, "waitid")
    monkeypatch.delattr(os, "sched_setaffinity")
    link = open_link("run:sh -c 'read line; exit 3'")
    pid = link._child.pid
    link.write(b"go\n")
    with pytest.raises(LinkError, match="ended with exit code 3"):
        link.read(5.0)
    link.close()
    assert not is_running(pid)


def test_a_child_that_never_stops_complaining_does_not_hold_the_reader():
    into, out = os.pipe()
    aside, complaint = os.pipe()
    os.write(complaint, b"!")
    looks = []

    def look() -> bool:
        looks.append(True)
        assert len(looks) < 1000
        return True  # there is always more to read

    ends = Descriptors("x", out, into, pytest.fail)
    ends.watch_aside(aside, look)
    assert ends.read(0.0) == b""
    os.write(out, b"answer")
    assert ends.read(0.0) == b"answer"
    for descriptor in (into, out, aside, complaint):
        os.close(descriptor)


def test_a_library_that_lets_sigpipe_kill_does_not_kill_the_bench():
    """Some set it to its default when they are imported; a device that has ended is an error all the same."""
    code = (
        "import signal, time; signal.signal(signal.SIGPIPE, signal.SIG_DFL)\n"
        "from harness.errors import LinkError\n"
        "from harness.links import open_link\n"
        "link = open_link('run:false')\n"
        "time.sleep(0.2)\n"
        "try: link.write(b'x' * 10)\n"
        "except LinkError as error: print(error)\n"
    )
    words, root = [sys.executable, "-c", code], Path(__file__).parents[2]
    done = subprocess.run(words, cwd=root, capture_output=True, text=True, check=False)
    assert done.returncode == 0
    assert "ended with exit code 1" in done.stdout
