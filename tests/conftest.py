"""Settings for every test: the same examples each time, no time limit on one example."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "unlit", derandomize=True, deadline=None, database=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("unlit")
