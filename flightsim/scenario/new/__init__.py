"""A scenario file that was not there: asked for, or from a starter, and drawn back."""
