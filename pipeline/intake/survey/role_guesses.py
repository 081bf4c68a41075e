"""Which source of a property file a found file could be, why, and how sure that is.

Guesses rest on geometry, whole words of names, and values. They are only ever shown to a person:
what is not sure stays a comment in the property file to begin with.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import PurePosixPath
from typing import Literal

from pipeline.core.layer import Layer
from pipeline.core.names import folded, listed
from pipeline.core.scene_names import days_in, scene_name
from pipeline.intake.rasters.band_names import quantity_of
from pipeline.intake.rasters.picture_list import REFLECTANCE
from pipeline.intake.settings import shipped_names
from pipeline.intake.survey.column_guesses import (
    break_columns,
    exclusion_columns,
    named_column,
    text_values,
    unit_columns,
)
from pipeline.intake.survey.file_look import FoundFile, RasterLook, date_in_name, words_of

Sure = Literal["yes", "likely", "no"]

# Words of the trade and of land records. Common practice, no source.
WAYS = ("road", "lane", "trail", "driveway")
WATERS = ("creek", "stream", "river", "ditch", "canal")
LINE_BREAKS = (*WAYS, *WATERS, "firebreak", "fireline")
GROUND_BREAKS = ("tilled", "plowed", "cropland", "crop", "lake", "reservoir")
LEFT_OUT = ("exclusion", "excluded", "exclude", "avoid")
MAYBE_LEFT_OUT = ("wetland", "pond", "marsh", "building", "yard", "leave", "homestead")
UNITS = ("unit", "paddock", "pasture", "field", "block", "tract", "parcel", "boundary", "bound")
FILLED_FROM = ("hydrant", "tank", "cistern", "standpipe")
SMOKE_ANYWHERE = ("smoke", "receptor")
SMOKE = ("house", "home", "residence", "school", "hospital", "clinic")
NOT_THE_THING = (
    *("watershed", "basin", "district", "easement", "setback", "buffer", "proposed", "planned"),
    *("plan", "future", "former", "plat", "zoning", "sign", "count", "contour", "elevation"),
    *("powerline", "pipeline", "waterline", "utility", "rail", "railroad", "transect", "route"),
)
"""Words that make a layer something else than the thing it is named after."""

SAYING_NOTHING = (
    *("clip", "final", "polygon", "poly", "line", "centerline", "point", "layer", "map", "area"),
    *("zone", "site", "body", "ground", "field", "utm", "wgs", "nad", "shape", "feature", "edit"),
)
"""Words that may follow the thing a layer is named after."""

HEIGHT_WORDS = frozenset({"dem", "dtm", "dsm", "ned", "lidar", "elev", "elevation", "height"})
"""Words of rasters of heights. Common practice, no source."""

AIR_PHOTO_WORDS = frozenset(
    {"aerial", "airphoto", "backdrop", "ortho", "orthophoto", "orthoimage", "orthomosaic", "naip"}
)
"""Words of pictures from the air; so are air and photo together. Common practice, no source."""

UNNAMED = "polygons, and no word of its name says what they are"
INDEX_SCALE = 10_000


@dataclass(frozen=True, slots=True)
class Guess:
    """What a file is taken for. ``role`` is the source's name, None where it could be none.

    ``columns`` are ours = the file's, ``settings`` further keys of the source; ``asks`` says what
    only a person can fill in, and with "yes" in ``sure`` the source can be used without it.
    """

    role: str | None
    reason: str
    sure: Sure
    columns: Mapping[str, str] = field(default_factory=dict)
    settings: Mapping[str, object] = field(default_factory=dict)
    asks: tuple[str, ...] = ()


def guess_role(found: FoundFile, tables: Mapping[str, Layer]) -> Guess:
    """What a file looks like. ``tables`` are those that a property file may name, as declared."""
    if found.content == "unread":
        return Guess(None, found.note, "no")
    if found.raster is not None:
        return _scene(found, found.raster)
    if found.content == "table":
        return _table(found, tables)
    place = PurePosixPath(found.path)
    words = words_of(f"{place.stem} {found.layer or ''}")
    if found.content == "lines":
        return _lines(found, words)
    return _polygons(found, words) if found.content == "polygons" else _points(found, words)


def _first(words: list[str], known: tuple[str, ...]) -> str | None:
    """The first known word among words."""
    return next((word for word in known if word in words), None)


def _thing(found: FoundFile, known: tuple[str, ...]) -> str | None:
    """The known thing that a layer is named after: the last word of its name that says something.

    Other words may be of a place: a pasture of the Home Place is no house, and the pipelines of the
    Creek Ranch are no creek. A layer's own name comes before that of its file.
    """
    texts = (found.layer or "", PurePosixPath(found.path).stem)
    said = next((words for text in texts if (words := _telling_words(text))), [""])
    return said[-1] if said[-1] in known else None


def _telling_words(text: str) -> list[str]:
    """Words of a name without those that may follow any thing."""
    return [word for word in words_of(text) if word not in SAYING_NOTHING]


def _lines(found: FoundFile, words: list[str]) -> Guess:
    """A line layer: something that stops a fire where it is named after such a thing."""
    if "fence" in words or "fenceline" in words:
        reason = "a fence alone does not stop a fire; where its strip is bare, give that width"
        return Guess(None, reason, "no")
    kind = _thing(found, LINE_BREAKS)
    if kind is not None and not _first(words, NOT_THE_THING):
        return _break(found, kind, f'lines, and its name says "{kind}"', "yes")
    kind = _first(words, LINE_BREAKS)
    if kind is None:
        return Guess(None, "lines, and no word of its name is a road, a stream or a break", "no")
    return _break(found, kind, f'lines, and its name says "{kind}" and something else', "likely")


def _break(found: FoundFile, kind: str, reason: str, sure: Sure) -> Guess:
    """An existing break; without a width the program counts it as one of unknown width."""
    columns = break_columns(found)
    settings = {} if "kind" in columns else {"kind": kind}
    asks = () if "width_ft" in columns else ("width_ft = …: the width that will not burn",)
    return Guess("breaks", reason, sure, columns, settings, asks)


def _points(found: FoundFile, words: list[str]) -> Guess:
    """A point layer: gates, water to fill from, photo points, or places to keep smoke off."""
    if _first(words, NOT_THE_THING):
        return Guess(None, "points, and its name says something else too", "no")
    if _thing(found, ("gate",)):
        name = named_column(found, ("name", "label", "gate"))
        columns = {"name": name} if name else {}
        return Guess("gates", 'points, and its name says "gate"', "yes", columns)
    if word := "water place" if {"water", "place"} <= {*words} else _thing(found, FILLED_FROM):
        named = {ours: named_column(found, (ours,)) for ours in ("kind", "name")}
        columns = {ours: theirs for ours, theirs in named.items() if theirs}
        sure: Sure = "likely" if word == "tank" else "yes"
        return Guess("water_places", f'points, and its name says "{word}"', sure, columns)
    if "photo" in words and (point := named_column(found, ("point", "point_id", "name"))):
        return Guess("photo_points", 'points, and its name says "photo"', "yes", {"point": point})
    return _smoke(found, words) or Guess(
        None, "points, and its name says no gate and no house", "no"
    )


def _smoke(found: FoundFile, words: list[str]) -> Guess | None:
    """Places that smoke must not drift onto, points or outlines."""
    word = _first(words, SMOKE_ANYWHERE) or _thing(found, SMOKE)
    if word is None:
        return None
    kind = named_column(found, ("kind", "type", "name"))
    reason = f'{found.content}, and its name says "{word}"'
    return Guess("smoke_points", reason, "yes", {"kind": kind} if kind else {})


def _polygons(found: FoundFile, words: list[str]) -> Guess:
    """A polygon layer: burned ground, smoke places, ground left out, a break or the units."""
    if "patch" in words and {"kind", "date"} <= {c.name.lower() for c in found.columns}:
        return Guess("patches", 'polygons with a kind and a date, and its name says "patch"', "yes")
    if "burned" in words or "scar" in words:
        return _burned(found)
    if other := _first(words, NOT_THE_THING):
        return Guess(None, f'its name says "{other}"', "no")
    smoke = _smoke(found, words)
    if smoke is not None:
        return smoke
    if word := _first(words, LEFT_OUT) or ("no burn" if {"no", "burn"} <= {*words} else None):
        columns = exclusion_columns(found)
        return Guess("exclusions", f'polygons, and its name says "{word}"', "yes", columns)
    if word := _thing(found, MAYBE_LEFT_OUT):
        reason = f'its name says "{word}": whether it is left out of burning or seeding, you know'
        return Guess("exclusions", reason, "likely", exclusion_columns(found))
    if word := _thing(found, GROUND_BREAKS):
        kind = f"{word} ground" if word in ("tilled", "plowed") else word
        return _break(found, kind, f'polygons, and its name says "{word}"', "yes")
    if said := _break_by_values(found):
        return _break(found, said, f'a column says "{said}" in every row', "yes")
    if word := _first(words, UNITS):
        return units_guess(found, f'polygons, and its name says "{word}"', "yes")
    return units_guess(found, UNNAMED, "likely")


def _burned(found: FoundFile) -> Guess:
    """Ground that burns took: only with the unit and the day beside each shape."""
    names = {folded(column.name) for column in found.columns}
    if {"unitid", "date"} <= names:
        return Guess("burned_areas", "burned ground with its unit and its day", "yes")
    reason = "its name says burned, and it has no columns unit_id and date"
    return Guess("burned_areas", reason, "likely", asks=("columns for unit_id and date",))


def _break_by_values(found: FoundFile) -> str | None:
    """The value of a kind column where every row holds something that does not burn."""
    kind = named_column(found, ("kind", "type"))
    said = text_values(found, kind) if kind else ()
    fits = all({*_telling_words(value)[-1:]} & {*GROUND_BREAKS} for value in said)
    return said[0] if said and fits else None


def units_guess(found: FoundFile, reason: str, sure: Sure) -> Guess:
    """The units, with the column that names them where one can."""
    columns, said = unit_columns(found)
    if "unit_id" in columns:
        return Guess("units", reason, sure, columns, asks=(said,) if said else ())
    entry = 'unit_id = "…" into columns' if columns else 'columns = { unit_id = "…" }'
    return Guess("units", reason, sure, columns, asks=(f"{entry}: {said}",))


def _table(found: FoundFile, tables: Mapping[str, Layer]) -> Guess:
    """The table whose columns fit best; all that it needs must be there."""
    given = {folded(column.name) for column in found.columns}
    stem = folded(PurePosixPath(found.path).stem)
    fits = []
    for name, layer in tables.items():
        is_there = {
            c.name: bool(given & set(map(folded, (c.name, *c.aliases)))) for c in layer.columns
        }
        required = [c.name for c in layer.columns if c.required]
        if all(is_there[c] for c in required):
            fits.append((folded(name) in stem, sum(is_there.values()), len(required), name))
    if not fits:
        return Guess(None, "no table of the program has these columns", "no")
    named, shared, required_count, name = max(fits)
    reason = f"{shared} of its columns are those of {name}"
    if name in shipped_names():
        reason = f"{reason}; the program brings such a table: path = … replaces all of it"
        return Guess(name, reason, "likely", asks=("extra = … instead of path adds its rows",))
    return Guess(name, reason, "yes" if named or required_count > 2 else "likely")


def _scene(found: FoundFile, look: RasterLook) -> Guess:
    """A raster: a scene where its day and the scale of its numbers are sure."""
    place = PurePosixPath(found.path)
    if HEIGHT_WORDS & set(words_of(place.stem)):
        asks = ('height_unit = …: "m", "ft" or "us-ft"; look it up, it is never guessed',)
        unit: dict[str, object] = {"height_unit": "…"}
        reason = "its name speaks of heights"
        return Guess("elevation", reason, "likely", settings=unit, asks=asks)
    product = scene_name(place.name)
    day = product.taken or date_in_name(place.name)
    described = listed(look.descriptions, 50)
    is_index = "ndvi" in words_of(f"{place.stem} {described}") or any(
        kind == "ndvi" and "reflectance" not in product.scalings for kind in product.scalings
    )
    bands = _bands(look, product.sensor)
    is_described = is_index or {"red", "nir"} <= bands.keys()
    photo = _air_photo(place.stem)
    if look.is_colored and (photo.sure == "yes" or not is_described):
        return photo
    if found.rows == 1 and is_index:
        guess = Guess(
            "scenes", "one band, and its name says NDVI", "yes", settings={"kind": "ndvi"}
        )
    elif found.rows > 1 and is_index and _is_series(look):
        reason = "NDVI, and each band's description has a day of its own"
        return _scaled(Guess("scenes", reason, "yes", settings={"kind": "ndvi"}), look, {})
    elif {"red", "nir"} <= bands.keys():
        settings = {"kind": "reflectance", "bands": bands}
        guess = Guess("scenes", "its bands are described", "yes", settings=settings)
    elif found.rows == 1:
        return Guess(None, f"one band of {look.lowest:g} to {look.highest:g}: is it NDVI?", "no")
    else:
        return _undescribed(found, day)
    return _scaled(_dated(guess, day), look, product.scalings)


def _air_photo(stem: str) -> Guess:
    """Bytes of red, green and blue: no scene, for an index needs near-infrared; sure by its name.

    A program may call any three bands red, green and blue, so that only a name makes it sure.
    """
    words, reason = set(words_of(stem)), "bytes of red, green and blue"
    if AIR_PHOTO_WORDS & words or {"air", "photo"} <= words:
        return Guess("backdrop", f"{reason}, and its name says air photo", "yes")
    return Guess("backdrop", f"{reason}: is it an air photo?", "likely")


def _is_series(look: RasterLook) -> bool:
    """Whether each band has a day of its own."""
    days = [days_in(text) for text in look.descriptions]
    return all(len(of_band) == 1 for of_band in days) and len(set(days)) == len(days)


def _undescribed(found: FoundFile, day: date | None) -> Guess:
    """Several bands that nothing tells apart."""
    settings = {"kind": "reflectance", "bands": {"red": "…", "nir": "…"}}
    asks = (f"bands: which of the {found.rows} are red and near-infrared",)
    reason = f"{found.rows} bands without descriptions"
    return _dated(Guess("scenes", reason, "likely", settings=settings, asks=asks), day)


def _bands(look: RasterLook, sensor: str | None) -> dict[str, int]:
    """Numbers of the bands that their descriptions name, from 1; none where one is named twice."""
    named = [(quantity_of(text, sensor), n) for n, text in enumerate(look.descriptions, 1)]
    known = [(name, number) for name, number in named if name in REFLECTANCE]
    return dict(known) if len(dict(known)) == len(known) else {}


def _dated(guess: Guess, day: date | None) -> Guess:
    """The guess with its day; without one it is not sure."""
    if day is None:
        asks = (*guess.asks, "date = …: the day the picture was taken")
        return replace(guess, sure="likely", asks=asks)
    reason = f"{guess.reason}; {day} from its name"
    return replace(guess, reason=reason, settings={"date": day, **guess.settings})


def _scaled(guess: Guess, look: RasterLook, scalings: Mapping[str, object]) -> Guess:
    """The guess with its scale: the file's, its producer's, or read from the values."""
    kind = str(guess.settings["kind"])
    if look.is_scaled:
        return replace(guess, reason=f"{guess.reason}; the file gives its scale")
    if not look.has_fractions and kind in scalings:
        return replace(guess, reason=f"{guess.reason}; scale as its producer publishes it")
    largest = max(abs(look.lowest), abs(look.highest))
    if look.has_fractions and largest <= (1.0 if kind == "ndvi" else 2.0):
        return replace(guess, reason=f"{guess.reason}; values are decimals up to {largest:.2f}")
    if not look.has_fractions and 255 < largest <= INDEX_SCALE:
        reason = f"{guess.reason}; scale read from whole numbers up to {largest:g}"
        return replace(guess, reason=reason, settings={**guess.settings, "scale": 0.0001})
    asks = (*guess.asks, f"scale = …: values are {look.lowest:g} to {look.highest:g}")
    return replace(guess, sure="likely", asks=asks)
