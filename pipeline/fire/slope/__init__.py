"""Slope of units and along breaks."""
