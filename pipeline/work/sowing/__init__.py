"""Sowings held against their ground, their day and their seed."""
