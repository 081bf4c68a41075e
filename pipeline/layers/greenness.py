"""Frames and layers of the greenness steps."""

from pipeline.layers.schema import Column, Layer

COMPARISONS = Layer(
    "comparisons",
    None,
    "Burned and reference units of each before-after comparison: one row for each unit.",
    (
        Column("comparison", "text", "Name of the comparison."),
        Column("before", "date", "Date of the scene before the burn."),
        Column("after", "date", "Date of the scene after the burn."),
        Column("unit_id", "text", "Unit that takes part."),
        Column("role", "text", "What the unit stands for.", choices=("burned", "reference")),
    ),
    key=("comparison", "unit_id"),
    internal=True,
)

GREENNESS_LAYERS: tuple[Layer, ...] = (COMPARISONS,)
