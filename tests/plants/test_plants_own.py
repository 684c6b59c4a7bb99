"""A plant from a person's own file: one that works, and every way in which one does not."""

import pytest

from plants.own import OwnPlantError, load_plant

GOOD = '''
from __future__ import annotations

from dataclasses import dataclass

from plants import Parameter, Plant


@dataclass
class Size:
    litres: float


class Base(Plant):
    diagram = "( water )"
    parameters = (Parameter("volume", "L", 20.0, 1.0, 50.0, "assumed", "water"),)


class Urn(Base):
    name = "urn"
    about = "An urn."

    def build(self, net, setup):
        water = net.node("water", Size(setup["volume"]).litres * 4186.0, 80.0)
        net.conduct(water, net.room(20.0), 5.0)
        net.temperature("water", "water in the urn", water)
'''


def written(folder, text, name="my_urn.py"):
    """A file that holds `text`."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def said(path):
    """Why a file gives no plant."""
    with pytest.raises(OwnPlantError) as caught:
        load_plant(path)
    return str(caught.value).removeprefix(f"{path}: ")


def test_an_own_plant_is_a_plant_like_any_other(tmp_path):
    kind = load_plant(written(tmp_path, GOOD))
    assert (kind.__name__, kind.name) == ("Urn", "urn")
    urn = kind({"volume": 10.0})
    urn.advance(600_000)
    assert 75.0 < urn.sample()[0] < 80.0
    assert urn.balance().heat_error < 1e-12
    assert sorted(path.name for path in tmp_path.iterdir()) == ["my_urn.py"], "nothing is left beside it"


def test_a_changed_file_is_read_anew(tmp_path):
    path = written(tmp_path, GOOD)
    load_plant(path)
    written(tmp_path, GOOD.replace("An urn.", "A better urn."))
    assert load_plant(path).about == "A better urn."


WRONG = [
    ("class Urn(Base):", "class Urn(Base)", "cannot be run: line 19: expected ':'"),
    ("from plants", "from plant", "cannot be run: line 6: ModuleNotFoundError: No module named 'plant'"),
    ("class Urn", "raise SystemExit(3)\nclass Urn", "cannot be run: line 19: SystemExit: 3"),
    ("(Base)", "", "class Base has no name, about. Add name = ... to it"),
    ("(Plant)", "", "defines no plant. Write a class that derives from plants.Plant"),
    ("class Urn", "class Tea(Base): pass\n\nclass Urn",
     "defines several plants: Tea, Urn. Keep one a file"),
    ("water = net", "water = watr",
     "plant urn fails: line 24: NameError: name 'watr' is not defined"),
    ("net.conduct(water, ", "net.conduct(None, ",
     "plant urn fails: line 25: AttributeError: 'NoneType' object has no attribute 'level'"),
    ('setup["volume"]', 'setup["mass"]', "plant urn fails: line 24: KeyError: 'mass'"),
    ("def build", "def put_together", "plant urn fails: NotImplementedError: no message"),
    ("5.0)", "lambda: 1 / 0)", "plant urn fails: line 25: ZeroDivisionError: division by zero"),
    ('"water", "water in', '"hot water", "water in',
     'plant urn: signal "hot water": use small letters, digits and _, and each name once'),
    ("net.temperature(", 'net.signal("level", "gal", "", lambda _: "1.0")\n        net.temperature(',
     'plant urn: signal "level": unknown unit "gal". Use one of %, J, K, L, L/min, Pa, W, bool, count, '
     "degC, kPa, kW, kg, ms, permille, s"),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "message"), WRONG, ids=[new[:20] for _, new, _ in WRONG])
def test_a_wrong_file_is_told(tmp_path, old, new, message):
    assert old in GOOD
    assert said(written(tmp_path, GOOD.replace(old, new, 1))) == message


def test_files_that_are_none(tmp_path):
    assert said(tmp_path / "gone.py") == "there is no such file. Name a Python file that defines a plant"
    assert said(tmp_path) == "is a folder. Name a Python file that defines a plant"
    assert said(written(tmp_path, "")) == "defines no plant. Write a class that derives from plants.Plant"
    assert said(written(tmp_path, "a = '\0'")).startswith("cannot be run: ")
