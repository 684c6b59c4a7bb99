"""A real Chromium, asked over its DevTools protocol through two pipes: no port, no driver, no library.

The protocol is JSON with a zero byte behind each message; the browser reads on descriptor 3 and writes on 4.
"""

from __future__ import annotations

import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import tempfile
import time
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any

#: How long an answer may take, on a machine that does other things too. [s]
PATIENCE_S = 60.0
OPTIONS = (
    "--headless=new",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-extensions",
    "--hide-scrollbars",
    "--mute-audio",
    "--no-first-run",
    "--remote-debugging-pipe",
)
NAMES = ("chromium", "chromium-browser", "google-chrome")


class Browser:
    """One browser with one tab. `heard` are the protocol's events so far, as (method, parameters)."""

    def __init__(self) -> None:
        program = next((found for name in NAMES if (found := shutil.which(name))), None)
        assert program, "the page's tests need Chromium; on Debian: apt install chromium"
        self._profile = tempfile.TemporaryDirectory(ignore_cleanup_errors=True)
        into, self._write = os.pipe()
        self._read, out = os.pipe()
        ends = [fcntl.fcntl(end, fcntl.F_DUPFD, 10) for end in (into, out)]

        def place() -> None:
            os.dup2(ends[0], 3)
            os.dup2(ends[1], 4)

        command = [program, *OPTIONS, f"--user-data-dir={self._profile.name}", "about:blank"]
        quiet = subprocess.DEVNULL
        self._child = subprocess.Popen(
            command, stdin=quiet, stdout=quiet, stderr=quiet, preexec_fn=place, pass_fds=(3, 4, *ends)
        )
        for end in (into, out, *ends):
            os.close(end)
        self._bytes = b""
        self._number = 0
        self._session = ""
        self.heard: list[tuple[str, dict[str, Any]]] = []
        target = self.ask("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.ask(f"{domain}.enable")

    def ask(self, method: str, **parameters: Any) -> Any:
        """What a method of the protocol gives back; AssertionError if it is refused or does not come."""
        self._number += 1
        message = {"id": self._number, "method": method, "params": parameters}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next(f"an answer to {method}")
            if answer.get("id") == self._number:
                assert "error" not in answer, f"{method}: {answer['error']}"
                return answer["result"]

    def open(self, path: Path) -> None:
        """Open a file and wait until the page has drawn all it draws, or says that it cannot."""
        self.heard.clear()
        gone = self.ask("Page.navigate", url=path.resolve().as_uri())
        assert "errorText" not in gone, f"{path}: {gone['errorText']}"
        self.until("document.documentElement?.dataset.drawn")

    def value(self, script: str) -> Any:
        """What an expression is in the page, as JSON can carry it; a promise is waited for."""
        found = self.ask("Runtime.evaluate", expression=script, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in found, f"{script}: {found['exceptionDetails']}"
        return found["result"].get("value")

    def until(self, script: str) -> Any:
        """Wait until an expression is true."""
        give_up = time.monotonic() + PATIENCE_S
        while not (found := self.value(script)):
            assert time.monotonic() < give_up, f"never came true: {script}\n{self.troubles()}"
            time.sleep(0.02)
        return found

    def key(self, key: str, *, shift: bool = False) -> None:
        """Press and release a key."""
        text = {"text": key} if len(key) == 1 else {}
        for kind in ("keyDown", "keyUp"):
            self.ask("Input.dispatchKeyEvent", type=kind, key=key, modifiers=8 if shift else 0, **text)

    def mouse(self, kind: str, x: float, y: float, *, held: bool = False) -> None:
        """`mouseMoved`, `mousePressed` or `mouseReleased` at a place of the window."""
        button = "none" if kind == "mouseMoved" and not held else "left"
        clicks = int(kind != "mouseMoved")
        self.ask(
            "Input.dispatchMouseEvent",
            type=kind,
            x=x,
            y=y,
            button=button,
            buttons=int(held),
            clickCount=clicks,
        )

    def screen(self, width: int, height: int = 900, *, dark: bool = False, touch: bool = False) -> None:
        """The size of the window, and what the person prefers."""
        self.ask(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=touch,
        )
        scheme = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
        self.ask("Emulation.setEmulatedMedia", features=[scheme])
        self.ask("Emulation.setTouchEmulationEnabled", enabled=touch)

    def picture(self, path: Path, *, whole: bool = True) -> None:
        """A PNG of the window, or of the whole page."""
        shot = self.ask("Page.captureScreenshot", format="png", captureBeyondViewport=whole)
        path.write_bytes(base64.b64decode(shot["data"]))

    def part(self, path: Path, first: str, last: str, margin: int = 14) -> None:
        """A PNG of the page from the top of one element to the foot of another, both named as CSS does."""
        box = self.value(
            f"(() => {{ const first = document.querySelector({json.dumps(first)}).getBoundingClientRect(),"
            f" last = document.querySelector({json.dumps(last)}).getBoundingClientRect();"
            " return [first.top + scrollY, last.bottom + scrollY, document.documentElement.clientWidth]; })()"
        )
        top, foot, width = max(0, box[0] - margin), box[1] + margin, box[2]
        clip = {"x": 0, "y": top, "width": width, "height": foot - top, "scale": 1}
        shot = self.ask("Page.captureScreenshot", format="png", captureBeyondViewport=True, clip=clip)
        path.write_bytes(base64.b64decode(shot["data"]))

    def paper(self, path: Path) -> None:
        """The page as it is printed, as PDF."""
        sheet = self.ask("Page.printToPDF", printBackground=True, preferCSSPageSize=True)
        path.write_bytes(base64.b64decode(sheet["data"]))

    def troubles(self) -> list[str]:
        """Everything that went wrong or asked for something from outside since the page was opened."""
        found = []
        for method, said in self.heard:
            if method == "Runtime.exceptionThrown":
                found.append(f"exception: {said['exceptionDetails']}")
            elif method == "Runtime.consoleAPICalled" and said["type"] in ("error", "warning", "assert"):
                found.append(f"console: {said['args']}")
            elif method == "Log.entryAdded" and said["entry"]["level"] in ("error", "warning"):
                found.append(f"log: {said['entry']['text']}")
            elif method == "Network.requestWillBeSent":
                url = said["request"]["url"]
                if not url.startswith(("file:", "data:", "blob:")):
                    found.append(f"request: {url}")
            elif method == "Page.javascriptDialogOpening":
                found.append(f"dialog: {said['message']}")
        return found

    def _next(self, awaited: str) -> Any:
        while b"\0" not in self._bytes:
            ready, _, _ = select.select([self._read], [], [], PATIENCE_S)
            assert ready, f"the browser was silent for {PATIENCE_S:.0f} s; awaited: {awaited}"
            more = os.read(self._read, 1 << 20)
            assert more, f"the browser has ended; awaited: {awaited}"
            self._bytes += more
        message, _, self._bytes = self._bytes.partition(b"\0")
        said = json.loads(message)
        if "method" in said:
            self.heard.append((said["method"], said.get("params", {})))
        return said

    def close(self) -> None:
        """End the browser and take its profile away."""
        self._session = ""
        with suppress(AssertionError, OSError):
            self.ask("Browser.close")
        try:
            self._child.wait(10)
        except subprocess.TimeoutExpired:
            self._child.kill()
            self._child.wait()
        os.close(self._read)
        os.close(self._write)
        self._profile.cleanup()

    def __enter__(self) -> Browser:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
