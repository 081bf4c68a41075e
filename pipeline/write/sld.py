"""Symbols of the layers as SLD 1.1, for viewers that read the standard.

*Source*: OGC 05-078r4, Styled Layer Descriptor 1.1 (2007), and OGC 05-077r4, Symbology Encoding 1.1
(2006).
"""

from collections.abc import Mapping
from xml.sax.saxutils import escape

from pipeline.pages import palette
from pipeline.pages.symbols.looks import Look, Style, Test

PLACE_SIZE = 10.0
"""Size of a mark [pixel]."""


MARKS = {"pentagon": "pentagon", "diamond": "square"}
"""Well-known names of the marks that the standard lacks; viewers know a pentagon by this name."""


PATTERN_OPACITY = "0.3"
"""Patterns have no common name in the standard: they are told by a faint fill of their ink."""


def sld(layer: str, style: Style) -> str:
    """Style of a layer as SLD 1.1. A row is drawn by each rule that it passes, in their order."""
    rules = "".join(_rule(style, look) for look in style.looks)
    return (
        '<StyledLayerDescriptor version="1.1.0" xmlns="http://www.opengis.net/sld" '
        'xmlns:ogc="http://www.opengis.net/ogc" xmlns:se="http://www.opengis.net/se"><NamedLayer>'
        f"<se:Name>{layer}</se:Name><UserStyle><se:FeatureTypeStyle>{rules}{_label(style)}"
        "</se:FeatureTypeStyle></UserStyle></NamedLayer></StyledLayerDescriptor>"
    )


def _rule(style: Style, look: Look) -> str:
    """Rule for one class.

    Shapes of any kind have a line and a mark: the standard draws the line around a polygon and the
    mark in its middle.
    """
    stroke = {"stroke": look.stroke.color, "stroke-width": f"{look.stroke.width:g}"}
    if look.stroke.dash:
        stroke["stroke-dasharray"] = look.stroke.dash
    line = f"<se:Stroke>{_parameters(stroke)}</se:Stroke>"
    fill = _fill(look)
    drawn = ""
    if style.kind == "polygon":
        drawn = f"<se:PolygonSymbolizer>{fill}{'' if look.over else line}</se:PolygonSymbolizer>"
    if style.kind in ("line", "any"):
        drawn = f"<se:LineSymbolizer>{line}</se:LineSymbolizer>"
    if look.mark:
        drawn += (
            "<se:PointSymbolizer><se:Graphic><se:Mark><se:WellKnownName>"
            f"{MARKS.get(look.mark, look.mark)}</se:WellKnownName>{fill}{line}</se:Mark>"
            f"<se:Size>{PLACE_SIZE:g}</se:Size></se:Graphic></se:PointSymbolizer>"
        )
    told = (*style.only, *look.tests)
    tests = "".join(map(_comparison, told))
    if len(told) > 1:
        tests = f"<ogc:And>{tests}</ogc:And>"
    test = f"<ogc:Filter>{tests}</ogc:Filter>" if tests else ""
    return f"<se:Rule><se:Name>{escape(look.words)}</se:Name>{test}{drawn}</se:Rule>"


def _fill(look: Look) -> str:
    """Fill of a look; its pattern alone where it has no color."""
    if look.fill:
        color, opacity = look.fill, "1"
    elif look.pattern:
        color, opacity = palette.PATTERN_INKS[look.pattern], PATTERN_OPACITY
    else:
        return ""
    return f"<se:Fill>{_parameters({'fill': color, 'fill-opacity': opacity})}</se:Fill>"


def _label(style: Style) -> str:
    """A rule that writes the name of each row."""
    if not style.label:
        return ""
    name = f"<ogc:PropertyName>{style.label}</ogc:PropertyName>"
    return (
        f"<se:Rule><se:TextSymbolizer><se:Label>{name}</se:Label>"
        f"<se:Font>{_parameters({'font-size': '12'})}</se:Font>"
        f"<se:Halo><se:Fill>{_parameters({'fill': palette.CASING})}</se:Fill></se:Halo>"
        f"<se:Fill>{_parameters({'fill': palette.INK})}</se:Fill></se:TextSymbolizer></se:Rule>"
    )


def _parameters(values: Mapping[str, str]) -> str:
    return "".join(
        f'<se:SvgParameter name="{name}">{value}</se:SvgParameter>'
        for name, value in values.items()
    )


def _comparison(test: Test) -> str:
    """One test of a look as the standard's filter."""
    if test.is_empty:
        name = f"<ogc:PropertyName>{test.column}</ogc:PropertyName>"
        return f"<ogc:PropertyIsNull>{name}</ogc:PropertyIsNull>"
    if test.among:
        equal = [_compare("EqualTo", test.column, text) for text in test.among]
        return equal[0] if len(equal) == 1 else f"<ogc:Or>{''.join(equal)}</ogc:Or>"
    above = _compare("GreaterThan", test.column, f"{test.above:.6f}")
    up_to = _compare("LessThanOrEqualTo", test.column, f"{test.up_to:.6f}")
    return f"<ogc:And>{above}{up_to}</ogc:And>"


def _compare(how: str, column: str, value: str) -> str:
    return (
        f"<ogc:PropertyIs{how}><ogc:PropertyName>{column}</ogc:PropertyName>"
        f"<ogc:Literal>{escape(value)}</ogc:Literal></ogc:PropertyIs{how}>"
    )
