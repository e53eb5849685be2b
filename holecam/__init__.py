"""Relocated holes, clearance cuts and careful step-downs for machinists who make one of a thing."""

from __future__ import annotations

__version__ = "0.1.0"
