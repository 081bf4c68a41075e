"""Seed: mixes, rates, lots, the order and the drill."""
