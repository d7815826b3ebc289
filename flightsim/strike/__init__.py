"""Where launches come from: shot types and their distributions (the strike model will live here too)."""
