"""From a file to a Scenario, or to all its mistakes at once."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from harness.quantity import QuantityError
from harness.scenario.assertions import read_assertions
from harness.scenario.disturbances import DisturbanceReader, read_disturbances
from harness.scenario.findings import Findings
from harness.scenario.forms import shown
from harness.scenario.model import WALL_SIGNALS, PanelValue, Scenario
from harness.scenario.names import unknown
from harness.scenario.panel import read_panel
from harness.scenario.source import parse_toml, read_text
from harness.scenario.tables import HeadTable, read_table, unknown_key
from harness.scenario.values import read_in_unit
from harness.scenario.wiring import read_wiring

if TYPE_CHECKING:
    from plants import Plant

Plants = Mapping[str, "type[Plant]"]


def load_scenario(path: Path | str, plants: Plants | None = None) -> Scenario:
    """The scenario in a file, checked against its plant.

    Parameters
    ----------
    path : the file; messages name it as it is given here.
    plants : plants by name; the ready ones if None.

    Raises
    ------
    FileMistakesError
        With every mistake of the file, each with its line.
    """
    return parse_scenario(read_text(Path(path)), str(path), plants)


def parse_scenario(text: str, file: str, plants: Plants | None = None) -> Scenario:
    """The scenario in a text that came from `file`; a wiring file is looked for beside it."""
    data, places = parse_toml(text, file)
    return read_scenario(data, text, Findings(file, places), plants)


def read_scenario(
    data: Mapping[str, Any], text: str, findings: Findings, plants: Plants | None = None
) -> Scenario:
    """The scenario in the data of a TOML text; all its mistakes go to `findings`, which raises them."""
    head = read_table(HeadTable, data, (), findings)
    plant = _find_plant(data.get("plant"), plants, findings)
    length_ms = head.length if head else _length_of(data)
    setup = _read_setup(data.get("plant_setup"), plant, findings)
    wiring = read_wiring(data.get("wiring"), plant, findings)
    panel = _read_panel(data.get("panel"), findings)
    reader = DisturbanceReader(plant, length_ms, findings)
    disturbances = read_disturbances(data.get("disturbance"), reader, findings)
    beside = WALL_SIGNALS if head is None or head.pace == "wall" else {}
    assertions = read_assertions(data.get("assertion"), data.get("require"), plant, findings, beside)
    findings.raise_if_any()
    assert head is not None
    return Scenario(
        file=findings.file,
        text=text,
        title=head.title,
        why=head.why.strip(),
        plant=head.plant,
        length_ms=head.length,
        exchange_every_ms=head.exchange_every,
        start_ms=head.start_at,
        seed=head.seed,
        themes=head.themes,
        expected=head.expected,
        notes=head.notes.strip(),
        wiring=wiring,
        plant_setup=setup,
        panel=panel,
        disturbances=disturbances,
        assertions=assertions,
        stop_at_first_break=head.stop_at_first_break,
        pace=head.pace,
        late_limit_ms=head.late_limit,
        device=head.device,
    )


def _find_plant(name: object, plants: Plants | None, findings: Findings) -> type[Plant] | None:
    if not isinstance(name, str):
        return None
    if name.endswith(".py"):
        try:
            return own_plant(findings.file, name)
        except ValueError as error:
            findings.at_value(("plant",), str(error))
            return None
    known = _ready() if plants is None else plants
    if name not in known:
        findings.at_value(("plant",), unknown("plant", name, known))
    return known.get(name)


def own_plant(file: str, name: str) -> type[Plant]:
    """The plant in a Python file beside the scenario `file`; OwnPlantError says what is wrong with it."""
    from plants.own import load_plant

    return load_plant(Path(file).parent / name)


def _ready() -> Plants:
    # Here and not above: the plants' arithmetic takes longer to load than everything else together.
    from plants import ready_plants

    known: Plants = ready_plants()
    return known


def _length_of(data: Mapping[str, Any]) -> int | None:
    """The run's length where another key of the head is wrong, so that times are still checked."""
    try:
        return int(HeadTable.keys["length"].form.read(data.get("length")))
    except ValueError:
        return None


def _read_setup(raw: object, plant: type[Plant] | None, findings: Findings) -> dict[str, float | str]:
    """Plant parameters in their own units, and choices by their words."""
    if raw is None:
        return {}
    if not isinstance(raw, Mapping):
        findings.at_value(("plant_setup",), f"plant_setup: {shown(raw)} is no table. Write [plant_setup]")
        return {}
    if plant is None:
        return {}
    known = {parameter.name: parameter for parameter in plant.parameters}
    choices = {choice.name: choice.options for choice in plant.choices}
    setup: dict[str, float | str] = {}
    right = True
    for name, value in raw.items():
        path = ("plant_setup", name)
        if name in choices:
            if value in choices[name]:
                setup[name] = value
            else:
                findings.at_value(path, f"{name}: {unknown('option', str(value), choices[name])}")
                right = False
            continue
        if name not in known:
            findings.at_key(path, unknown_key(name, [*known, *choices], path[:1], "parameter"))
            right = False
            continue
        parameter = known[name]
        try:
            setup[name] = read_in_unit(value, parameter.unit, parameter.low, parameter.high)
        except QuantityError as error:
            findings.at_value(path, f"{name}: {error}")
            right = False
    if right:
        _build(plant, setup, findings)
    return setup


def _build(plant: type[Plant], setup: Mapping[str, float | str], findings: Findings) -> None:
    """Parameters that are right each by itself may not go together: only the plant knows."""
    from plants.own import is_own, mishap

    try:
        # A ready plant that can be put together also starts, which a test holds; a person's own is tried.
        plant(setup) if is_own(plant) else plant.assembled(setup)
    except Exception as error:
        said = mishap(plant, error)
        if said is None and not isinstance(error, ValueError):
            raise
        findings.at_key(("plant_setup",), f"plant_setup: {said or error}")


def _read_panel(raw: object, findings: Findings) -> dict[str, PanelValue]:
    return {} if raw is None else read_panel(raw, ("panel",), findings)
