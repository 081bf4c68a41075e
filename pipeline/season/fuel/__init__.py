"""Fuel: what was clipped, what is left of it on each day, what grows, and the burn window."""
