"""Serial ports: a pseudo-terminal in place of a wire, and pyserial's URLs."""

from __future__ import annotations

import errno
import os
import socket
import termios
import threading
import tty

import pytest
import serial

from harness.errors import LinkError
from harness.links import open_link
from harness.links.serial_port import _why_not_open, split_port


@pytest.fixture
def wire():
    """The other end of a port and the port's name."""
    master, slave = os.openpty()
    tty.setraw(slave)
    yield master, os.ttyname(slave)
    os.close(slave)
    os.close(master)


def take(link, count: int) -> bytes:
    data = b""
    while len(data) < count and (piece := link.read(1.0)):
        data += piece
    return data


def test_bytes_pass_both_ways(wire):
    master, port = wire
    link = open_link(port)
    data = bytes(range(256))
    link.write(data)
    assert os.read(master, 4096) == data
    os.write(master, data[::-1])
    assert take(link, 256) == data[::-1]
    assert link.read(0.01) == b""
    link.close()


@pytest.mark.parametrize(("option", "speed"), [("", termios.B115200), ("?baud=57600", termios.B57600)])
def test_the_speed_is_set(wire, option, speed):
    master, port = wire
    link = open_link(port + option)
    assert termios.tcgetattr(master)[4:6] == [speed, speed]
    link.close()


def test_a_port_in_use_is_told(wire):
    _, port = wire
    link = open_link(port)
    with pytest.raises(LinkError, match="another program uses the port"):
        open_link(port)
    link.close()
    open_link(port).close()


def test_a_port_that_vanishes_is_told():
    """A closed pseudo-terminal hangs up as an unplugged board does."""
    master, slave = os.openpty()
    link = open_link(os.ttyname(slave))
    os.close(slave)
    os.close(master)
    for use in (lambda: link.read(1.0), lambda: link.write(b"a")):
        with pytest.raises(LinkError, match=r"the port is gone \(.*\)\. Was the board unplugged"):
            use()
    link.close()


def test_a_port_without_dtr_says_so(wire):
    """A pseudo-terminal has no modem lines."""
    link = open_link(wire[1])
    with pytest.raises(LinkError, match="no DTR line to reset the board by"):
        link.restart()
    link.close()


def test_restart_toggles_dtr_and_rts(monkeypatch):
    """pyserial's loop joins DTR to DSR and RTS to CTS."""
    link = open_link("loop://")
    seen = []
    monkeypatch.setattr("time.sleep", lambda s: seen.append((s, link._port.dsr, link._port.cts)))
    link.write(b"old")
    link.restart()
    assert seen == [(0.1, False, False)]
    assert (link._port.dsr, link._port.cts) == (True, True)
    assert link.read(0.0) == b""
    link.close()


def test_a_url_without_a_descriptor_works_the_same():
    link = open_link("loop://?baud=9600")
    link.write(b"abc")
    assert take(link, 3) == b"abc"
    assert link.read(0.01) == b""
    link.close()
    link.close()
    for use in (lambda: link.write(b"a"), lambda: link.read(0.0), link.restart):
        with pytest.raises(LinkError, match="the link is closed"):
            use()


@pytest.mark.parametrize(
    ("error", "what"),
    [
        (serial.SerialTimeoutException("Write timeout"), r"takes no input; 1 bytes waited 5 s\. Is the port"),
        (serial.SerialException("not there"), r"the port is gone \(not there\)"),
    ],
)
def test_a_port_without_a_descriptor_that_fails_is_told(monkeypatch, error, what):
    link = open_link("loop://")

    def fail(data):
        raise error

    monkeypatch.setattr(link._port, "write", fail)
    with pytest.raises(LinkError, match=what):
        link.write(b"a")
    monkeypatch.setattr(link._port, "read", fail)
    if not isinstance(error, serial.SerialTimeoutException):
        with pytest.raises(LinkError, match=what):
            link.read(0.0)
    link.close()


def test_the_port_that_prints_its_traffic_is_not_bypassed(wire, capsys):
    master, port = wire
    link = open_link(f"spy://{port}?baud=9600")
    link.write(b"seen")
    assert os.read(master, 10) == b"seen"
    link.close()
    assert "seen" in capsys.readouterr().err


@pytest.fixture
def echo_server():
    """A socket on this machine that gives back what it gets until it gets a NUL."""
    server = socket.create_server(("127.0.0.1", 0))

    def serve():
        peer, _ = server.accept()
        with peer:
            while (data := peer.recv(4096)) and b"\x00" not in data:
                peer.sendall(data)

    thread = threading.Thread(target=serve)
    thread.start()
    yield f"socket://127.0.0.1:{server.getsockname()[1]}"
    thread.join()
    server.close()


def test_a_socket_url(echo_server):
    link = open_link(echo_server)
    link.write(b"over the net\n")
    assert take(link, 13) == b"over the net\n"
    with pytest.raises(LinkError, match="a socket has no DTR line"):
        link.restart()
    link.write(b"\x00")
    with pytest.raises(LinkError, match=r"the port is gone \(closed\)"):
        link.read(5.0)
    link.close()


def test_a_socket_nobody_listens_on_is_told():
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
    with pytest.raises(LinkError, match=f"socket://127.0.0.1:{port}: .*does not open"):
        open_link(f"socket://127.0.0.1:{port}")


@pytest.mark.parametrize(
    ("text", "port", "baud"),
    [
        ("/dev/ttyUSB0", "/dev/ttyUSB0", 115_200),
        ("COM3?baud=9600", "COM3", 9600),
        ("spy://COM3?file=log.txt&baud=57600", "spy://COM3?file=log.txt", 57_600),
        ("rfc2217://host:7000?logging=debug", "rfc2217://host:7000?logging=debug", 115_200),
    ],
)
def test_our_option_is_taken_out_and_others_stay(text, port, baud):
    assert split_port(text) == (port, baud)


@pytest.mark.parametrize(
    ("error", "what"),
    [
        (PermissionError(errno.EACCES, "Permission denied"), "no permission, or another program has it"),
        (serial.SerialException("could not open port: PermissionError(13, 'denied')"), "no permission"),
        (serial.SerialException("could not open port 'COM9': FileNotFoundError(2)"), "there is no such port"),
        (ValueError("Not a valid baudrate: 77"), "COM9 does not open: Not a valid baudrate: 77"),
    ],
)
def test_what_other_systems_say(error, what):
    assert _why_not_open(error, "COM9").startswith(what)
