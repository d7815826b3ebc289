"""A whole run: bay and shots, random streams, workers, rates with bounds, troubles, failures, data files."""
