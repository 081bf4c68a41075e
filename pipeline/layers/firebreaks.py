"""Frames and layers of the firebreak and mowing steps."""

from pipeline.layers.schema import Layer

FIREBREAK_LAYERS: tuple[Layer, ...] = ()
