"""Symbols of the layers for QGIS, as QML: a rule for each class, patterns and labels.

*Source*: QML is no standard; the plain property form used here is read by its old and new versions.
"""

from collections.abc import Iterable
from xml.sax.saxutils import quoteattr

from pipeline.core.layer import Layer
from pipeline.pages import palette
from pipeline.pages.palette import Stroke
from pipeline.pages.symbols.looks import Look, Style, Test
from pipeline.pages.words import cell_words, heading_words

MM_PER_PIXEL = 25.4 / 96


CASING_WIDTH = 2.0
"""What the white casing adds to a line [pixel]."""


PLACE_SIZE = 10.0
"""Size of a mark [pixel]."""


BRUSHES = {
    "excluded": "diagonal_x",
    "seeded": "dense6",
    "bare": "horizontal",
    "patched": "dense5",
    "doubt": "b_diagonal",
    "unjudged": "dense7",
    "in_part": "f_diagonal",
    "burn": "f_diagonal",
    "seed": "dense6",
    "graze": "dense7",
    "rest": "b_diagonal",
    "mow": "vertical",
    "hay": "horizontal",
    "spray": "cross",
    "till": "diagonal_x",
    "cut": "dense3",
    "drag": "dense5",
    "move": "dense4",
    "harvest": "dense2",
    "stop_and_ask": "diagonal_x",
    "think_again": "b_diagonal",
}
"""Qt's name of the brush that comes nearest to each pattern."""


MARKS = {"x": "cross2"}
"""Names of the marks that are not called as here."""


Properties = dict[str, str]


APOSTROPHE = "'"


def qml(layer: Layer, style: Style) -> str:
    """Style of a layer for QGIS, with the labels of its rows and of its fields."""
    return (
        "<!DOCTYPE qgis PUBLIC 'http://mrcc.com/qgis.dtd' 'SYSTEM'>"
        f'<qgis version="3.22" labelsEnabled="{int(bool(style.label))}">'
        f"{renderer(style)}{labels(layer, style)}{choices(layer)}{aliases(layer)}</qgis>"
    )


def choices(layer: Layer) -> str:
    """Codes of the fields with their words, so that a form and a table show words."""
    told = "".join(
        f"<field name={quoteattr(column.name)}>"
        '<editWidget type="ValueMap"><config><Option type="Map"><Option type="List" name="map">'
        + "".join(
            f'<Option type="Map"><Option type="QString" name={quoteattr(cell_words(code, column))} '
            f"value={quoteattr(code)}/></Option>"
            for code in column.choices
        )
        + "</Option></Option></config></editWidget></field>"
        for column in layer.columns
        if column.choices
    )
    return f"<fieldConfiguration>{told}</fieldConfiguration>"


def renderer(style: Style) -> str:
    """What draws the rows: a rule and a symbol for each look, and for each kind of shape."""
    symbols = [(kind, look) for look in style.looks for kind in _kinds(style)]
    drawn = "".join(_symbol(kind, n, look) for n, (kind, look) in enumerate(symbols))
    return f"<renderer-v2 {_rules(style, symbols)}<symbols>{drawn}</symbols></renderer-v2>"


def aliases(layer: Layer) -> str:
    """Headings of the fields, with their units."""
    told = "".join(
        f"<alias index={quoteattr(str(n))} field={quoteattr(column.name)} "
        f"name={quoteattr(heading_words(column))}/>"
        for n, column in enumerate(layer.columns, start=1)  # the key fid is field 0
    )
    return f"<aliases>{told}</aliases>"


ANY_KIND = ("polygon", "line", "point")


def _kinds(style: Style) -> tuple[str, ...]:
    """Kinds of shapes that each look of a style has a symbol for."""
    return ANY_KIND if style.kind == "any" else (style.kind,)


def _rules(style: Style, symbols: Iterable[tuple[str, Look]]) -> str:
    """Rest of the opening tag of the renderer, and its rules.

    A row is drawn by each rule that it passes, in their order, so that doubt lies over the class.
    A viewer draws a shape by the rules whose symbol is of its kind and leaves out the others.
    """
    rules = "".join(
        f'<rule key="r{number}" symbol="{number}" '
        f"label={quoteattr(look.words if kind == _kinds(style)[0] else f'{look.words} ({kind})')} "
        f"filter={quoteattr(expression((*style.only, *look.tests)))}/>"
        for number, (kind, look) in enumerate(symbols)
    )
    return f'type="RuleRenderer"><rules key="root">{rules}</rules>'


def expression(tests: Iterable[Test]) -> str:
    """Tests of a look in the viewer's language, which SQL knows as well; empty for none."""
    return " AND ".join(map(_comparison, tests))


def _comparison(test: Test) -> str:
    column = f'"{test.column}"'
    if test.is_empty:
        return f"{column} IS NULL"
    if test.among:
        quoted = (f"'{text.replace(APOSTROPHE, 2 * APOSTROPHE)}'" for text in test.among)
        return f"{column} IN ({', '.join(quoted)})"
    return f"{column} > {test.above:.6f} AND {column} <= {test.up_to:.6f}"


def labels(layer: Layer, style: Style) -> str:
    """Names or figures on the rows, dark on a light rim; those without room are left out."""
    if not style.label:
        return ""
    column, words = layer.column(style.label), f'"{style.label}"'
    if column.kind == "number":
        words = f"format_number({words}, {column.places})"
        if column.signed:
            words = f"CASE WHEN \"{style.label}\" > 0 THEN '+' ELSE '' END || {words}"
    if style.only:
        words = f"CASE WHEN {expression(style.only)} THEN {words} END"
    rim = f'<text-buffer bufferDraw="1" bufferSize="0.6" bufferColor="{_rgb(palette.CASING)}"/>'
    return (
        f'<labeling type="simple"><settings><text-style fieldName={quoteattr(words)} '
        f'isExpression="1" fontSize="10" fontWeight="63" textColor="{_rgb(palette.INK)}">'
        f"{rim}</text-style>"
        '<placement placement="0"/></settings></labeling>'
    )


def _rgb(color: str, alpha: int = 255) -> str:
    return ",".join(str(int(color[n : n + 2], 16)) for n in (1, 3, 5)) + f",{alpha}"


def _mm(pixels: float) -> str:
    return f"{pixels * MM_PER_PIXEL:.2f}"


def _symbol(kind: str, number: int, look: Look) -> str:
    """One symbol: what is drawn of it first lies lowest."""
    name, layers = {"line": ("line", _line), "point": ("marker", _marker)}.get(
        kind, ("fill", _fill)
    )
    inner = "".join(
        f'<layer class="{layer}" enabled="1" locked="0" pass="0">'
        + "".join(f'<prop k="{k}" v="{v}"/>' for k, v in values.items())
        + "</layer>"
        for layer, values in layers(look)
    )
    return f'<symbol type="{name}" name="{number}" alpha="1">{inner}</symbol>'


def _outline(stroke: Stroke) -> Properties:
    return {
        "outline_color": _rgb(stroke.color),
        "outline_width": _mm(stroke.width),
        "outline_style": "dash" if stroke.dash else "solid",
    }


def _marker(look: Look) -> list[tuple[str, Properties]]:
    """A mark at a place."""
    mark = look.mark or "circle"
    size = {"name": MARKS.get(mark, mark), "size": _mm(PLACE_SIZE)}
    color = {"color": _rgb(look.fill or palette.CASING)}
    return [("SimpleMarker", size | color | _outline(look.stroke))]


def _fill(look: Look) -> list[tuple[str, Properties]]:
    """Ground in its color, the pattern on it, and the outline."""
    no_edge = {"outline_style": "no"}
    grounds = [(look.fill, "solid")] if look.fill else []
    if look.pattern:
        grounds.append((palette.PATTERN_INKS[look.pattern], BRUSHES[look.pattern]))
    drawn = [{"style": brush, "color": _rgb(color)} | no_edge for color, brush in grounds]
    edge = {"style": "no"} | (no_edge if look.over else _outline(look.stroke))
    return [("SimpleFill", properties) for properties in (*drawn, edge)]


def _line(look: Look) -> list[tuple[str, Properties]]:
    """A line; one that has a casing lies on a wider white one."""
    stroke = look.stroke
    casing = Stroke(palette.CASING, stroke.width + CASING_WIDTH)
    return [_pen(each) for each in ((casing, stroke) if stroke.cased else (stroke,))]


def _pen(stroke: Stroke) -> tuple[str, Properties]:
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
