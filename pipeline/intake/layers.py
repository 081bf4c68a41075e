"""Frames that the property file and its map files arrive as."""

from pipeline.core.layer import Column, Layer, optional_count, optional_number, optional_text
from pipeline.core.layers import findings_layer
from pipeline.intake.causes import CAUSES, MENDS


def _factor(name: str, meaning: str, *, nullable: bool = False) -> Column:
    """A number without a unit that stored values are multiplied with, added to or held against."""
    return Column(name, "number", meaning, dimensionless=True, nullable=nullable)


def _band(quantity: str, meaning: str) -> Column:
    """Number of the band that holds a quantity, empty where the raster has none."""
    return Column(f"{quantity}_band", "integer", f"Band of {meaning}.", nullable=True)


def _mask_text(name: str, meaning: str) -> Column:
    """What the property file says of a quality raster, empty where a scene has none."""
    return Column(name, "text", meaning, nullable=True)


SCALE_ORIGINS = ("property_file", "file", "product_name", "none_needed")

SCENES = Layer(
    "scenes",
    None,
    "Rasters of the property as the property file and their own headers describe them.",
    (
        Column("scene", "integer", "Number of the picture, in the order of [[sources.scenes]]."),
        Column("path", "text", "Full path of the file."),
        Column("variable", "text", "Variable of a netCDF file that holds it.", nullable=True),
        Column("name", "text", "Path as in the property file, with the day if it has several."),
        Column("date", "date", "Day the picture was taken, the first day of a composite."),
        Column("span_days", "integer", "Days its pixels may be from, 1 or more.", lowest=1),
        Column("kind", "text", "What the raster holds.", choices=("ndvi", "reflectance")),
        Column("sensor", "text", "Sensor, where the file's name tells it.", nullable=True),
        _band("ndvi", "NDVI"),
        _band("red", "red light"),
        _band("nir", "near-infrared"),
        _band("swir1", "short-wave infrared near 1.6 µm"),
        _band("swir2", "short-wave infrared near 2.2 µm"),
        _factor("scale", "Factor on the stored values, applied once."),
        _factor("offset", "Added after the scale, applied once."),
        Column("scale_origin", "text", "Who gives scale and offset.", choices=SCALE_ORIGINS),
        _factor("file_scale", "Scale that the file itself gives."),
        _factor("file_offset", "Offset that the file itself gives."),
        _factor("product_scale", "Scale published for the product of its name.", nullable=True),
        _factor("product_fill", "Number for no data, as published or as told.", nullable=True),
        _factor("product_offset", "Offset published for the product of its name.", nullable=True),
        _factor("line_scale", "Factor on NDVI that takes it to another sensor's scale."),
        _factor("line_offset", "Added after that factor."),
        Column("offset_unknown", "flag", "Whether a tenth may have to be taken off: Sentinel-2."),
        _factor("low", "Value that one pixel of a hundred is below, from a sample of the raster."),
        _factor("high", "Value that one pixel of a hundred is above, from a sample of the raster."),
        Column("sha256", "text", "Checksum of the file."),
        Column("pixel_m2", "number", "Ground of a pixel in the middle of the raster."),
        _factor("lowest", "Lowest value taken as real."),
        _factor("highest", "Highest value taken as real."),
        Column("zero_is_fill", "flag", "Whether 0 stands for no data though the file doesn't say."),
        _mask_text("mask_path", "Full path of the quality raster."),
        _mask_text("mask_preset", "Preset of the quality raster."),
        _mask_text("drop_bits", "Bits of the quality raster that drop a pixel."),
        _mask_text("keep_values", "Values of the quality raster that keep a pixel."),
        Column("mask_nodata_is_clear", "flag", "Whether its number for no data is clear ground."),
    ),
    key=("scene",),
    internal=True,
)

ELEVATION = Layer(
    "elevation",
    None,
    "The raster of heights, as the property file and its own header describe it: one row.",
    (
        Column("path", "text", "Full path of the file."),
        Column("name", "text", "Path as written in the property file."),
        Column("band", "integer", "Band that holds the heights.", lowest=1),
        Column("height_unit", "text", "Unit of the heights, as the property file tells it."),
        _factor("scale", "Factor on the stored values, by the file itself."),
        _factor("offset", "Added after the scale, by the file itself."),
    ),
    key=("path",),
    internal=True,
)

BACKDROP = Layer(
    "backdrop",
    None,
    "The air photo under the maps of the packet, as its own header describes it: one row.",
    (
        Column("path", "text", "Full path of the file."),
        Column("name", "text", "Path as written in the property file."),
        Column("bands", "integer", "Bands that are drawn, the first ones."),
        _factor("darkest", "Stored value that is drawn darkest."),
        _factor("brightest", "Stored value that is drawn brightest."),
    ),
    key=("path",),
    internal=True,
)

MASK_PRESETS = Layer(
    "mask_presets",
    None,
    "What the quality rasters of known products say: one row for each bit or value.",
    (
        Column("preset", "text", "Name that a scene's mask refers to."),
        Column(
            "rule",
            "text",
            "What the number does.",
            choices=("drop_bit", "drop_value", "keep_value"),
        ),
        Column("number", "integer", "Bit (from 0) or value.", lowest=0),
        Column("meaning", "text", "What it stands for."),
        Column(
            "taken_for_burned",
            "flag",
            "Whether burned ground is often taken for it: it then drops a pixel, or does not keep "
            "it, except where the burned share is read.",
            nullable=True,
            required=False,
        ),
        Column("source", "text", "Published table it is taken from."),
    ),
    key=("preset", "rule", "number"),
    internal=True,
)

MENDED = Layer(
    "mended",
    "Geometry",
    "What was mended in the maps of the units, because [mend] of the property file says so.",
    (
        Column("number", "integer", "Number of the mend, from 1.", "Number"),
        Column(
            "mend",
            "text",
            "What was done.",
            "Mend",
            choices=tuple(cause.code for cause in MENDS),
        ),
        optional_text("source", "Source of the units.", "Source"),
        optional_count("source_row", "Row of that source, from 1.", "Row of the source"),
        Column(
            "unit_id",
            "text",
            "Unit that it concerns; of what was left out, the unit that has its ground, or its "
            "own name.",
            "Unit",
        ),
        optional_number("acres_ac", "Acres left out, kept or taken out of the unit.", "Acres", 4),
        optional_text("was", "Name before, or the units that lie inside.", "Was"),
    ),
    key=("number",),
)

INTAKE_FINDINGS = findings_layer("intake_findings", CAUSES)
