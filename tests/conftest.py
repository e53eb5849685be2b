"""Settings that all tests share."""

from __future__ import annotations

import signal

from hypothesis import HealthCheck, settings

# No deadline: the machines that run this share two cores; derandomised so that a red run can be repeated
settings.register_profile(
    "shared-cores", deadline=None, max_examples=60, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("shared-cores")

# A run started in the background is deaf to Ctrl-C, and so would be every command that the tests stop by it
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)
