"""Makes the pictures of README.md anew: two shipped scenarios played, the terminal and the page as they are.

Run: python -m tests.pictures

`.pictures/terminal.svg` is what a terminal of 80 columns shows, by rich's own export; the PNGs are of
the page in Chromium.
"""

from __future__ import annotations

import fcntl
import io
import os
import pty
import struct
import subprocess
import sys
import tempfile
import termios
from pathlib import Path

from rich.console import Console
from rich.terminal_theme import TerminalTheme
from rich.text import Text

from tests.whole.browser import Browser

ROOT = Path(__file__).resolve().parents[1]
HOME = ROOT / ".pictures"
SCENARIOS = ("scenarios/burner/flame-lost.toml", "scenarios/kettle/runs-low.toml")
UNLIT = "import sys; from harness.cli import main; sys.exit(main())"
COLUMNS, ROWS = 80, 50
WIDE = 1080
LARGEST = 200_000
WHOLE = "section[aria-labelledby=whole]"

DARK = TerminalTheme(
    (24, 28, 32),
    (222, 226, 230),
    [(24, 28, 32), (240, 110, 100), (120, 200, 130), (226, 190, 90), (110, 165, 235), (200, 140, 220),
     (100, 195, 205), (222, 226, 230)],
)  # fmt: skip

#: A bare sheet; fonts that the reader has.
SHEET = """\
<svg viewBox="-9 -22 {width} {height}" xmlns="http://www.w3.org/2000/svg">
<style>
.{unique_id}-matrix {{
  font-family: ui-monospace, "DejaVu Sans Mono", Menlo, Consolas, monospace;
  font-size: {char_height}px; line-height: {line_height}px;
}}
{styles}
</style>
<defs>
<clipPath id="{unique_id}-clip-terminal">
<rect width="{terminal_width}" height="{terminal_height}"/>
</clipPath>
{lines}
</defs>
<rect x="-9" y="-22" width="{width}" height="{height}" fill="#181c20"/>
<g clip-path="url(#{unique_id}-clip-terminal)">
{backgrounds}
<g class="{unique_id}-matrix">
{matrix}
</g>
</g>
</svg>
"""


def on_a_terminal(words: list[str]) -> str:
    """What `unlit` with these words shows on a terminal with colours; the prompt line in front."""
    ours, theirs = pty.openpty()
    fcntl.ioctl(theirs, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
    kept = {name: value for name, value in os.environ.items() if name not in ("COLUMNS", "NO_COLOR")}
    child = subprocess.Popen(
        [sys.executable, "-c", UNLIT, *words],
        cwd=ROOT,
        env={**kept, "TERM": "xterm-256color"},
        stdin=subprocess.DEVNULL,
        stdout=theirs,
        stderr=subprocess.DEVNULL,
    )
    os.close(theirs)
    shown = b""
    try:
        while more := os.read(ours, 65536):
            shown += more
    except OSError:  # Linux says so that nobody writes any more.
        pass
    os.close(ours)
    child.wait()
    return shown.decode().replace("\r\n", "\n")


def terminal(text: str, target: Path) -> None:
    """Draw a terminal's text with its colours."""
    sheet = Console(
        record=True, width=COLUMNS, file=io.StringIO(), force_terminal=True, color_system="truecolor"
    )
    shown = Text.from_ansi(text)
    sheet.print(shown[: shown.plain.index("\nkept as")], end="")  # what follows names a folder of this run
    drawn = sheet.export_svg(theme=DARK, code_format=SHEET, unique_id="unlit")
    target.write_text("\n".join(line.rstrip() for line in drawn.splitlines() if line.strip()) + "\n")


def page(file: Path) -> None:
    """The verdicts and the first moment; a moment with its limit; the whole run's first strips."""
    with Browser() as browser:
        browser.screen(WIDE)
        browser.open(file)
        browser.part(HOME / "page.png", "body", "#a1")
        browser.part(HOME / "page-moment.png", "#a5", "#a5")
        browser.part(HOME / "page-run.png", WHOLE, f"{WHOLE} .strip:nth-of-type(6)", margin=2)
        assert browser.troubles() == []


def main() -> None:
    """Write all pictures and say how large they are."""
    HOME.mkdir(exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        book, file = ("--logbook", f"{folder}/logbook.sqlite"), Path(folder) / "run.html"
        said = ["$ unlit run " + name + "\n" + on_a_terminal(["run", name, *book]) for name in SCENARIOS]
        terminal(said[1], HOME / "terminal.svg")
        on_a_terminal(["page", "1", "--out", str(file), *book])
        page(file)
    for picture in sorted(HOME.iterdir()):
        size = picture.stat().st_size
        print(f"{picture.relative_to(ROOT)}: {size / 1000:.0f} kB")
        assert size < LARGEST, "too large for a picture that everyone downloads"


if __name__ == "__main__":
    main()
