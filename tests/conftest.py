"""Settings that all tests share."""

from __future__ import annotations

from hypothesis import HealthCheck, settings

# No deadline: the machines that run this share two cores; derandomised so that a red run can be repeated
settings.register_profile(
    "shared-cores", deadline=None, max_examples=60, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("shared-cores")
