"""Layers on the pictures themselves: samples of their pixels, and what is odd about them."""

from pipeline.core.layer import Column, Layer
from pipeline.core.layers import findings_layer
from pipeline.greenness.columns import code, day, index_value, share, words

PICTURE_SAMPLES = Layer(
    "picture_samples",
    None,
    "What a sample of the pixels of each picture around the units shows.",
    (
        Column("scene", "integer", "Number of the scene."),
        words("name", "Path as in the property file.", nullable=False),
        day("date", "Day the picture was taken."),
        code("kind", "What the raster holds.", "", ("ndvi", "reflectance")),
        Column("pixels", "integer", "Usable pixels of the sample.", lowest=0),
        index_value("commonest_stored", "Number that most of them hold, as it is stored."),
        index_value("commonest_value", "What it stands for."),
        share("commonest_pct", "Share of them that hold it."),
        index_value("times_its_neighbors", "How much commoner it is than the values near it."),
        share(
            "unmarked_pct",
            "Share of the data lost since the quality raster has no data there, by a number that "
            "its rule would keep.",
        ),
        index_value("quality_nodata", "Number that the quality raster has for no data."),
        words("same_ground_as", "Earlier raster of that date that shows the same units."),
    ),
    key=("scene",),
    internal=True,
)


PICTURE_FINDINGS = findings_layer("picture_findings")
