"""unlit check"""

from __future__ import annotations


def check(*scenarios: str) -> int:
    """Check scenario files and requirement sets without playing them; every mistake at once.

    Parameters
    ----------
    scenarios
        Files, folders, or shipped scenarios by name.
    """
    from harness.cli.find import find_with_sets, load_all
    from harness.report.figures import count

    files, sets = find_with_sets(scenarios, "check")
    loaded = load_all(files, sets)
    told = [count(len(loaded), "scenario")] if loaded or not sets else []
    told += [count(len(sets), "requirement set")] if sets else []
    print(f"{' and '.join(told)} without a mistake")
    return 0
