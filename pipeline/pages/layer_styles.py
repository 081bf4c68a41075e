"""Styles of the layers as viewers read them: QML for QGIS, SLD 1.1 for others."""

from dataclasses import dataclass
from xml.sax.saxutils import escape, quoteattr

from pipeline.pages import symbols

MM_PER_PT = 25.4 / 72
POINT_NAMES = {"gap": "cross2", "tie-in": "circle", "hand-over": "diamond",
               "sharp corner": "triangle"}  # fmt: skip
SLD_POINTS = {"gap": "x", "tie-in": "circle", "hand-over": "square", "sharp corner": "triangle"}


@dataclass(frozen=True, slots=True)
class Look:
    """How one class of a layer is drawn. ``fill`` None: outline or line only; sizes in points."""

    words: str
    line: str
    width: float
    dash: tuple[float, ...] = ()
    fill: str | None = None
    hatch: bool = False
    point: str | None = None


@dataclass(frozen=True, slots=True)
class Style:
    """Looks of a layer by the values of ``column``; one look for all where there is none."""

    kind: str  # polygon, line or point
    looks: dict[str, Look]
    column: str | None = None


def _breaks() -> dict[str, Look]:
    return {
        status: Look(s.words, s.color, s.width, s.dash)
        for status, s in symbols.BREAK_SYMBOLS.items()
    }


STYLES: dict[str, Style] = {
    "units": Style("polygon", {"": Look("unit", symbols.UNIT_LINE, 0.8)}),
    "exclusions": Style(
        "polygon", {"": Look("left out", symbols.EXCLUSION_COLOR, 0.6, hatch=True)}
    ),
    "burn_blocks": Style(
        "polygon", {"": Look("burn block", symbols.INK, 1.0, fill=symbols.BLOCK_COLOR)}
    ),
    "firebreaks": Style("line", _breaks(), "status"),
    "mow_strips": Style("polygon", {"": Look("mow strip", symbols.STRIP_COLOR, 0.4, hatch=True)}),
    "mow_passes": Style(
        "line", {"": Look("mower pass", symbols.PASS_SYMBOL.color, symbols.PASS_SYMBOL.width)}
    ),
    "seed_areas": Style("polygon", {"": Look("seed area", symbols.SEED_COLOR, 1.0, hatch=True)}),
    "fuel": Style(
        "polygon",
        {k: Look(f"carries a fire: {k}", symbols.UNIT_LINE, 0.6, fill=c)
         for k, c in symbols.FUEL_COLORS.items()},
        "carries",
    ),
    "tie_ins": Style(
        "point",
        {k: Look(symbols.PLACE_WORDS[k], symbols.INK, 1.2, fill="#ffffff", point=k)
         for k in symbols.PLACE_SHAPES},
        "kind",
    ),
}  # fmt: skip


def qml(layer: str) -> str | None:
    """Style of a layer for QGIS, None where its default serves."""
    style = STYLES.get(layer)
    if style is None:
        return None
    looks = list(style.looks.items())
    drawn = "".join(_qml_symbol(style.kind, n, look) for n, (_, look) in enumerate(looks))
    if style.column is None:
        renderer = '<renderer-v2 type="singleSymbol">'
    else:
        rows = "".join(
            f'<category value={quoteattr(value)} symbol="{n}" label={quoteattr(look.words)} '
            'render="true"/>'
            for n, (value, look) in enumerate(looks)
        )
        renderer = (
            f'<renderer-v2 type="categorizedSymbol" attr="{style.column}">'
            f"<categories>{rows}</categories>"
        )
    return (
        '<!DOCTYPE qgis PUBLIC "http://mrcc.com/qgis.dtd" "SYSTEM"><qgis version="3.22">'
        f"{renderer}<symbols>{drawn}</symbols></renderer-v2></qgis>"
    )


def _rgb(color: str, alpha: int = 255) -> str:
    return ",".join(str(int(color[n : n + 2], 16)) for n in (1, 3, 5)) + f",{alpha}"


def _qml_symbol(kind: str, number: int, look: Look) -> str:
    """One symbol, in the property form that old and new versions read."""
    width = f"{look.width * MM_PER_PT:.2f}"
    if kind == "line":
        props = {"line_color": _rgb(look.line), "line_width": width, "capstyle": "flat"}
        if look.dash:
            dashes = ";".join(f"{d * MM_PER_PT:.2f}" for d in look.dash)
            props |= {"use_custom_dash": "1", "customdash": dashes, "customdash_unit": "MM"}
        layers = [("SimpleLine", props)]
        symbol = "line"
    elif kind == "point":
        props = {"name": POINT_NAMES[look.point or "tie-in"], "color": _rgb("#ffffff"),
                 "outline_color": _rgb(look.line), "outline_width": width, "size": "3"}  # fmt: skip
        layers, symbol = [("SimpleMarker", props)], "marker"
    else:
        props = {"outline_color": _rgb(look.line), "outline_width": width,
                 "style": "solid" if look.fill else "b_diagonal" if look.hatch else "no",
                 "color": _rgb(look.fill or look.line, 170)}  # fmt: skip
        layers, symbol = [("SimpleFill", props)], "fill"
    inner = "".join(
        f'<layer class="{name}" enabled="1" locked="0" pass="0">'
        + "".join(f'<prop k="{k}" v="{v}"/>' for k, v in values.items())
        + "</layer>"
        for name, values in layers
    )
    return f'<symbol type="{symbol}" name="{number}" alpha="1">{inner}</symbol>'


def sld(layer: str) -> str | None:
    """Style of a layer as SLD 1.1, None where a viewer's default serves."""
    style = STYLES.get(layer)
    if style is None:
        return None
    rules = "".join(_sld_rule(style, value, look) for value, look in style.looks.items())
    return (
        '<?xml version="1.0" encoding="UTF-8"?><StyledLayerDescriptor version="1.1.0" '
        'xmlns="http://www.opengis.net/sld" xmlns:ogc="http://www.opengis.net/ogc" '
        'xmlns:se="http://www.opengis.net/se"><NamedLayer>'
        f"<se:Name>{layer}</se:Name><UserStyle><se:FeatureTypeStyle>{rules}"
        "</se:FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>"
    )


def _sld_rule(style: Style, value: str, look: Look) -> str:
    where = (
        f"<ogc:Filter><ogc:PropertyIsEqualTo><ogc:PropertyName>{style.column}</ogc:PropertyName>"
        f"<ogc:Literal>{escape(value)}</ogc:Literal></ogc:PropertyIsEqualTo></ogc:Filter>"
        if style.column
        else ""
    )
    parameters = {"stroke": look.line, "stroke-width": f"{look.width:g}"}
    if look.dash:
        parameters["stroke-dasharray"] = " ".join(f"{d:g}" for d in look.dash)
    stroke = "<se:Stroke>" + "".join(
        f'<se:SvgParameter name="{k}">{v}</se:SvgParameter>' for k, v in parameters.items()
    ) + "</se:Stroke>"  # fmt: skip
    fill = (
        f'<se:Fill><se:SvgParameter name="fill">{look.fill}</se:SvgParameter></se:Fill>'
        if look.fill
        else ""
    )
    if style.kind == "line":
        drawn = f"<se:LineSymbolizer>{stroke}</se:LineSymbolizer>"
    elif style.kind == "point":
        mark = SLD_POINTS[look.point or "tie-in"]
        drawn = (
            "<se:PointSymbolizer><se:Graphic><se:Mark>"
            f"<se:WellKnownName>{mark}</se:WellKnownName>{fill}{stroke}</se:Mark>"
            "<se:Size>9</se:Size></se:Graphic></se:PointSymbolizer>"
        )
    else:
        drawn = f"<se:PolygonSymbolizer>{fill}{stroke}</se:PolygonSymbolizer>"
    return f"<se:Rule><se:Name>{escape(look.words)}</se:Name>{where}{drawn}</se:Rule>"
