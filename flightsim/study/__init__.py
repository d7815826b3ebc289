"""Whole runs: random streams, workers, rates with bounds, result files."""
