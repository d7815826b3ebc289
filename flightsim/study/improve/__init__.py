"""Changes that meet the targets of a bay."""
