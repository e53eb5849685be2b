"""From a job file on disk to a folder of checked programs and papers."""
