"""Read a job file, check it, and name every error with its line."""
