"""Air, ball, aerodynamics and the integrator: launches to flights. Knows nothing of bays or plugins."""
