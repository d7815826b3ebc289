"""Where launches come from: players and clubs, shot types with distributions, a grid, a table of measured shots."""
