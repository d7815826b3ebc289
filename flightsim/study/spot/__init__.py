"""Where a lamp, projector or sensor can hang."""
