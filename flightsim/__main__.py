"""`python -m flightsim`: the same as the `flightsim` command."""

from flightsim.cli import start

if __name__ == "__main__":
    start()
