"""What it costs: a price list, and what of it a bay needs; a missing price is unpriced, never nought."""
