"""What is found out about a bay: `run`, and on it sizes, maps, spots and comparisons."""
