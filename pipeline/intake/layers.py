"""Frames that the property file and its map files arrive as."""

from pipeline.core.layer import Column, Layer
from pipeline.core.layers import findings_layer

SCENES = Layer(
    "scenes",
    None,
    "Rasters of the property as the property file and their own headers describe them.",
    (
        Column("scene", "integer", "Number of the [[sources.scenes]] entry, from 1."),
        Column("path", "text", "Full path of the file."),
        Column("name", "text", "Path as written in the property file."),
        Column("date", "date", "Day the picture was taken, the first day of a composite."),
        Column("span_days", "integer", "Days its pixels may be from: 1, more for a composite.",
               lowest=1),
        Column("kind", "text", "What the raster holds.", choices=("ndvi", "reflectance")),
        Column("sensor", "text", "Sensor, where the file's name tells it.", nullable=True),
        Column("ndvi_band", "integer", "Band that holds NDVI.", nullable=True),
        Column("red_band", "integer", "Band of red light.", nullable=True),
        Column("nir_band", "integer", "Band of near-infrared.", nullable=True),
        Column("swir1_band", "integer", "Band of short-wave infrared near 1.6 µm.", nullable=True),
        Column("swir2_band", "integer", "Band of short-wave infrared near 2.2 µm.", nullable=True),
        Column("scale", "number", "Factor on the stored values, applied once.",
               dimensionless=True),
        Column("offset", "number", "Added after the scale, applied once.",
               dimensionless=True),
        Column("scale_origin", "text", "Where scale and offset come from.",
               choices=("property file", "file", "product name", "none needed")),
        Column("file_scale", "number", "Scale that the file itself tells.", dimensionless=True),
        Column("file_offset", "number", "Offset that the file itself tells.", dimensionless=True),
        Column("product_scale", "number", "Scale published for the product its name tells.",
               dimensionless=True, nullable=True),
        Column("product_fill", "number", "Number published for no data.", dimensionless=True,
               nullable=True),
        Column("product_offset", "number", "Offset published for it.", dimensionless=True,
               nullable=True),
        Column("line_scale", "number", "Factor on NDVI that takes it to another sensor's scale.",
               dimensionless=True),
        Column("line_offset", "number", "Added after that factor.", dimensionless=True),
        Column("high", "number",
               "Value that one pixel of a hundred is above, from a sample of the raster.",
               dimensionless=True),
        Column("sha256", "text", "Check sum of the file."),
        Column("lowest", "number", "Lowest value taken as real.", dimensionless=True),
        Column("highest", "number", "Highest value taken as real.", dimensionless=True),
        Column("zero_is_fill", "flag", "Whether 0 stands for no data though the file doesn't say."),
        Column("mask_path", "text", "Full path of the quality raster.", nullable=True),
        Column("mask_preset", "text", "Preset of the quality raster.", nullable=True),
        Column("drop_bits", "text", "Bits of the quality raster that drop a pixel.", nullable=True),
        Column("keep_values", "text", "Values of the quality raster that keep a pixel.",
               nullable=True),
    ),
    key=("scene",),
    internal=True,
)  # fmt: skip


MASK_PRESETS = Layer(
    "mask_presets",
    None,
    "What the quality rasters of known products say: one row for each bit or value.",
    (
        Column("preset", "text", "Name that a scene's mask refers to."),
        Column("rule", "text", "What the number does.",
               choices=("drop_bit", "drop_value", "keep_value")),
        Column("number", "integer", "Bit (from 0) or value.", lowest=0),
        Column("meaning", "text", "What it stands for."),
        Column("taken_for_burned", "flag",
               "Whether burned ground is often taken for it: it then drops a pixel, or does not "
               "keep it, except where the burned share is read.", nullable=True, required=False),
        Column("source", "text", "Published table it is taken from."),
    ),
    key=("preset", "rule", "number"),
    internal=True,
)  # fmt: skip


INTAKE_FINDINGS = findings_layer("intake_findings")
