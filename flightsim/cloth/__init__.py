"""How far a hanging cloth sinks when a golf ball hits it, and what it gives back: physics only."""
