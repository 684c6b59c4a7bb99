"""Value change dump (IEEE 1364-2005, clause 18): the logic signals, for a waveform viewer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

from harness.errors import WrongUseError
from harness.logbook import RunRecord
from harness.report.plain import plain

#: A signal's prefix is its scope; what the plant does has none.
PLANT = "plant"
FIRST, CODES = 33, 94  # identifier codes are made of the printable characters "!" to "~"

LETTERS: Mapping[float, str] = {0.0: "0", 1.0: "1"}


def logic_signals(record: RunRecord, names: Sequence[str]) -> list[str]:
    """Those of `names` that are on or off."""
    return [name for name in names if record.units[name] == "bool"]


def write_vcd(record: RunRecord, names: Sequence[str], path: Path) -> None:
    """Write the logic signals among `names`; a moment without a value is x. WrongUseError if none; OSError.

    Where several rows carry one time the last is written: it is what holds from then on.
    """
    logic = logic_signals(record, names)
    if not logic:
        raise WrongUseError("a VCD file holds signals that are on or off, and there are none.")
    codes = [_code(at) for at in range(len(logic))]
    with path.open("w", encoding="ascii", errors="backslashreplace", newline="\n") as file:
        file.writelines(_head(record, logic, codes))
        file.writelines(_changes(record, logic, codes))


def _code(at: int) -> str:
    code = ""
    while True:
        code += chr(FIRST + at % CODES)
        at = at // CODES - 1
        if at < 0:
            return code


def _head(record: RunRecord, logic: Sequence[str], codes: Sequence[str]) -> Iterator[str]:
    summary = record.summary
    yield f"$date {summary.started_at} $end\n"
    yield f"$version unlit {_word(summary.meta.unlit_version)} $end\n"
    yield f"$comment run {summary.run_id}, {summary.shown_status}: {_word(summary.meta.title)} $end\n"
    yield "$timescale 1 ms $end\n"
    scopes: dict[str, list[str]] = {}
    for name, code in zip(logic, codes, strict=True):
        scope, _, bare = name.rpartition(".")
        scopes.setdefault(scope or PLANT, []).append(f"$var wire 1 {code} {bare} $end\n")
    for scope, variables in scopes.items():
        yield f"$scope module {scope} $end\n"
        yield from variables
        yield "$upscope $end\n"
    yield "$enddefinitions $end\n"


def _word(text: str) -> str:
    """Text without the character that begins a keyword."""
    return plain(text).replace("$", "_")


def _changes(record: RunRecord, logic: Sequence[str], codes: Sequence[str]) -> Iterator[str]:
    last: list[str] = []
    t_ms = 0
    for t_ms, row in _instants(record, logic):
        letters = [LETTERS.get(value, "x") for value in row]
        changed = [
            f"{letter}{code}\n" for at, (letter, code) in enumerate(zip(letters, codes, strict=True))
            if not last or letter != last[at]
        ]  # fmt: skip
        if not last:
            yield f"#{t_ms}\n$dumpvars\n{''.join(changed)}$end\n"
        elif changed:
            yield f"#{t_ms}\n{''.join(changed)}"
        last = letters
    yield f"#{max(t_ms, record.summary.end.length_ms)}\n"


def _instants(record: RunRecord, logic: Sequence[str]) -> Iterator[tuple[int, list[float]]]:
    """Each time once, with the last row that carries it."""
    waiting: tuple[int, list[float]] | None = None
    for times, values in record.chunks(logic):
        for t_ms, row in zip(times.tolist(), values.tolist(), strict=True):
            if waiting is not None and waiting[0] != t_ms:
                yield waiting
            waiting = t_ms, row
    if waiting is not None:
        yield waiting
