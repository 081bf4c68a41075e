"""What is told of one thing of the plan."""

from dataclasses import dataclass
from typing import Any

from shapely.geometry.base import BaseGeometry

from pipeline.pages.symbols.looks import Look

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Told:
    """What is told of a thing: its name, what it is, a remark, and the blocks that it is of."""

    name: str
    kind: str
    remark: str
    blocks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Item:
    """A thing of the plan: the layer it is of, what is told of it, its shape [m] and its look."""

    layer: str
    told: Told
    shape: BaseGeometry
    look: Look
