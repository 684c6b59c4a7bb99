"""For every test: the same examples each time, no time limit on one example; firmware, built once."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, settings

from tests.firmware import Firmware, build_reference

settings.register_profile(
    "unlit", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("unlit")


@pytest.fixture(scope="session")
def reference(tmp_path_factory: pytest.TempPathFactory) -> Callable[[str], Firmware]:
    """The reference controller in C with a panel in `degC` or `degF`, each built when first asked for."""
    built: dict[str, Firmware] = {}

    def firmware(panel: str = "degC") -> Firmware:
        if panel not in built:
            built[panel] = build_reference(tmp_path_factory.mktemp(f"reference_{panel}"), panel)
        return built[panel]

    return firmware
