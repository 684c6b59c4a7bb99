"""unlit check"""

from __future__ import annotations


def check(*scenarios: str) -> int:
    """Check scenario files without playing them; every mistake at once.

    Parameters
    ----------
    scenarios
        Files, folders, or shipped scenarios by name.
    """
    from harness.cli.find import find, load_all
    from harness.report.figures import count

    loaded = load_all(find(scenarios, "check"))
    print(f"{count(len(loaded), 'scenario')} without a mistake")
    return 0
