"""From a bay to what is ordered, cut and put up: frame, cutting, orders, cost. Knows nothing of flight."""
