"""The job file: read, validated, every error with its line."""
