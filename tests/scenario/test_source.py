"""Text, data and line numbers of a TOML file."""

import os
import tomllib
from pathlib import Path

import pytest
import spanned_toml

from harness.errors import FileMistakesError
from harness.scenario.source import LARGEST_BYTES, parse_toml, read_text
from harness.shipped import shipped

HERE = Path(__file__).parent
READABLE = [
    file
    for folder in (shipped("scenarios"), HERE / "good", HERE / "bad")
    for file in sorted(folder.rglob("*.toml"))
    if not file.name.startswith("syntax_")
]


@pytest.mark.parametrize("file", READABLE, ids=lambda file: file.stem)
def test_both_parsers_read_the_same(file):
    text = file.read_text()
    # As text, since a value may be NaN, which equals nothing.
    assert repr(spanned_toml.loads(text).unspan()) == repr(tomllib.loads(text))


def told(path):
    with pytest.raises(FileMistakesError) as caught:
        read_text(path)
    (mistake,) = caught.value.mistakes
    assert mistake.file == str(path)
    return mistake.line, mistake.what


@pytest.mark.parametrize(
    ("raw", "line", "what"),
    [
        (b"", 0, "is empty. Write a scenario into it; scenarios/README.md shows how."),
        (b" \r\n\n", 0, "is empty. Write a scenario into it; scenarios/README.md shows how."),
        (b"\x7fELF\0\0", 0, "holds zero bytes, so it is no text file in UTF-8. Save it as UTF-8 text."),
        (
            "title = 1".encode("utf-16"),
            0,
            "holds zero bytes, so it is no text file in UTF-8. Save it as UTF-8 text.",
        ),
        (b'a = 1\nb = "\xb0C"\n', 2, "byte 0xb0 is not UTF-8. Save the file as UTF-8 text."),
        (b"#" * (LARGEST_BYTES + 1), 0, "is larger than 1,000,000 bytes, so no scenario. Name another file."),
    ],
    ids=["empty", "blank", "binary", "UTF-16", "Latin-1", "large"],
)
def test_files_that_hold_no_scenario(raw, line, what, tmp_path):
    file = tmp_path / "x.toml"
    file.write_bytes(raw)
    assert told(file) == (line, what)


def test_paths_that_are_no_file(tmp_path):
    os.mkfifo(tmp_path / "pipe.toml")
    assert told(tmp_path / "none.toml") == (0, "does not exist. Check the name.")
    assert told(tmp_path) == (0, "is a folder. Name a file in it.")
    assert told(tmp_path / "pipe.toml") == (0, "is neither a file nor a folder. Name a file.")
    assert told(tmp_path / ("x" * 300))[1].startswith("cannot be read: ")
    assert told(Path("a\0b"))[1] == "does not exist. Check the name."


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a = " + "[" * 5000, "nests lists or tables too deeply"),
        ("a = " + "9" * 5000, "not TOML: Exceeds the limit"),
        ('a = "', "x.toml:1: not TOML: Unterminated string, at the end of the file"),
        ("a = 1\nb = [1\n", "x.toml:2: not TOML: Unclosed array, at the end of the file"),
    ],
    ids=["nested", "digits", "string", "list"],
)
def test_text_that_is_not_toml(text, said):
    with pytest.raises(FileMistakesError, match=said):
        parse_toml(text, "x.toml")


TEXT = '''top = 1
inline = { a = 1, b = { c = 2 } }
list = [
  1,
  2,
]
story = """
[[item]]
"""
[table] # a comment
"quoted key".dotted = 1
[[item]]
[[item]]
# between
x = 1
[item.inner]
y = 2
[[ item ]]
x = """
[[item]]"""
'''


@pytest.mark.parametrize(
    ("path", "key", "value"),
    [
        ((), 1, 1),
        (("inline", "b", "c"), 2, 2),
        (("list",), 3, 3),
        (("list", 1), 5, 5),
        (("story",), 7, 7),
        (("table",), 10, 10),
        (("table", "quoted key", "dotted"), 11, 11),
        (("table", "missing"), 10, 10),
        (("item", 0), 12, 12),
        (("item", 1), 13, 13),
        (("item", 1, "x"), 15, 15),
        (("item", 1, "inner"), 16, 16),
        (("item", 1, "inner", "y"), 17, 17),
        (("item", 2), 18, 18),
        (("item", 2, "missing", "deeper"), 18, 18),
    ],
)
def test_every_key_and_value_has_its_line(path, key, value):
    _, places = parse_toml(TEXT, "x.toml")
    assert (places.key(path), places.value(path)) == (key, value)
