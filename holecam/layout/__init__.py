"""Patterns, placement, spacing, freedom, bolt-up and the reconciliation of measurements."""
