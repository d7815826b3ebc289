"""One ball, one strike, one player's strikes: no bay."""
