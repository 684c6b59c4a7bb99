"""Any damage to a good file gives a scenario or its mistakes, never anything else."""

import re
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from harness.errors import FileMistakesError
from harness.scenario import Scenario, load_scenario, parse_scenario

TEXT = (Path(__file__).parent / "good" / "whole.toml").read_text()
LINES = TEXT.splitlines()
VALUES = sorted({match[1] for match in re.finditer(r"= (.+)", TEXT)})
ODD = [
    "nan",
    "-inf",
    "[]",
    "{}",
    "[[1]]",
    '""',
    "true",
    "0",
    "-1",
    "1e400",
    "0xff",
    "1979-05-27",
    '"\\u0007"',
]


def survives(text, plants):
    """Load `text`; whatever is said must name the file, or go on below that to point at a character."""
    lines = []
    try:
        scenario = parse_scenario(text, "x.toml", plants)
    except FileMistakesError as error:
        lines = str(error).split("\n")
    else:
        assert isinstance(scenario, Scenario)
    for line in lines:
        assert re.match(r"x\.toml(:\d+)?: .|    ", line)
        assert line.isprintable()
        assert len(line) < 600


@given(st.data())
def test_flipped_bytes(plants, tmp_path_factory, data):
    raw = bytearray(TEXT.encode())
    for _ in range(data.draw(st.integers(1, 4))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    file = tmp_path_factory.getbasetemp() / "flipped.toml"
    file.write_bytes(raw)
    told = ()
    try:
        load_scenario(file, plants)
    except FileMistakesError as error:
        told = error.mistakes
    assert all(one.file == str(file) and one.what for one in told)


@given(st.data())
def test_dropped_doubled_and_swapped_lines(plants, data):
    lines = list(LINES)
    for _ in range(data.draw(st.integers(1, 4))):
        here, there = (data.draw(st.integers(0, len(lines) - 1)) for _ in range(2))
        match data.draw(st.sampled_from(["drop", "double", "swap"])):
            case "drop":
                del lines[here]
            case "double":
                lines.insert(there, lines[here])
            case "swap":
                lines[here], lines[there] = lines[there], lines[here]
    survives("\n".join(lines), plants)


@settings(max_examples=200)
@given(st.data())
def test_other_values(plants, data):
    lines = list(LINES)
    for _ in range(data.draw(st.integers(1, 3))):
        here = data.draw(st.sampled_from([i for i, line in enumerate(lines) if " = " in line]))
        key = lines[here].split(" = ")[0]
        lines[here] = f"{key} = {data.draw(st.sampled_from(VALUES + ODD))}"
    survives("\n".join(lines), plants)


@given(st.text(max_size=80))
def test_any_text(plants, text):
    survives(text, plants)
