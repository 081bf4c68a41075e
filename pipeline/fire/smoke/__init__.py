"""Winds, smoke and past burn weather."""
