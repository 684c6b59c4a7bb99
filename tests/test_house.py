"""The rules of the house, checked on the sources themselves: see DEVELOPERS.md."""

from __future__ import annotations

import ast
import re
import sys
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from harness.cli.commands import names
from harness.shipped import shipped

ROOT = Path(__file__).resolve().parents[1]
PACKAGES = ("harness", "plants")
FOLDERS = (*PACKAGES, "scenarios", "firmware_stubs", "tests")
FILES = {"README.md", "DEVELOPERS.md", "LICENSE", "pyproject.toml"}
BUILT = {"build", "dist", "__pycache__"}
MOST_LINES = 400

#: What every room may use, and what each may use besides.
GROUND = {"harness", "errors", "shipped", "quantity", "version"}
MAY_USE = {
    "line": set(),
    "links": {"line"},
    "assertions": set(),
    "logbook": {"assertions"},
    "scenario": {"assertions", "plants"},
    "bench": {"line", "links", "scenario", "assertions", "logbook", "plants"},
    "calibration": {"bench", "line", "links", "scenario", "assertions", "logbook", "plants"},
    "report": {"calibration", "bench", "line", "scenario", "assertions", "logbook", "plants"},
    "export": {"report", "logbook", "assertions"},
    "pytest_plugin": {"report", "bench", "line", "links", "scenario", "assertions", "logbook", "plants"},
    "cli": {
        "export",
        "report",
        "calibration",
        "bench",
        "line",
        "links",
        "scenario",
        "assertions",
        "logbook",
        "plants",
    },
    "plants": set(),
}


def sources(*folders: str, suffixes: tuple[str, ...] = (".py",)) -> list[Path]:
    """All source files of the named folders, without what was built there."""
    found = (path for folder in folders for path in (ROOT / folder).rglob("*") if path.suffix in suffixes)
    return sorted(path for path in found if not BUILT & set(path.relative_to(ROOT).parts))


def short(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


MODULES = sources(*PACKAGES)
EVERYTHING = sources(*FOLDERS, suffixes=(".py", ".c", ".h", ".md", ".toml", ".txt", ".ino", ".json"))
TESTS = sources("tests")


def room(module: str) -> str:
    """`harness.line.codec` is of `line`, `harness.errors` of `errors`, `plants.parts` of `plants`."""
    parts = module.split(".")
    return parts[0] if parts[0] != "harness" or len(parts) == 1 else parts[1]


def imports(path: Path) -> Iterator[str]:
    """The full names of all modules that a file imports, wherever in it."""
    package = path.relative_to(ROOT).with_suffix("").parts[:-1]
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = ".".join(package[: len(package) - node.level + 1]) if node.level else ""
            module = ".".join(part for part in (base, node.module or "") if part)
            whole = module in ("harness", *PACKAGES)
            yield from (f"{module}.{alias.name}" for alias in node.names) if whole else [module]


def test_there_is_something_to_check() -> None:
    assert len(MODULES) > 40
    assert {room(short(path)[:-3].replace("/", ".")) for path in MODULES} >= set(MAY_USE)


@pytest.mark.parametrize("path", MODULES, ids=short)
def test_arrows_go_one_way(path: Path) -> None:
    here = room(".".join(path.relative_to(ROOT).with_suffix("").parts))
    if here in GROUND - {"harness"} or here == "__init__":
        allowed = GROUND
    elif here == "plants":
        allowed = {"plants"}
    else:
        allowed = GROUND | MAY_USE[here] | {here}
    used = {room(module) for module in imports(path) if module.split(".")[0] in PACKAGES}
    assert not used - allowed, f"{short(path)} may not use {', '.join(sorted(used - allowed))}"


@pytest.mark.parametrize("path", sources("harness/line"), ids=short)
def test_the_line_protocol_needs_the_standard_library_alone(path: Path) -> None:
    foreign = {
        module.split(".")[0] for module in imports(path) if not module.startswith("harness.line")
    } - sys.stdlib_module_names
    assert not foreign


@pytest.mark.parametrize("path", [p for p in EVERYTHING if p.suffix in (".py", ".c", ".h")], ids=short)
def test_files_are_small(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) < MOST_LINES


@pytest.mark.parametrize("path", MODULES, ids=short)
def test_what_is_public_says_what_it_is(path: Path) -> None:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    bare = [] if ast.get_docstring(tree) else ["the module"]
    for node in tree.body:
        public = isinstance(node, (ast.FunctionDef, ast.ClassDef)) and not node.name.startswith("_")
        public = public and "overload" not in [ast.unparse(one) for one in node.decorator_list]  # type: ignore[attr-defined]
        if public and not ast.get_docstring(node) and not _is_record(node):  # type: ignore[arg-type]
            bare.append(node.name)  # type: ignore[attr-defined]
    assert not bare, f"without a docstring: {', '.join(bare)}"


def _is_record(node: ast.AST) -> bool:
    """A dataclass of a few fields may speak for itself; its module says what such records are."""
    return isinstance(node, ast.ClassDef) and bool(node.decorator_list)


SHIRKING = re.compile(r"\b(mark\.(skip|skipif|xfail)|pytest\.(skip|xfail|importorskip)|unittest\.skip)\b")


# CI installs what it needs, and fails on a skip; a person need not have it.
MAY_SKIP = {"test_house.py", "test_micropython.py"}


@pytest.mark.parametrize("path", [p for p in TESTS if p.name not in MAY_SKIP], ids=short)
def test_no_test_can_be_left_out(path: Path) -> None:
    assert not SHIRKING.search(path.read_text(encoding="utf-8"))


def test_test_files_have_names_of_their_own() -> None:
    names = Counter(path.name for path in TESTS if path.name.startswith("test_"))
    assert [name for name, times in names.items() if times > 1] == []


UNFINISHED = re.compile(r"\b(TO" + r"DO|FIX" + r"ME|XX" + r"X)\b")
MACHINE_PATH = re.compile(r"(?<![\w.])/(work|root|home/\w+|Users/\w+|t" + r"mp)/")


@pytest.mark.parametrize("path", EVERYTHING, ids=short)
def test_nothing_is_left_unfinished_or_tied_to_a_machine(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not UNFINISHED.search(text)
    assert not MACHINE_PATH.search(text)


def test_the_top_level_is_the_design_s() -> None:
    found = {path for path in ROOT.iterdir() if not path.name.startswith(".") and path.name not in BUILT}
    found = {path for path in found if not path.name.endswith(".egg-info")}
    assert {path.name for path in found if path.is_dir()} == set(FOLDERS)
    assert {path.name for path in found if path.is_file()} == FILES


def test_the_guide_names_every_room() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rooms = {path.parent for path in MODULES}
    missing = sorted(short(path) for path in rooms if f"{path.name}/" not in guide)
    assert missing == []


@pytest.mark.parametrize("name", ["first command", "test command"])
def test_the_readme_holds_the_commands_that_ci_plays(name: str) -> None:
    block = re.search(rf"^<!-- {name} -->\n```sh\n(.+)\n```$", (ROOT / "README.md").read_text("utf-8"), re.M)
    assert block
    assert f'readme "{name}"' in (ROOT / ".ci" / "run").read_text("utf-8")


@pytest.mark.parametrize("name", ["scenarios", "firmware_stubs"])
def test_the_folders_that_travel_are_found_and_packed(name: str) -> None:
    assert shipped(name) == ROOT / name
    assert any(shipped(name).iterdir())
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wheel = project["tool"]["hatch"]["build"]["targets"]["wheel"]
    assert f"/{name}" in wheel["include"]
    assert wheel["sources"][name] == f"harness/_shipped/{name}"


@pytest.mark.parametrize("name", ["README.md", "DEVELOPERS.md"])
def test_what_a_document_links_to_is_there(name: str) -> None:
    linked = re.findall(r"\]\(([^)#:]+)[^)]*\)", (ROOT / name).read_text(encoding="utf-8"))
    assert [path for path in linked if not (ROOT / path).exists()] == []


@pytest.mark.parametrize("command", names())
def test_the_readme_tells_of_every_command(command: str) -> None:
    assert re.search(rf"`unlit {command}\b", (ROOT / "README.md").read_text(encoding="utf-8"))
