"""Two bays on the same shots."""
