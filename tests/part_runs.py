"""A run as if its sources had told of some things alone, and one of which nothing is written."""

from dataclasses import replace

from pipeline.catalog import LAYERS
from pipeline.runner import compute_layers, read_property


def with_only(run, *names):
    """The run with these of its layers and what every run has; all others are without a row."""
    kept = {*names, *(name for name, layer in LAYERS.items() if layer.always)}
    frames = {n: frame if n in kept else frame.iloc[:0] for n, frame in run.frames.items()}
    return replace(run, frames=frames)


def computed(path):
    """Every layer of a property file, checked and computed as in a run."""
    told, intake = read_property(path)
    return compute_layers(intake, told, lambda *progress: None)
