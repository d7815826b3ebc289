"""flightsim from Python: what `import flightsim` gives, and what the command line rests on."""
