"""A compressor that is started too early, seizes, or has lost its refrigerant; doors, relays, wires, fans."""

import pytest

from plants import ready_plants
from tests.plants.small_plants import signal, signals

CHAMBER, KILN = (ready_plants()[name] for name in ("fermentation-chamber", "pottery-kiln"))


def log_of(plant):
    """What the plant tells from now on, with its time in seconds."""
    log = []
    plant.on_change = lambda t_ms, text: log.append((t_ms / 1000.0, text))
    return log


def restarted(rest_s, setup=None, run_s=600):
    """A chamber that has run, rested and been switched on again at 600 s + `rest_s`; and its log since."""
    chamber = CHAMBER(setup or {})
    chamber.command([1, 0])
    chamber.advance(run_s * 1000)
    chamber.command([0, 0])
    chamber.advance((run_s + rest_s) * 1000)
    log = log_of(chamber)
    chamber.command([1, 0])
    return chamber, log


def test_a_rested_compressor_starts():
    chamber, log = restarted(181)
    chamber.advance(900_000)
    assert [text for _, text in log] == ["cooler relay closed", "compressor turns"]
    assert (signal(chamber, "compressor_starts"), signal(chamber, "locked_starts")) == (2, 0)
    assert signal(chamber, "compressor_power") == 90.0


def test_an_early_restart_locks_the_rotor_trips_and_starts_late():
    """30 s of rest: locked 8 s, overload open 120 s, locked again 8 s, and again 120 s; then it turns."""
    chamber, log = restarted(30)
    chamber.advance(632_000)
    assert signals(chamber)["locked_rotor"] == 1.0
    assert signals(chamber)["compressor_power"] == 700.0
    chamber.advance(1_200_000)
    assert log == [
        (630.01, "cooler relay closed"),
        (630.01, "compressor locked: started 30 s after it stopped"),
        (638.01, "compressor overload trips"),
        (758.01, "compressor overload closes"),
        (758.01, "compressor locked: started 158 s after it stopped"),
        (766.01, "compressor overload trips"),
        (886.01, "compressor overload closes"),
        (886.01, "compressor turns"),
    ]
    assert signal(chamber, "locked_starts") == 2


def test_a_locked_rotor_cools_nothing():
    chamber, _ = restarted(5)
    before = signals(chamber)["evaporator"]
    chamber.advance(700_000)
    assert signals(chamber)["evaporator"] > before + 3.0


def test_short_tries_warm_the_overload_all_the_same():
    """3 s on and 1 s off: the overload trips within 8 s of locked current although no try lasts so long."""
    chamber, log = restarted(5)
    for _ in range(4):
        chamber.advance(chamber.time_ms + 3000)
        chamber.command([0, 0])
        chamber.advance(chamber.time_ms + 1000)
        chamber.command([1, 0])
    assert "compressor overload trips" in [text for _, text in log]


def test_a_seized_compressor_locks_while_it_runs_and_never_starts():
    chamber = CHAMBER()
    chamber.command([1, 0])
    chamber.advance(60_000)
    token = chamber.begin_fault("compressor-locked", None, {})
    assert signals(chamber)["locked_rotor"] == 1.0
    chamber.advance(1_800_000)
    assert signal(chamber, "compressor_starts") == 1
    assert signal(chamber, "locked_starts") > 10
    chamber.end_fault(token)
    chamber.advance(2_100_000)
    assert signals(chamber)["compressor"] == 1.0


def test_lost_refrigerant_cools_less():
    ends = []
    for fraction in (100.0, 30.0, 0.0):
        chamber = CHAMBER({"sugar": 0.0})
        chamber.begin_fault("refrigerant-lost", None, {"fraction": fraction})
        chamber.command([1, 0])
        chamber.advance(3_600_000)
        ends.append(signal(chamber, "chamber"))
    assert ends[0] < ends[1] - 5.0 < ends[2] - 10.0
    assert ends[2] > 20.0


def test_cooling_power_by_hand():
    """120 W (1 + 0.035 x 20 - 0.01 x 5) at +10 degC evaporator in a room of 30 degC: 198 W."""
    chamber = CHAMBER({"ambient": 30.0, "chamber_start": 10.0, "sugar": 0.0, "chamber_loss": 0.05,
                       "evaporator_heat": 20.0})  # fmt: skip
    chamber.command([1, 0])
    chamber.advance(1010)
    leak = 0.05 * 20.0 * 1.0
    assert chamber.balance().lost_j + leak == pytest.approx(198.0, rel=0.01)


def test_a_fan_moves_the_cold_to_the_beer():
    beer, supplied = [], []
    for fan in ("none", "with-compressor", "always"):
        chamber = CHAMBER({"fan": fan, "sugar": 0.0})
        chamber.command([1, 0])
        chamber.advance(1_800_000)
        chamber.command([0, 0])
        chamber.advance(3_600_000)
        beer.append(signal(chamber, "beer"))
        supplied.append(chamber.balance().supplied_j)
    assert beer[0] > beer[1] + 0.5 > beer[2] + 0.5
    assert supplied == pytest.approx([0.0, 3.0 * 1800.0, 3.0 * 3600.0], abs=0.1)


@pytest.mark.parametrize(("kind", "drives"), [(CHAMBER, [0, 1]), (KILN, [1])])
def test_relays_and_wires(kind, drives):
    heats = f"{kind.actuators[-1].name}_heat"
    plant = kind()
    off = [0] * len(drives)
    places = {"relay-welded-on": kind.actuators[-1].name, "element-open": kind.actuators[-1].name}
    token = plant.begin_fault("relay-welded-on", places["relay-welded-on"], {})
    plant.advance(1000)
    full = signal(plant, heats)
    assert full > 0.0
    worn = plant.begin_fault("element-worn", places["element-open"], {"fraction": 60.0})
    assert signal(plant, heats) == pytest.approx(0.6 * full)
    plant.end_fault(worn)
    broken = plant.begin_fault("element-open", places["element-open"], {})
    assert signal(plant, heats) == 0.0
    plant.end_fault(broken)
    plant.end_fault(token)
    plant.advance(2000)
    assert signal(plant, heats) == 0.0
    stuck = plant.begin_fault("relay-stuck-off", places["relay-welded-on"], {})
    plant.command(drives)
    plant.advance(3000)
    assert signal(plant, heats) == 0.0
    plant.end_fault(stuck)
    plant.advance(4000)
    assert signal(plant, heats) == full
    plant.command(off)
    plant.advance(4005)
    assert signal(plant, heats) == full, "a contact needs 10 ms"
    plant.advance(4010)
    assert signal(plant, heats) == 0.0


def test_a_relay_counts_its_closings():
    kiln = KILN()
    for second in range(20):
        kiln.command([second % 2])
        kiln.advance((second + 1) * 1000)
    assert signal(kiln, "relay_operations") == 10
    kiln.command([0])
    kiln.advance(20_005)
    kiln.command([1])
    kiln.advance(22_000)
    assert signal(kiln, "relay_operations") == 10, "taken back within 10 ms: the contact has not moved"


@pytest.mark.parametrize(("kind", "setup", "seen"), [
    (CHAMBER, {"chamber_start": 2.0, "sugar": 0.0}, "chamber"), (KILN, {"kiln_start": 1000.0}, "ware"),
])  # fmt: skip
def test_an_open_door_is_seen_and_felt(kind, setup, seen):
    plant, other = kind(setup), kind(setup)
    read = plant.reader([("door_open", "bool")])
    assert read() == [0]
    plant.begin_fault("door-open", None, {})
    assert read() == [1]
    for one in (plant, other):
        one.advance(120_000)
    room = plant.setup["ambient"]
    assert abs(signal(plant, seen) - room) < abs(signal(other, seen) - room) - 5.0


def test_a_change_of_the_room_reaches_beer_and_shell():
    for kind, seen in ((CHAMBER, "liner"), (KILN, "shell")):
        plant = kind({"ambient": 25.0})
        before = signal(plant, seen)
        plant.begin_fault("ambient-change", None, {"change": -20.0})
        plant.advance(3 * 3_600_000)
        assert signal(plant, "ambient") == pytest.approx(5.0)
        assert signal(plant, seen) < before - 2.0


def test_a_probe_that_has_left_the_fermenter_hangs_in_the_chamber():
    """Not in the room: the classic way to freeze or to cook a beer."""
    chamber = CHAMBER({"chamber_start": 4.0, "probe_noise": 0.0, "sugar": 0.0})
    chamber.command([1, 0])
    chamber.begin_fault("probe-out-of-well", "beer", {})
    chamber.advance(1_200_000)
    (shown,) = chamber.reader([("beer", "mdegC")])()
    assert shown / 1000.0 == pytest.approx(signal(chamber, "chamber"), abs=1.5)
    assert signal(chamber, "beer") > 20.0


def test_a_draught_carries_more_heat_off():
    for kind, setup in ((CHAMBER, {"chamber_start": 0.0}), (KILN, {"kiln_start": 1000.0})):
        lost = []
        for fault in (False, True):
            plant = kind(setup)
            if fault:
                plant.begin_fault("draught", None, {"speed": 3.0})
            plant.advance(600_000)
            lost.append(abs(plant.balance().lost_j))
        assert lost[1] > lost[0] * 1.01


def test_the_firing_follows_a_k_thermocouple():
    """The reading in uV is that of the gap between ware and wall, cold junction at the room's 20 degC."""
    kiln = KILN({"kiln_start": 1000.0, "probe_noise": 0.0})
    uv, shown = kiln.reader([("kiln", "uV"), ("limit", "mdegC")])()
    assert uv == pytest.approx(41275.6 - 798.1, abs=1.0)
    assert shown == 1_000_000
