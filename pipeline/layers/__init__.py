"""Every layer and table of a run, internal or written, in the order they are written."""

from pipeline.layers.acreage import ACREAGE_LAYERS
from pipeline.layers.common import FINDINGS, SETTINGS, SOURCES
from pipeline.layers.firebreaks import FIREBREAK_LAYERS
from pipeline.layers.greenness import GREENNESS_LAYERS
from pipeline.layers.intake import INTAKE_LAYERS
from pipeline.layers.scenes import SCENE_LAYERS
from pipeline.layers.schema import Column, Layer, conform, empty
from pipeline.layers.season import SEASON_LAYERS
from pipeline.layers.seed import SEED_LAYERS

LAYERS: dict[str, Layer] = {
    layer.name: layer
    for layer in (
        *INTAKE_LAYERS,
        *ACREAGE_LAYERS,
        *FIREBREAK_LAYERS,
        *SEED_LAYERS,
        *SEASON_LAYERS,
        *SCENE_LAYERS,
        *GREENNESS_LAYERS,
        FINDINGS,
        SETTINGS,
        SOURCES,
    )
}

__all__ = ["LAYERS", "Column", "Layer", "conform", "empty"]
