"""Mow strips, bare lines and blacklines, their passes, and the driver's way."""
