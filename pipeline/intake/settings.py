"""What the property file may say of its sources."""

from typing import Annotated, Any, Literal, get_args

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    GetJsonSchemaHandler,
    model_validator,
)
from pydantic.json_schema import JsonSchemaValue

from pipeline.core.places import state_name
from pipeline.core.section import Day, FilePath, Name, Section, setting

OFF = "off: a map is changed only where the property file says so"


def _told(default: Any = ..., *, meaning: str, **bounds: Any) -> Any:
    """A field of a source with what it means; needed where it has no default."""
    return Field(default, description=meaning, **bounds)


class FileSource(Section):
    """A file with columns. ``columns`` maps our column names to the headers of the file.

    ``date_order`` says how its dates are written where they end with the year and no day above 12
    shows it.
    """

    path: FilePath
    columns: dict[str, str] = {}
    encoding: str | None = None
    date_order: Literal["month_first", "day_first"] | None = None


class TableSource(FileSource):
    """A CSV table, or a sheet of a workbook (.xlsx) whose headers stand in row ``header_row``."""

    sheet: Name | None = None
    header_row: int = Field(default=1, ge=1, le=1000)


class ShippedSource(Section):
    """A table that comes with the program: nothing named, it is used as it is.

    ``path`` names a CSV table to be used in its place; ``extra`` one whose rows are added to it,
    each in the place of a row with the same key.
    """

    path: FilePath | None = None
    extra: FilePath | None = None
    columns: dict[str, str] = {}
    encoding: str | None = None


class VectorSource(FileSource):
    """A map file. ``crs`` is given only where the file carries none."""

    layer: str | None = None
    crs: str | None = None


class BreakSource(VectorSource):
    """Lines or polygons that already stop a fire, all of one kind or told apart by a column."""

    kind: Name | None = None
    width_ft: float | None = Field(None, ge=0)

    @model_validator(mode="after")
    def _kind_is_known(self) -> "BreakSource":
        if self.kind is None and "kind" not in self.columns:
            raise ValueError('say what kind of break this is: kind = "road", or a column for it')
        return self


def _number_or_name(band: object) -> object:
    """A band as it is given. Raises ValueError where it is neither a number nor a name."""
    is_number = isinstance(band, int) and not isinstance(band, bool) and band >= 1
    is_name = isinstance(band, str) and 0 < len(band.strip()) <= 120
    if not is_number and not is_name:
        raise ValueError("the number of a band, counted from 1, or its name in quotes")
    return band


Band = Annotated[int | str, BeforeValidator(_number_or_name)]
"""A band by its number, counted from 1, or by the name that the file gives it."""


class Bands(Section):
    """Bands of a reflectance stack."""

    red: Band
    nir: Band
    swir1: Band | None = None
    swir2: Band | None = None


class SceneMask(Section):
    """A raster that tells which pixels of a scene to drop."""

    path: FilePath = _told(meaning="File of the quality raster.")
    drop_bits: tuple[Annotated[int, Field(ge=0, le=31)], ...] | None = _told(
        None, min_length=1, meaning="Bits of it that drop a pixel, counted from 0."
    )
    keep_values: tuple[int, ...] | None = _told(
        None, min_length=1, meaning="Values of it that keep a pixel; all others drop it."
    )
    preset: Name | None = _told(None, meaning="Known product whose rule is used: mask_presets.")
    nodata_is_clear: bool = _told(
        False, meaning="Whether what it calls no data is a value like others: clear ground."
    )

    @model_validator(mode="after")
    def _one_way(self) -> "SceneMask":
        if [self.drop_bits, self.keep_values, self.preset].count(None) != 2:
            raise ValueError("give one of drop_bits, keep_values and preset")
        return self


class SceneSource(Section):
    """One raster: NDVI, or reflectance with its bands, of one date or of many."""

    path: FilePath = _told(meaning="File of the raster.")
    date: Day | None = _told(
        None,
        meaning="Day of the picture, the first day of a composite; not needed where the file's "
        "name or its bands' descriptions tell it.",
    )
    dates: Annotated[tuple[Day, ...], Field(min_length=1)] | None = _told(
        None,
        meaning="Days of the bands of an NDVI raster with a band for each date, where neither "
        "descriptions nor an axis of time tell them.",
    )
    span_days: int | None = _told(
        None,
        ge=1,
        le=366,
        meaning="Days from the date on that the pixels of a composite were chosen from.",
    )
    kind: Literal["ndvi", "reflectance"] = _told(meaning="What the raster holds.")
    band: Band | None = _told(
        None, meaning="Band that holds NDVI: its number from 1, or its name in the file."
    )
    bands: Bands | None = _told(
        None,
        meaning="Bands of reflectance, red and nir and if there are any swir1 and swir2: numbers "
        "from 1, or names in the file.",
    )
    variable: Name | None = _told(None, meaning="Variable of a netCDF file that has several.")
    scale: float | None = _told(
        None, gt=0, meaning="Factor on the stored numbers; else the file's own, or its product's."
    )
    offset: float | None = _told(
        None,
        meaning="Added after the scale. Sentinel-2 since 25 January 2022: -0.1, unless harmonized.",
    )
    fill: float | None = _told(
        None, meaning="Stored number for no data that the file does not declare."
    )
    as_landsat_8: bool = _told(
        False, meaning="Whether NDVI of Landsat 4, 5 or 7 is put on the scale of Landsat 8 and 9."
    )
    valid_range: tuple[float, float] | None = _told(
        None, meaning="Lowest and highest value taken as real, after scale and offset."
    )
    mask: SceneMask | None = _told(None, meaning="Quality raster, and what of it drops a pixel.")

    @model_validator(mode="after")
    def _bands_fit_kind(self) -> "SceneSource":
        if (self.kind == "reflectance") != (self.bands is not None):
            raise ValueError('kind = "reflectance" needs bands, kind = "ndvi" has none')
        if self.kind == "reflectance" and self.band is not None:
            raise ValueError('kind = "reflectance" has bands = { red = …, nir = … }, not band')
        if self.valid_range is not None and self.valid_range[0] >= self.valid_range[1]:
            raise ValueError("valid_range must go from the lowest to the highest value")
        return self

    @model_validator(mode="after")
    def _dates_are_of_bands(self) -> "SceneSource":
        if self.dates is None:
            return self
        if self.date is not None or self.band is not None or self.kind == "reflectance":
            raise ValueError("dates are those of the bands of an NDVI raster: no date, band, bands")
        if len(set(self.dates)) < len(self.dates):
            raise ValueError("dates has a day twice")
        if self.mask is not None:
            raise ValueError("a mask is of one date: name each date in an entry with its own band")
        return self


class ElevationSource(Section):
    """A raster of heights. Which unit they are in is told, never guessed."""

    path: FilePath
    height_unit: Literal["m", "ft", "us-ft"]
    band: int = Field(1, ge=1)


class BackdropSource(Section):
    """The user's own air photo, which lies gray and pale under the maps of the packet's blocks.

    One band of gray, or three of red, green and blue. No figure is taken from it.
    """

    path: FilePath


class UnitSource(VectorSource):
    """A map of units; of several, each may put a word of its own before its units' names."""

    prefix: Name | None = None


class PatchSource(VectorSource):
    """A map of patches; what all of its patches have in common may be told for the file."""

    kind: Name | None = None
    date: Day | None = None
    radius_ft: float | None = Field(None, gt=0)


class FolderSource(Section):
    """A folder of files, those in folders inside it too."""

    path: FilePath


def _one_or_more(value: object) -> object:
    """One table of settings as a list of one."""
    return (value,) if isinstance(value, dict) else value


class _OrOneTable:
    """Tells an editor that a list of tables may also be written as one table."""

    def __get_pydantic_json_schema__(
        self, schema: Any, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        several = handler(schema)
        return {"anyOf": [several["items"], several]}


class Sources(Section):
    """[sources]: every file of the property. Only ``units`` must be there."""

    units: Annotated[
        tuple[UnitSource, ...],
        Field(min_length=1),
        BeforeValidator(_one_or_more),
        _OrOneTable(),
    ]
    exclusions: VectorSource | None = None
    breaks: tuple[BreakSource, ...] = ()
    scenes: tuple[SceneSource, ...] = ()
    elevation: ElevationSource | None = None
    backdrop: BackdropSource | None = None
    break_kinds: ShippedSource | None = None
    species: ShippedSource | None = None
    mixes: TableSource | None = None
    seed_lots: TableSource | None = None
    full_rates: ShippedSource | None = None
    seed_factors: ShippedSource | None = None
    test_rules: ShippedSource | None = None
    seeding_windows: ShippedSource | None = None
    seed_bags: TableSource | None = None
    harvests: TableSource | None = None
    mask_presets: ShippedSource | None = None
    zonal_series: TableSource | None = None
    treatments: TableSource | None = None
    burned_areas: VectorSource | None = None
    clips: TableSource | None = None
    obstruction: TableSource | None = None
    loads: TableSource | None = None
    winter_losses: ShippedSource | None = None
    green_up: ShippedSource | None = None
    nesting_seasons: ShippedSource | None = None
    unit_limits: TableSource | None = None
    conflict_rules: ShippedSource | None = None
    fixed_years: TableSource | None = None
    former_plan: TableSource | None = None
    season_rules: ShippedSource | None = None
    road_rules: ShippedSource | None = None
    daily_temperatures: TableSource | None = None
    hourly_weather: TableSource | None = None
    smoke_points: VectorSource | None = None
    gates: VectorSource | None = None
    water_places: VectorSource | None = None
    photo_points: VectorSource | None = None
    photos: FolderSource | None = None
    photo_list: TableSource | None = None
    phenology: TableSource | None = None
    plants: TableSource | None = None
    plant_species: ShippedSource | None = None
    patches: Annotated[
        tuple[PatchSource, ...],
        BeforeValidator(_one_or_more),
        _OrOneTable(),
    ] = ()


def table_names() -> list[str]:
    """Names of the CSV tables a property file may name; each is a layer of the same name."""
    fields = Sources.model_fields.items()
    tables = {TableSource, ShippedSource}
    return [name for name, field in fields if tables & set(get_args(field.annotation))]


def shipped_names() -> list[str]:
    """Names of those tables that come with the program and that a property may add to."""
    fields = Sources.model_fields.items()
    return [name for name, field in fields if ShippedSource in get_args(field.annotation)]


class PropertyInfo(Section):
    """[property]: its name, the season being prepared, and where it lies.

    The state may be given by its name or its two postal letters; it is kept as its name. What the
    log tells up to ``as_of`` is done, what it tells of later days is planned; where it is not
    given, it is the day of the newest source.
    """

    name: Name
    season: int = Field(ge=1900, le=2200)
    state: Annotated[Name, AfterValidator(state_name)] | None = None
    region: Name | None = None
    as_of: Day | None = None


class MendSettings(Section):
    """[mend]"""

    names: Literal["row", "numbered"] | None = setting(
        None,
        meaning="How units get names where the file has none of their own: row, the number of the "
        "row in the file; numbered, the name in the file with a number behind it where it stands "
        "more than once, and the number of the row where it is blank.",
        source=OFF,
    )
    names_from: tuple[Name, Name] | None = setting(
        None,
        meaning="Two columns of the file that together name a unit.",
        source=OFF,
    )
    dissolve: Name | None = setting(
        None,
        meaning="Column of the file whose value names the unit; rows of one value are joined.",
        source=OFF,
    )
    specks: Literal["drop", "keep"] | None = setting(
        None,
        meaning="What to do with units smaller than specks_below_ac: drop leaves them out, keep "
        "takes them as units.",
        source=OFF,
    )
    specks_below_ac: float = setting(
        0.01,
        gt=0,
        le=1,
        meaning="A unit smaller than this is a speck.",
        source="judgment of this program, no source",
    )
    duplicates: Literal["keep_first"] | None = setting(
        None,
        meaning="What to do where the same polygon stands under two names in one file: keep_first "
        "takes the first.",
        source=OFF,
    )
    in_holdings: Literal["clip"] | None = setting(
        None,
        meaning="What to do where a unit lies wholly inside another: clip takes its ground out of "
        "the other.",
        source=OFF,
    )

    @model_validator(mode="after")
    def _one_way_to_name(self) -> "MendSettings":
        by_columns = [self.names_from, self.dissolve].count(None) == 0
        if by_columns or (self.names == "row" and (self.names_from or self.dissolve)):
            raise ValueError('give one of names = "row", names_from and dissolve')
        if self.names == "numbered" and self.dissolve:
            raise ValueError('give one of names = "numbered" and dissolve')
        return self


class PropertyHead(Section):
    """What every property file has: which property and season it is, and its sources."""

    property: PropertyInfo
    sources: Sources
    mend: MendSettings = MendSettings()
