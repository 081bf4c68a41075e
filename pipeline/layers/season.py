"""Frames and layers of the fuel, history, herd and season steps."""

from pipeline.layers.schema import Layer

SEASON_LAYERS: tuple[Layer, ...] = ()
