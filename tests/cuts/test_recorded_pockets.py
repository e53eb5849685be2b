"""Whole plans of small pockets are what was recorded and read: every move, its height, feed and bite, and the proof."""

from __future__ import annotations

import re

import pytest
from recorded_pockets import POCKETS, plan_told, record_of

NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
CLOSE = 0.0021
"""A micron in two roundings, and a feed or degree in its last digit or two."""


@pytest.mark.parametrize("name", POCKETS)
def test_a_plan_is_what_was_recorded(name: str) -> None:
    found = plan_told(name)
    wanted = record_of(name).read_text(encoding="utf-8").splitlines()
    for number, (mine, line) in enumerate(zip(found, wanted, strict=False), 1):
        assert NUMBER.sub("#", mine) == NUMBER.sub("#", line), f"line {number}"
        for a, b in zip(NUMBER.findall(mine), NUMBER.findall(line), strict=True):
            assert abs(float(a) - float(b)) <= CLOSE + (0.02 if " bite " in line or "peak" in line else 0.0), line
    assert len(found) == len(wanted)
