"""Slots, pockets and step-downs: where the cutter goes and the proof that it goes nowhere else."""
