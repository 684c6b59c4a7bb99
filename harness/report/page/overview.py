"""The whole run as strips over one time: marks, temperatures, logic, heat, gas, and all else by unit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from harness.report.page.marks import marks_strip, uprights
from harness.report.page.played import PlayedRun
from harness.report.page.strip import Strip, Trace, lanes, level
from harness.report.page.units import sign_of

TONES = 8
MOST_POINTS = 260_000
FEWEST_BUCKETS, MOST_BUCKETS = 200, 2500
DASHES = ("solid", "dash", "dot", "dashdot", "longdash", "longdashdot")

TEMPERATURE, HEAT, SHARE = ("degC", "degF", "K"), ("W", "kW"), ("%",)


def buckets_for(runs: Sequence[PlayedRun]) -> int:
    """Into how many buckets the time is cut, so that a page with many signals stays light."""
    signals = sum(1 for run in runs for name in run.columns if run.moved(name))
    return max(FEWEST_BUCKETS, min(MOST_BUCKETS, MOST_POINTS // (2 * max(signals, 1))))


def overview(runs: Sequence[PlayedRun]) -> list[Strip]:
    """The strips of one run, or of several laid over each other."""
    made = list(_strips(runs[0]) if len(runs) == 1 else _compared(runs))
    through = uprights(runs)
    for strip in made:
        strip.shapes += through
        strip.fits = strip.kind == "level"
    first = marks_strip(runs)
    return [first, *made] if first.traces else made


def still(runs: Sequence[PlayedRun]) -> list[str]:
    """Signals that are not drawn, because they never changed in any run."""
    names = dict.fromkeys(name for run in runs for name in run.columns)
    return [name for name in names if not any(name in run.columns and run.moved(name) for run in runs)]


def _strips(run: PlayedRun) -> Iterator[Strip]:
    buckets = buckets_for([run])
    moving = [name for name in run.columns if run.moved(name)]
    targets = [name for name in run.columns if name.endswith("setpoint") and _counts(run, name)]
    truth = [name for name in moving if "." not in name]
    told = [name for name in moving if name not in truth and name not in targets]

    def traces(names: Sequence[str], dashed: Sequence[str] = ()) -> list[Trace]:
        looks = {name: "dash" if name in dashed else "solid" for name in (*names, *dashed)}
        return [
            run.trace(name, buckets, tone=f"t{at % TONES + 1}", dash=dash)
            for at, (name, dash) in enumerate(looks.items())
        ]

    warm = _of(run, truth, TEMPERATURE)
    if warm or targets:
        yield level("Temperatures", _unit(run, warm or targets), traces(warm, targets), height=240)
    logic = _of(run, truth, ("bool",)) + _of(run, told, ("bool",))
    if logic:
        yield lanes("Logic", [run.trace(name, buckets, tone=_logic_tone(name)) for name in logic])
    for title, group in (("Heat", HEAT), ("Unburned gas and other shares", SHARE)):
        names = _of(run, truth, group)
        if names:
            yield level(_title(title, names), _unit(run, names), traces(names))
    read = _of(run, told, TEMPERATURE)
    if read:
        yield level(
            "Temperatures as the device got and gave them", _unit(run, read), traces(read), height=190
        )
    drawn = {*warm, *logic, *read, *targets, *_of(run, truth, HEAT + SHARE)}
    rest = [name for name in moving if name not in drawn]
    for unit in dict.fromkeys(run.units[name] for name in rest):
        names = [name for name in rest if run.units[name] == unit]
        yield level(_rest_title(unit, names), sign_of(unit), traces(names), height=120)


def _compared(runs: Sequence[PlayedRun]) -> Iterator[Strip]:
    """A strip for each curve and a lane for each signal and run: a colour a run."""
    buckets = buckets_for(runs)
    names = dict.fromkeys(name for run in runs for name in run.columns)
    moving = [name for name in names if any(name in run.columns and run.moved(name) for run in runs)]

    def unit(name: str) -> str:
        return next(run.units[name] for run in runs if name in run.units)

    def traces(name: str) -> list[Trace]:
        return [
            run.trace(name, buckets, tone=f"t{at % TONES + 1}", dash=DASHES[at], name=f"{run.letter} {name}")
            for at, run in enumerate(runs)
            if name in run.columns
        ]

    curves = [name for name in moving if unit(name) != "bool"]
    logic = [name for name in moving if unit(name) == "bool"]
    warm = [name for name in curves if unit(name) in TEMPERATURE and "." not in name]
    for name in warm:
        yield level(name, sign_of(unit(name)), traces(name))
    if logic:
        yield lanes("Logic", [trace for name in logic for trace in traces(name)])
    for name in sorted((name for name in curves if name not in warm), key=lambda name: "." in name):
        yield level(name, sign_of(unit(name)), traces(name), height=110)


def _of(run: PlayedRun, names: Sequence[str], units: Sequence[str]) -> list[str]:
    return [name for name in names if run.units[name] in units]


def _counts(run: PlayedRun, name: str) -> bool:
    return run.units[name] in TEMPERATURE


def _unit(run: PlayedRun, names: Sequence[str]) -> str:
    return " and ".join(dict.fromkeys(sign_of(run.units[name]) for name in names))


def _title(title: str, names: Sequence[str]) -> str:
    return title if title == "Heat" or "unburned_gas" not in names or len(names) > 1 else "Unburned gas"


def _rest_title(unit: str, names: Sequence[str]) -> str:
    named = {
        "count": "Codes and counts",
        "permille": "Outputs",
        "L/min": "Flow",
        "L": "Volumes",
        "J": "Energy",
    }
    return named.get(unit, names[0] if len(names) == 1 else "Other signals")


def _logic_tone(name: str) -> str:
    """Fire in a warm colour, what the device says in another, all else alike."""
    if name in ("flame", "igniter", "pilot_flame"):
        return "t2"
    return "t5" if name.startswith(("out.", "tell.")) else "t6" if name.startswith("in.") else "t1"
