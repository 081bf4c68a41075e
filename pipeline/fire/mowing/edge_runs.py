"""Runs along the rings of a block over which the same is to be made, and the ground of it.

A ring is walked half-edge by half-edge, over all chains it is part of, so that a strip goes on
around the corner where one neighbor ends and the next begins.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from shapely.ops import substring

from pipeline.core.units import M_PER_FT
from pipeline.fire.block_model import BlockModel
from pipeline.fire.mowing.strips import GRID_M, band_along, band_m2
from pipeline.ground.ground_rings import Ring

ROUNDING_M = 1e-6
"""Sides of a line shorter than this are left by rounding, and point anywhere."""


NARROWEST_FT = 0.01
"""What is narrower is not drawn."""


@dataclass(frozen=True, slots=True)
class MadeWidths:
    """What is to be made along a run [ft], in this order from the edge on."""

    bare_ft: float
    mown_ft: float
    black_ft: float

    @property
    def anything(self) -> bool:
        """Whether anything is to be made at all."""
        return self.bare_ft > 0 or self.mown_ft > 0 or self.black_ft > 0


@dataclass(frozen=True, slots=True)
class Run:
    """A line [m] with the block on its left hand, along which the same is to be made.

    ``hole`` tells that the ring it is part of bounds a hole in the block.
    """

    block: str
    hole: bool
    line: shapely.LineString
    widths: MadeWidths


@dataclass(frozen=True, slots=True)
class _Part:
    """Part of a chain, from and to [m] along it, walked forward or backward."""

    chain: int
    start_m: float
    end_m: float
    forward: bool


def runs_of(
    model: BlockModel, stretches: gpd.GeoDataFrame, firebreaks: gpd.GeoDataFrame
) -> list[Run]:
    """All runs of all blocks along which something is to be made, ring by ring.

    An edge between two blocks is in the rings of both: each gets its own strip.
    """
    chain_of_half = _half_edges_by_chain(model)
    made = firebreaks[["make_bare_ft", "make_mown_ft", "make_black_ft"]].fillna(0.0).to_numpy(float)
    widths = [MadeWidths(*row) for row in made.tolist()]
    cuts = _stretches_by_chain(stretches)
    lines = [model.chain_line(number) for number in range(len(model.chains))]
    runs = []
    for ring in model.rings:
        pieces = []
        for part in _parts(model, ring, chain_of_half):
            for row, start_m, end_m in _within(cuts.get(part.chain, []), part):
                line = substring(lines[part.chain], start_m, end_m)
                pieces.append((widths[row], line if part.forward else line.reverse()))
        block = model.names[ring.label]
        runs += [Run(block, ring.hole, line, width) for width, line in _joined(pieces)]
    return runs


def _half_edges_by_chain(model: BlockModel) -> tuple[np.ndarray, np.ndarray]:
    """Number of the chain that each half-edge is part of, and its place in it; −1 for none."""
    chain = np.full(len(model.plane.start), -1)
    place = np.full(len(model.plane.start), -1)
    for number, each in enumerate(model.chains):
        for half_edges in (each.half_edges ^ 1, each.half_edges):
            chain[half_edges] = number
            place[half_edges] = np.arange(len(half_edges))
    return chain, place


def _parts(
    model: BlockModel, ring: Ring, chain_of_half: tuple[np.ndarray, np.ndarray]
) -> list[_Part]:
    """A ring as parts of chains, in the order in which they are walked."""
    chain, place = (each[ring.half_edges] for each in chain_of_half)
    along = [each.half_edges for each in model.chains]
    ahead = np.array([along[n][at] for n, at in zip(chain, place, strict=True)]) == ring.half_edges
    due = place[:-1] + np.where(ahead[:-1], 1, -1)
    cut = (np.diff(chain) != 0) | (place[1:] != due) | (ahead[1:] != ahead[:-1])
    parts = []
    for group in np.split(np.arange(len(chain)), np.flatnonzero(cut) + 1):
        number, low, high = int(chain[group[0]]), place[group].min(), place[group].max()
        to_m = np.append(0.0, np.cumsum(model.plane.length_m[along[number]]))
        ends = float(to_m[low]), float(to_m[high + 1])
        parts.append(_Part(number, *ends, forward=bool(ahead[group[0]])))
    return parts


def _stretches_by_chain(stretches: gpd.GeoDataFrame) -> dict[int, list[tuple[int, float, float]]]:
    """Row, start and end [m] of the stretches of each chain."""
    found: dict[int, list[tuple[int, float, float]]] = {}
    columns = stretches[["chain", "start_m", "end_m"]].to_numpy(float).tolist()
    for row, (chain, start_m, end_m) in enumerate(columns):
        found.setdefault(int(chain), []).append((row, start_m, end_m))
    return {chain: sorted(rows, key=lambda r: r[1]) for chain, rows in found.items()}


def _within(
    cuts: list[tuple[int, float, float]], part: _Part
) -> Iterator[tuple[int, float, float]]:
    """Row, start and end [m] of the stretches in a part of a chain, as they are walked."""
    for row, start_m, end_m in cuts if part.forward else cuts[::-1]:
        start, end = max(start_m, part.start_m), min(end_m, part.end_m)
        if end - start > ROUNDING_M:
            yield row, start, end


def _joined(
    pieces: list[tuple[MadeWidths, shapely.LineString]],
) -> Iterator[tuple[MadeWidths, shapely.LineString]]:
    """Pieces of a ring joined as long as the same is to be made; across its beginning too."""
    groups = [(widths, list(group)) for widths, group in groupby(pieces, key=lambda p: p[0])]
    if len(groups) > 1 and groups[0][0] == groups[-1][0]:
        widths, last = groups.pop()
        groups[0] = (widths, last + groups[0][1])
    for widths, group in groups:
        if widths.anything:
            points = np.vstack([shapely.get_coordinates(line) for _, line in group])
            line = shapely.remove_repeated_points(shapely.LineString(points), ROUNDING_M)
            if len(groups) == 1:
                line = _closed(line)
            yield widths, line


def _closed(line: shapely.LineString) -> shapely.LineString:
    """A line around a whole ring that ends exactly where it begins."""
    points = shapely.get_coordinates(line)
    points[-1] = points[0]
    return shapely.LineString(points)


@dataclass(frozen=True, slots=True)
class Band:
    """Ground of one kind to be made along a line [m] on its left hand, between two distances."""

    kind: str
    width_ft: float
    line: shapely.LineString
    near_m: float
    rounded: bool
    ground: shapely.Geometry

    @property
    def far_m(self) -> float:
        """Distance [m] of its far side from the line."""
        return self.near_m + self.width_ft * M_PER_FT

    def shape(self) -> shapely.Geometry:
        """The ground as it is drawn."""
        return band_along(self.ground, self.line, self.near_m, self.far_m, rounded=self.rounded)

    def planned_m2(self) -> float:
        """Area by length, width and corners alone."""
        return max(0.0, band_m2(self.line, self.near_m, self.far_m))


def bands_of(
    run: Run, inside: shapely.Geometry, outside: shapely.Geometry, side: str
) -> list[Band]:
    """What is made along a run: from the edge inward bare line, mown strip and blackline.

    A strip mown outside begins at the edge too; the lines stay inside. Around a hole in the block
    everything is inside, since nobody mows in a pond.
    """
    widths = run.widths
    outer = side == "outside" and not run.hole
    bare_m, mown_m = widths.bare_ft * M_PER_FT, widths.mown_ft * M_PER_FT
    black_m = bare_m if outer else bare_m + mown_m
    bands = [
        Band("bare_line", widths.bare_ft, run.line, 0.0, False, inside),
        Band("mown", widths.mown_ft, run.line.reverse(), 0.0, True, outside)
        if outer
        else Band("mown", widths.mown_ft, run.line, bare_m, False, inside),
        Band("blackline", widths.black_ft, run.line, black_m, False, inside),
    ]
    return [band for band in bands if band.width_ft > NARROWEST_FT]


def block_bands(
    model: BlockModel,
    stretches: gpd.GeoDataFrame,
    firebreaks: gpd.GeoDataFrame,
    exclusions: gpd.GeoDataFrame,
    refusals: pd.DataFrame,
    side: str,
) -> Iterator[tuple[str, list[Band]]]:
    """All bands of each block, block by block; a refused block has none."""
    no_burn = exclusions.loc[exclusions["applies_to"].isin(["burn", "both"]), "geometry"]
    by_block: dict[str, list[Run]] = {}
    refused = set(refusals["block"])
    for run in runs_of(model, stretches, firebreaks):
        if run.block in refused:
            continue
        by_block.setdefault(run.block, []).append(run)
    for block, runs in sorted(by_block.items()):
        inside = model.ground(block)
        outside = shapely.Polygon()
        if side == "outside":
            widest_m = max(run.widths.mown_ft for run in runs) * M_PER_FT
            around = shapely.buffer(inside, 2 * widest_m)
            barred = shapely.union_all([inside, *no_burn], grid_size=GRID_M)
            outside = shapely.difference(around, barred, grid_size=GRID_M)
        yield block, [band for run in runs for band in bands_of(run, inside, outside, side)]
