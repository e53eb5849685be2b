"""G-code: written, read back, and held against the limits of the plan."""
