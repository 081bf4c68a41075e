"""Greenness: how each unit answered the fire."""
