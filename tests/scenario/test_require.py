"""Requirement sets: included with a scenario's numbers; every mistake at its line, in scenario and set."""

import pytest

from harness.errors import FileMistakesError
from harness.scenario import check_set, find_scenarios, find_sets, load_scenario
from harness.scenario.requirement_set import FOLDER, SUFFIX, shipped_sets
from harness.shipped import shipped
from plants import ready_plants

SETS = find_sets([shipped("scenarios")])
NAMES = [
    "dry-fire", "flame-safeguard", "high-limit", "line-loss", "probe-faults", "restart", "switching-wear",
]  # fmt: skip

HEAD = 'title = "T"\nplant = "kettle"\nlength = "10 min"\n\n'
OWN = """title = "Own"

[parameter.shut]
default = "4 s"
about = "to the gas shut"
basis = "common practice, no source"

[parameter.lit]
default = "flame"
about = "it burns"

[parameter.start]
example = "2 min"
about = "when it starts"

[parameter.tries]
default = 3
about = "trials"
basis = "common practice, no source"

[[assertion]]
part = "loss"
title = "shut within {shut}"
basis = "a clause"
after = "falls({lit})"
within = "{shut}"
expect = "not gas_valve"

[[assertion]]
part = "tries"
title = "at most {tries} tries"
basis = "another clause"
while = "after {start}"
count = "rises(gas_valve and not {lit})"
at_most = "{tries}"
"""
REQUIRE = HEAD + '[[require]]\nuse = "own.set.toml"\n'


@pytest.fixture
def scenario(tmp_path, plants):
    """Writes a scenario beside the set OWN, or `own`, and loads it."""

    def load(text, own=OWN):
        (tmp_path / "own.set.toml").write_text(own)
        file = tmp_path / "one.toml"
        file.write_text(text)
        return load_scenario(file, plants)

    return load


@pytest.fixture
def mistakes(scenario, tmp_path):
    """The messages for a scenario, with the folder left out."""

    def find(text, own=OWN):
        with pytest.raises(FileMistakesError) as caught:
            scenario(text, own)
        return str(caught.value).replace(f"{tmp_path}/", "").splitlines()

    return find


def test_a_set_becomes_assertions_with_the_scenario_s_numbers(scenario):
    values = 'start = "90 s"\nshut = "2500 ms"\nlit = "flame and liquor > 50 degC"\ntries = 1\n'
    loss, tries = scenario(REQUIRE + values).assertions
    assert (loss.title, loss.within_ms) == ("shut within 2500 ms", 2500)
    assert loss.after == "falls((flame and liquor > 50 degC))"
    assert loss.basis == "a clause; 2500 ms is the scenario's own, the set has 4 s"
    assert (tries.title, tries.while_, tries.at_most) == ("at most 1 tries", "after 90 s", "1")
    assert (loss.required_at, loss.lines["after"]) == (5, 25)


def test_what_is_left_out_has_its_default(scenario):
    loss, tries = scenario(REQUIRE + 'start = "2 min"\n').assertions
    assert (loss.title, loss.basis, loss.after) == ("shut within 4 s", "a clause", "falls(flame)")
    assert (tries.basis, tries.at_most) == ("another clause", "3")


def test_parts_and_own_assertions(scenario):
    own = '[[assertion]]\ntitle = "dark"\nnever = "flame"\n'
    found = scenario(REQUIRE + 'start = "2 min"\nparts = ["tries"]\n' + own).assertions
    assert [spec.title for spec in found] == ["at most 3 tries", "dark"]
    assert [spec.required_at for spec in found] == [5, 0]


@pytest.mark.parametrize(
    ("require", "message"),
    [
        ('[[require]]\nstart = "1 s"', 'one.toml:5: missing key "use". Write for example use = "flame-safe'),
        ('[[require]]\nuse = 5', "one.toml:6: use: 5 is not the name of a set."),
        ('[[require]]\nuse = "flame-safegard"',
         'one.toml:6: use: unknown requirement set "flame-safegard", did you mean "flame-safeguard"?'),
        ('[[require]]\nuse = "lost.set.toml"', "one.toml:6: use: lost.set.toml: does not exist."),
        ('[require]\nuse = "own.set.toml"', "one.toml:5: [require] is one table, a list of them is wanted."),
        ('[[require]]\nuse = "own.set.toml"',
         'one.toml:5: "own.set.toml" needs start, when it starts, such as start = "2 min".'),
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\nshutt = "5 s"',
         'one.toml:8: unknown parameter of "own.set.toml" "shutt", did you mean "shut"?'),
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\nshut = "5 K"',
         "one.toml:8: shut: '5 K' is a temperature difference; a time is wanted"),
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\nshut = 5',
         'one.toml:8: shut: 5 is not text. Write for example "4 s" (own.set.toml: to the gas shut).'),
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\ntries = "3 s"',
         'one.toml:8: tries: "3 s" is not a whole number. Write for example 3'),
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\nlit = "3 s"',
         'one.toml:8: lit: "3 s" is no condition or signal. Write for example "flame"'),
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\nparts = ["los"]',
         'one.toml:8: parts: unknown part "los", did you mean "loss"?'),
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\nparts = "loss"',
         'one.toml:8: parts: "loss" is no list of parts; there are: loss, tries.'),
        # a wrong value is told with the line of the scenario and of the set
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\nlit = "flame and"',
         "one.toml:5: use: own.set.toml:25: after: column 17: '))' does not fit here"),
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\nshut = "-5 s"',
         "one.toml:5: use: own.set.toml:26: within: '-5 s' is negative"),
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\nlit = "flam"',
         "one.toml:6: use: the set needs flam, which kettle does not have."),
        ('[[require]]\nuse = "dry-fire"',
         "one.toml:6: use: the set needs element_covered, element_current, sheath, which kettle does not"),
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\n[[require]]\nuse = "own.set.toml"\nstart = "2 s"',
         'one.toml:8: use: "shut within 4 s" stands in line 5 too. Leave it out by parts.'),
        ('[[require]]\nuse = "own.set.toml"\nstart = "1 s"\n[[assertion]]\ntitle = "shut within 4 s"\n'
         'never="flame"',
         'one.toml:9: title: "shut within 4 s" is the title of line 5 too. Give another.'),
    ],
)  # fmt: skip
def test_mistakes_of_the_scenario(require, message, mistakes):
    assert mistakes(HEAD + require + "\n")[0].startswith(message)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('title = "Own"', "", 'own.set.toml:1: missing key "title"'),
        ('about = "it burns"', "", 'own.set.toml:8: missing key "about"'),
        ('basis = "common practice, no source"\n\n[parameter.lit]', "\n[parameter.lit]",
         'own.set.toml:3: shut has a number without its "basis".'),
        ('example = "2 min"', 'example = "2 min"\ndefault = "2 min"', 'own.set.toml:12: start has a "def'),
        ('part = "loss"\n', "", 'own.set.toml:21: missing key "part"'),
        ('part = "loss"', 'part = "tries"', 'own.set.toml:30: part: "tries" stands twice.'),
        ("{shut}", "{shutt}", 'own.set.toml:23: title: unknown parameter "shutt", did you mean "shut"?'),
        ('at_most = "{tries}"', 'at_most = 3', None),
        ("rises(gas_valve and not {lit})", "rises(gas_valve and)", "own.set.toml:34: count: column 20: "),
        ("rises(gas_valve and not {lit})", "rises({start})", "own.set.toml:34: count: column 7: "),
        ("title = \"Own\"", "title = Own", "own.set.toml:1: not TOML"),
        ("[[assertion]]", "[[asertion]]", 'own.set.toml:21: unknown key "asertion", did you mean'),
        ("within", "withn", 'own.set.toml:26: unknown key "withn", did you mean "within"?'),
    ],
)  # fmt: skip
def test_mistakes_of_a_set(old, new, message, mistakes, scenario):
    text, own = REQUIRE + 'start = "1 s"\n', OWN.replace(old, new)
    if message is None:
        assert len(scenario(text, own).assertions) == 2
        return
    found = mistakes(text, own)
    assert any(message in line and line.startswith("one.toml:") for line in found), found


def test_an_unused_parameter_is_a_mistake(mistakes):
    own = OWN.replace('at_most = "{tries}"', "at_most = 3").replace("{tries}", "3")
    found = mistakes(REQUIRE + 'start = "1 s"\n', own)
    assert found == ['one.toml:6: use: own.set.toml:16: parameter "tries" is not used. Take it out.']


@pytest.mark.parametrize("file", SETS, ids=lambda file: file.name)
def test_ready_sets_are_right(file):
    check_set(file, ready_plants())


def test_the_ready_sets_are_those():
    assert shipped_sets() == NAMES
    assert {file.name.removesuffix(SUFFIX) for file in SETS} == set(NAMES)


def test_a_ready_set_says_of_each_rule_where_it_comes_from():
    """As seen in a public text, recalled from memory, or common practice."""
    for file in SETS:
        bases = [line for line in file.read_text().splitlines() if line.startswith("basis")]
        assert bases
        assert all(any(mark in line for mark in ("seen", "recalled", "no source")) for line in bases), file


def test_a_set_is_no_scenario(tmp_path):
    (tmp_path / "own.set.toml").write_text(OWN)
    (tmp_path / "one.toml").write_text("")
    assert find_scenarios([tmp_path]) == [tmp_path / "one.toml"]
    assert find_sets([tmp_path, tmp_path / "own.set.toml"]) == [tmp_path / "own.set.toml"]
    with pytest.raises(FileMistakesError, match="is a requirement set, not a scenario"):
        find_scenarios([tmp_path / "own.set.toml"])
    assert not [file for file in find_scenarios([shipped("scenarios")]) if file.parent.name == FOLDER]


def test_a_set_by_itself_is_checked_for_a_plant_that_has_its_signals(tmp_path):
    file = tmp_path / "own.set.toml"
    file.write_text(OWN)
    check_set(file, ready_plants())
    file.write_text(OWN.replace("not gas_valve", "not gas_vale"))
    with pytest.raises(FileMistakesError, match=r"no ready plant has all its signals; .* lacks gas_vale"):
        check_set(file, ready_plants())
    file.write_text(OWN.replace('after = "falls({lit})"', 'after = "falls({lit}) and ambient"'))
    with pytest.raises(FileMistakesError, match=r":25: after: column 18: 'ambient' is no yes-or-no signal"):
        check_set(file, ready_plants())
    file.write_text(OWN.replace('"4 s"', '"4 K"'))
    with pytest.raises(FileMistakesError, match=r":26: within: '4 K' is a temperature difference"):
        check_set(file, ready_plants())
