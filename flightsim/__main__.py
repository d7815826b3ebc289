"""`python -m flightsim`: the same as the `flightsim` command."""

from flightsim.cli import main

if __name__ == "__main__":
    main()
