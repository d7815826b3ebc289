"""Lengths cut from stock with the least bought: order, ways to cut a bar, exact optimisation, plan."""
