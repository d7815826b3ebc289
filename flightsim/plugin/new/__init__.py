"""A new plugin: the files that `flightsim plugins --new` writes."""
