"""What a ball can touch: shapes, parts and openings as pure geometry. Knows nothing of flight."""
