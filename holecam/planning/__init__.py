"""The order of the work: from a job to a plan."""
