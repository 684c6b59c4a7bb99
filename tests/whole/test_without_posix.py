"""What a person on Windows would use, with the parts of Python taken away that only POSIX has.

No Windows machine plays these tests. pyserial, which has a part of its own for each system, stays as it is;
the board is a socket, which takes the way that a COM port takes there: by pyserial's own read and write.
"""

from __future__ import annotations

import socket
import subprocess
import sys
import threading
from contextlib import closing

import pytest

from harness.links import open_link
from tests.whole.rehearsal import BUSY, ROOT

STRIPPED = """
import os, select, signal, sys
import serial.tools.list_ports, multiprocessing.connection, subprocess, tempfile, threading
for name in ("termios", "tty", "pty", "resource", "pwd", "grp"):
    sys.modules[name] = None
GONE = {
    os: ("fork", "forkpty", "openpty", "killpg", "waitid", "getuid", "mkfifo", "setpriority", "set_blocking",
         "ttyname", "sched_setaffinity", "sched_getaffinity", "sched_setscheduler", "sched_getscheduler",
         "sched_getparam", "sched_param", "SCHED_FIFO", "SCHED_RESET_ON_FORK"),
    select: ("poll", "epoll"),
    signal: ("pthread_sigmask", "SIGKILL", "SIGHUP", "SIGALRM", "SIGUSR1"),
}
for module, names in GONE.items():
    for name in names:
        if hasattr(module, name):
            delattr(module, name)
from harness.cli import main
sys.exit(main())
"""


def unlit(folder, *words: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-c", STRIPPED, *words]
    environment = {"PYTHONPATH": str(ROOT), "PATH": "", "COLUMNS": "100"}
    return subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)


@pytest.fixture
def board(reference):
    """The reference controller behind a socket, one connection after the other."""
    server = socket.create_server(("127.0.0.1", 0))
    firmware = reference().links["lib"]

    def serve() -> None:
        while True:
            try:
                line, _ = server.accept()
            except OSError:
                return
            with line, closing(open_link(firmware)) as device:
                for words in line.makefile("rb"):
                    device.write(words)
                    line.sendall(device.read(1.0))

    thread = threading.Thread(target=serve)
    thread.start()
    yield f"socket://127.0.0.1:{server.getsockname()[1]}"
    server.shutdown(socket.SHUT_RDWR)
    server.close()
    thread.join()


def test_commands_that_need_no_board(tmp_path):
    (tmp_path / "busy.toml").write_text(BUSY)
    for words in (["--help"], ["check", "busy.toml"], ["plants"], ["new", "mine", "--language", "arduino"]):
        done = unlit(tmp_path, *words)
        assert (done.returncode, done.stderr) == (0, ""), words


def test_a_board_is_asked_and_played(board, tmp_path):
    (tmp_path / "busy.toml").write_text(BUSY)
    hello = unlit(tmp_path, "hello", board)
    assert (hello.returncode, hello.stderr) == (0, ""), hello.stderr
    assert "gas_valve" in hello.stdout
    run = unlit(tmp_path, "run", "busy.toml", "--device", board)
    assert run.returncode == 0, run.stdout + run.stderr
    assert unlit(tmp_path, "show", "1").returncode == 0


def test_a_port_that_is_not_there_is_told(tmp_path):
    done = unlit(tmp_path, "hello", "COM3")
    assert done.returncode == 3
    assert "COM3: there is no such port." in done.stderr
