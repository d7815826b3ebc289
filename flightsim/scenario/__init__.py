"""Scenario files: `reading` makes checked models in SI units of them, `new` writes one."""
