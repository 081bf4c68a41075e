"""Symbols of the layers for viewers that look for a table of styles: QML for QGIS, SLD for others.

*Source*: OGC 05-078r4, Styled Layer Descriptor 1.1 (2007), and OGC 05-077r4, Symbology Encoding 1.1
(2006). QML is no standard; the plain property form used here is read by its old and new versions.
"""

from collections.abc import Iterable, Mapping
from itertools import pairwise
from xml.sax.saxutils import escape, quoteattr

from pipeline.catalog import LAYERS
from pipeline.pages import palette
from pipeline.pages.palette import ChangeScale, Stroke
from pipeline.pages.words import code_words, heading_words
from pipeline.write.looks import Look, Style
from pipeline.write.work_styles import work_styles

MM_PER_PIXEL = 25.4 / 96


CASING_WIDTH = 2.0  # what the white casing adds to a line [pixel]


PLACE_SIZE = 10.0  # [pixel]


OPEN_END = 1e9  # end of an open class


NEVER_YEARS = 1000.0  # no burn on record is drawn like one long ago


PLACES: Mapping[str, tuple[str, tuple[str, str]]] = {
    "gap": ("gap in a break", ("cross2", "x")),
    "away": ("edge away from its break", ("pentagon", "pentagon")),
    "tie_in": ("tie-in: lead the line to the break", ("circle", "circle")),
    "side_change": ("line goes over to the other side of a break", ("star", "star")),
    "hand_over": ("hand-over from break to break", ("diamond", "square")),
    "sharp_corner": ("sharp corner: bend the line around it", ("triangle", "triangle")),
}


BREAK_WORDS = {
    "existing": "existing break",
    "prepare": "to be prepared",
    "gap": "gap to be closed",
}


MOVE_STROKE = Stroke(palette.FAINT_INK, 1.0, "2 3", cased=False)


CHANGE_COLUMN = "change_vs_reference"
"""Change that the map is drawn by: beyond that of the unburned units, as in the report."""


def layer_styles(scale: ChangeScale) -> dict[str, Style]:
    """Style of each layer that has one; ``scale`` has the classes of change in greenness."""
    thin, strip, seed = palette.UNIT_STROKE, palette.STRIP_STROKE, palette.SEED_STROKE
    dark = Stroke(palette.FAINT_INK, 1.0, cased=False)
    years = _classes(
        "years_since_burn", palette.YEARS_UPPER, palette.years_classes(), empty_as=NEVER_YEARS
    )
    left_out = Look("left out", dark, fill=palette.TEXTURE, hatch=True)
    sown = Look("seed area", seed, fill=palette.SEED_FILL, hatch=True)
    spots = palette.PATCH_STROKE
    patch = Look("patch of weeds or brush", spots, fill=spots.color, hatch=True, brush="dense5")
    eye = palette.PHOTO_STROKE
    photo = Look("photo point", eye, fill=palette.CASING, point=("triangle", "triangle"))
    return {
        "units": _one("polygon", Look("unit", thin)),
        "excluded_ground": _one("polygon", left_out),
        "burn_blocks": _one("polygon", Look("burn block", palette.BLOCK_STROKE)),
        "firebreaks": _break_style(),
        "tie_ins": _place_style(),
        "mow_strips": _one("polygon", Look("mow strip", strip, fill=palette.STRIP_FILL)),
        "made_lines": _line_style(),
        "mow_passes": _one("line", Look("mower pass", strip)),
        "mow_moves": _one("line", Look("way without mowing", MOVE_STROKE)),
        "seed_areas": _one("polygon", sown),
        "patch_ground": _one("polygon", patch),
        "photo_points": _one("point", photo),
        "fuel": _fuel_style(),
        "history": years,
        "fire_history": years,
        "greenness": _classes(CHANGE_COLUMN, change_limits(scale), scale.classes()),
        **work_styles(),
    }


def _break_style() -> Style:
    strokes = palette.BREAK_STROKES.items()
    looks = (Look(BREAK_WORDS[status], stroke, status) for status, stroke in strokes)
    return Style("line", tuple(looks), "status")


def _line_style() -> Style:
    """Bare lines and blacklines, each kind in its own tone."""
    thin = Stroke(palette.FAINT_INK, 0.5, cased=False)
    looks = (Look(code_words(k), thin, k, fill=fill) for k, fill in palette.LINE_FILLS.items())
    return Style("polygon", tuple(looks), "kind")


def _place_style() -> Style:
    mark = Stroke(palette.INK, 1.5, cased=False)
    looks = (
        Look(words, mark, kind, palette.CASING, point=point)
        for kind, (words, point) in PLACES.items()
    )
    return Style("point", tuple(looks), "kind")


def _fuel_style() -> Style:
    """Units by whether their fuel carries a fire; what is unknown is hatched."""
    looks = (
        Look(
            f"carries a fire: {code_words(carries)}",
            palette.UNIT_STROKE,
            carries,
            color,
            hatch=carries == "unknown",
        )
        for carries, color in palette.CARRIES_COLORS.items()
    )
    return Style("polygon", tuple(looks), "carries")


def change_limits(scale: ChangeScale) -> tuple[float, ...]:
    """Upper ends of the classes of change but the last, symmetric about zero."""
    return (*(-edge for edge in reversed(scale.edges)), *scale.edges)


def _one(kind: str, look: Look) -> Style:
    return Style(kind, (look,))


def _classes(
    column: str,
    uppers: Iterable[float],
    classes: Iterable[tuple[str, str]],
    *,
    empty_as: float | None = None,
) -> Style:
    """Style of a number by classes that follow on each other."""
    ends = (-OPEN_END, *uppers, OPEN_END)
    return Style(
        "polygon",
        tuple(
            Look(words, palette.UNIT_STROKE, (low, high), color)
            for (low, high), (color, words) in zip(pairwise(ends), classes, strict=True)
        ),
        column,
        empty_as,
    )


def qml(layer: str, style: Style) -> str:
    """Style of a layer for QGIS, with the labels of its fields."""
    symbols = ((kind, look) for look in style.looks for kind in _kinds(style))
    drawn = "".join(_qml_symbol(kind, n, look) for n, (kind, look) in enumerate(symbols))
    aliases = "".join(
        f"<alias index={quoteattr(str(n))} field={quoteattr(column.name)} "
        f"name={quoteattr(heading_words(column))}/>"
        for n, column in enumerate(LAYERS[layer].columns, start=1)  # the key fid is field 0
    )
    return (
        "<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>"
        f'<qgis version="3.22"><renderer-v2 {_qml_classes(style)}<symbols>{drawn}</symbols>'
        f"</renderer-v2><aliases>{aliases}</aliases></qgis>"
    )


def _kinds(style: Style) -> tuple[str, ...]:
    """Kinds of shapes that each look of a style has a symbol for."""
    return ANY_KIND if style.kind == "any" else (style.kind,)


ANY_KIND = ("polygon", "line", "point")


def _qml_rules(style: Style) -> str:
    """Rest of the opening tag of a renderer by rules, which may draw each shape by its own kind.

    A viewer draws a shape by the rules whose symbol is of its kind and leaves out the others.
    """
    rules: list[str] = []
    for look in style.looks:
        test = f"{style.column} = '{look.value}'" if style.column else ""
        for kind in _kinds(style):
            words = look.words if kind == "polygon" else f"{look.words} ({kind})"
            number = len(rules)
            rules.append(
                f'<rule key="r{number}" symbol="{number}" label={quoteattr(words)} '
                f"filter={quoteattr(test)}/>"
            )
    return f'type="RuleRenderer"><rules key="root">{"".join(rules)}</rules>'


def _qml_classes(style: Style) -> str:
    """Rest of the opening tag of the renderer, and its classes."""
    if style.kind == "any":
        return _qml_rules(style)
    if not style.column:
        return 'type="singleSymbol">'
    rows = []
    for number, look in enumerate(style.looks):
        drawn = f'symbol="{number}" label={quoteattr(look.words)} render="true"/>'
        if isinstance(look.value, str):
            rows.append(f"<category value={quoteattr(look.value)} {drawn}")
        else:
            low, high = look.value
            rows.append(f'<range lower="{low:.6f}" upper="{high:.6f}" {drawn}')
    if isinstance(style.looks[0].value, str):
        return (
            f'type="categorizedSymbol" attr="{style.column}">'
            f"<categories>{''.join(rows)}</categories>"
        )
    drawn_by = style.column
    if style.empty_as is not None:
        drawn_by = f"coalesce({style.column}, {style.empty_as:g})"
    return (
        f'type="graduatedSymbol" graduationMethod="GraduatedColor" attr="{drawn_by}">'
        f"<ranges>{''.join(rows)}</ranges>"
    )


def _rgb(color: str, alpha: int = 255) -> str:
    return ",".join(str(int(color[n : n + 2], 16)) for n in (1, 3, 5)) + f",{alpha}"


def _mm(pixels: float) -> str:
    return f"{pixels * MM_PER_PIXEL:.2f}"


def _qml_symbol(kind: str, number: int, look: Look) -> str:
    """One symbol; a line that has a casing lies on a wider white one."""
    stroke = look.stroke
    edge = {"outline_color": _rgb(stroke.color), "outline_width": _mm(stroke.width)}
    if kind == "line":
        symbol, layers = "line", [_qml_line(stroke)]
        if stroke.cased:
            casing = Stroke(palette.CASING, stroke.width + CASING_WIDTH)
            layers.insert(0, _qml_line(casing))
    elif kind == "point" and look.point:
        symbol, mark = "marker", {"name": look.point[0], "size": _mm(PLACE_SIZE)}
        layers = [("SimpleMarker", mark | {"color": _rgb(look.fill or palette.CASING)} | edge)]
    else:
        pattern = "no" if look.fill is None else look.brush if look.hatch else "solid"
        area = {"style": pattern, "color": _rgb(look.fill or palette.GROUND)}
        layers = [
            ("SimpleFill", area | edge | {"outline_style": "dash" if stroke.dash else "solid"})
        ]
        symbol = "fill"
    inner = "".join(
        f'<layer class="{name}" enabled="1" locked="0" pass="0">'
        + "".join(f'<prop k="{k}" v="{v}"/>' for k, v in values.items())
        + "</layer>"
        for name, values in layers
    )
    return f'<symbol type="{symbol}" name="{number}" alpha="1">{inner}</symbol>'


def _qml_line(stroke: Stroke) -> tuple[str, dict[str, str]]:
    properties = {
        "line_color": _rgb(stroke.color),
        "line_width": _mm(stroke.width),
        "line_width_unit": "MM",
        "capstyle": "flat",
    }
    if stroke.dash:
        dashes = ";".join(_mm(float(part)) for part in stroke.dash.split())
        properties |= {"use_custom_dash": "1", "customdash": dashes, "customdash_unit": "MM"}
    return "SimpleLine", properties


def sld(layer: str, style: Style) -> str:
    """Style of a layer as SLD 1.1."""
    rules = "".join(_sld_rule(style, look) for look in style.looks)
    return (
        '<StyledLayerDescriptor version="1.1.0" xmlns="http://www.opengis.net/sld" '
        'xmlns:ogc="http://www.opengis.net/ogc" xmlns:se="http://www.opengis.net/se"><NamedLayer>'
        f"<se:Name>{layer}</se:Name><UserStyle><se:FeatureTypeStyle>{rules}"
        "</se:FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>"
    )


def _sld_rule(style: Style, look: Look) -> str:
    """Rule for one class; patterns of a fill have no common name, so a hatch is a faint fill.

    Shapes of any kind have a line and a mark: the standard draws the line around a polygon and the
    mark in its middle.
    """
    stroke = {"stroke": look.stroke.color, "stroke-width": f"{look.stroke.width:g}"}
    if look.stroke.dash:
        stroke["stroke-dasharray"] = look.stroke.dash
    line = f"<se:Stroke>{_parameters(stroke)}</se:Stroke>"
    fill = ""
    if look.fill:
        opacity = "0.3" if look.hatch else "1"
        fill = _parameters({"fill": look.fill, "fill-opacity": opacity})
        fill = f"<se:Fill>{fill}</se:Fill>"
    drawn = ""
    if style.kind in ("line", "any"):
        drawn = f"<se:LineSymbolizer>{line}</se:LineSymbolizer>"
    if look.point:
        drawn += (
            "<se:PointSymbolizer><se:Graphic><se:Mark>"
            f"<se:WellKnownName>{look.point[1]}</se:WellKnownName>{fill}{line}</se:Mark>"
            f"<se:Size>{PLACE_SIZE:g}</se:Size></se:Graphic></se:PointSymbolizer>"
        )
    if style.kind == "polygon":
        drawn = f"<se:PolygonSymbolizer>{fill}{line}</se:PolygonSymbolizer>"
    return (
        f"<se:Rule><se:Name>{escape(look.words)}</se:Name>{_filter(style, look)}{drawn}</se:Rule>"
    )


def _parameters(values: Mapping[str, str]) -> str:
    return "".join(
        f'<se:SvgParameter name="{name}">{value}</se:SvgParameter>'
        for name, value in values.items()
    )


def _filter(style: Style, look: Look) -> str:
    """Which rows a rule is for; empty where it is for all."""
    if not style.column:
        return ""
    if isinstance(look.value, str):
        test = _compare("EqualTo", style.column, look.value)
    else:
        low, high = (f"{end:.6f}" for end in look.value)
        above = _compare("GreaterThan", style.column, low)
        test = f"<ogc:And>{above}{_compare('LessThanOrEqualTo', style.column, high)}</ogc:And>"
        if style.empty_as is not None and look.value[0] < style.empty_as <= look.value[1]:
            empty = f"<ogc:PropertyName>{style.column}</ogc:PropertyName>"
            test = f"<ogc:Or>{test}<ogc:PropertyIsNull>{empty}</ogc:PropertyIsNull></ogc:Or>"
    return f"<ogc:Filter>{test}</ogc:Filter>"


def _compare(how: str, column: str, value: str) -> str:
    return (
        f"<ogc:PropertyIs{how}><ogc:PropertyName>{column}</ogc:PropertyName>"
        f"<ogc:Literal>{escape(value)}</ogc:Literal></ogc:PropertyIs{how}>"
    )
