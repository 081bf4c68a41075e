"""How a class of rows is drawn in a viewer of the GeoPackage, whatever language says it."""

from dataclasses import dataclass

from pipeline.pages.palette import Stroke

Range = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Look:
    """How one class is drawn: ``value`` is its text, or the numbers above and up to which it goes.

    ``hatch`` draws the fill as lines, as the ``brush`` of QML where one is named; ``point`` names
    the mark of a place for QML and SLD.
    """

    words: str
    stroke: Stroke
    value: str | Range = ""
    fill: str | None = None
    hatch: bool = False
    brush: str = "b_diagonal"
    point: tuple[str, str] | None = None


@dataclass(frozen=True, slots=True)
class Style:
    """Looks of a layer, told apart by ``column``; one look for all where there is none.

    Rows with an empty cell are drawn like those with the number ``empty_as``, or not at all.
    """

    kind: str  # polygon, line, point or any
    looks: tuple[Look, ...]
    column: str = ""
    empty_as: float | None = None
