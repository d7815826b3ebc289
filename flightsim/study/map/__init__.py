"""Every launch direction of a club: what stops it, the nearest way out, and what is shown closed."""
