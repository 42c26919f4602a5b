"""From what was timed to what can be compared: rates, front speeds, conductivities."""
