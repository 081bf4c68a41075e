"""The search for a plan of years: its arrays, prices and sweeps, and the solver that proves it."""
