"""The engine: one ball at a time, in compiled loops. Read `ball` first, then `flight`, `nearest`, `hit`."""
