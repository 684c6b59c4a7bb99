"""The emulator's own control line: one JSON object a line (QEMU documentation, QEMU Machine Protocol)."""

from __future__ import annotations

import json
import socket
from contextlib import suppress

ANSWER_S = 5.0
ANSWER_BYTES = 65536


class MonitorError(Exception):
    """The emulator's monitor did not answer as it should."""


class Monitor:
    """One end of a socket pair with a QEMU monitor at the other. Commands take no arguments here."""

    def __init__(self, line: socket.socket) -> None:
        self._line = line
        self._heard = b""
        self._asked = 0
        self.tell("qmp_capabilities")

    def tell(self, *commands: str) -> None:
        """Send commands and wait for nothing; an emulator that is gone is noticed elsewhere."""
        self._line.setblocking(False)
        with suppress(OSError):
            while self._line.recv(ANSWER_BYTES):
                pass
        with suppress(OSError):
            self._line.sendall(b"".join(self._form(command) for command in commands))

    def ask(self, command: str) -> None:
        """Send one command and wait until it is done. Raises MonitorError."""
        self._line.settimeout(ANSWER_S)
        self._heard = b""
        sent = self._form(command)
        try:
            self._line.sendall(sent)
            while not self._is_answered():
                more = self._line.recv(ANSWER_BYTES)
                if not more:
                    raise MonitorError(f"{command}: the emulator has ended")
                self._heard += more
        except OSError as error:
            raise MonitorError(f"{command}: {error}") from error

    def _form(self, command: str) -> bytes:
        self._asked += 1
        return json.dumps({"execute": command, "id": self._asked}).encode() + b"\n"

    def _is_answered(self) -> bool:
        """Look at the whole lines heard; events and older answers are passed over."""
        *lines, self._heard = self._heard.split(b"\n")
        for line in lines:
            try:
                answer = json.loads(line)
            except ValueError:
                continue  # The end of a line whose beginning `tell` threw away.
            if isinstance(answer, dict) and answer.get("id") == self._asked:
                if "return" not in answer:
                    raise MonitorError(f"refused: {answer.get('error')}")
                return True
        return False

    def close(self) -> None:
        """Let the line go."""
        self._line.close()
