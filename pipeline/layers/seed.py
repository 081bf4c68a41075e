"""Frames and layers of the seed steps."""

from pipeline.layers.schema import Column, Layer

SEEDINGS = Layer(
    "seedings",
    None,
    "Areas to be seeded: one row for each unit of each area.",
    (
        Column("area", "text", "Name of the seeding area."),
        Column("unit_id", "text", "Unit that is part of it."),
        Column("mix", "text", "Mix to be sown."),
        Column("method", "text", "How it is sown.", choices=("drill", "broadcast", "overseed")),
    ),
    key=("area", "unit_id"),
    internal=True,
)

SEED_LAYERS: tuple[Layer, ...] = (SEEDINGS,)
