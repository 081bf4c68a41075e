"""Stretches of a line along a break that is there, and what is said of the rest of it.

A hole between two runs along breaks is looked up on the breaks: they do not meet there (a gap),
or the break is whole and the line lies away from it.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import geopandas as gpd
import numpy as np
import shapely

from pipeline.core.units import M_PER_FT
from pipeline.fire.breaks.break_lines import Cover, break_cover
from pipeline.fire.breaks.break_runs import STEADY_DEG, Covered, Reach, RunsOfLine, by_length
from pipeline.fire.breaks.drawn_breaks import DrawnBreaks
from pipeline.fire.settings import FirebreakSettings
from pipeline.ground.intervals import JOIN_M, Interval, common, joined, total_m, turned, without

STEP_M = 2.0
"""Points on a line whose way to a break is taken stand this close."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Part of a line, from and to [m], with the row of the break it runs along (−1: none).

    ``near`` tells why a part with a break nearby is not credited: the break has a ``gap``, the
    line lies ``away`` from a whole one, or runs ``beside`` one out of reach. ``near_ft`` is the
    way between the ends of the gap, or the farthest way to the break. ``hand_over_ft`` is the way
    to the break of the next part, where the two do not meet.
    """

    start_m: float
    end_m: float
    status: str
    row: int = -1
    near: str | None = None
    near_row: int = -1
    near_ft: float = math.nan
    hand_over_ft: float = math.nan


def credit_lines(
    lines: np.ndarray, breaks: gpd.GeoSeries, settings: FirebreakSettings
) -> list[list[Piece]]:
    """Each line cut into pieces that follow each other: existing, gap and prepare."""
    ground = DrawnBreaks.of(breaks.to_numpy())
    reach = Reach.of(settings)
    parts = gpd.GeoSeries(ground.parts, crs=breaks.crs)
    angle_deg = settings.angle_deg
    kinds = (
        (reach.follow_m, angle_deg),
        (reach.along_m, angle_deg),
        (reach.follow_m, min(angle_deg, STEADY_DEG)),
    )
    smoothing_m = settings.smoothing_ft * M_PER_FT
    covers = [
        _by_line(
            break_cover(lines, parts, along_m=m, angle_deg=deg, smoothing_m=smoothing_m), lines
        )
        for m, deg in kinds
    ]
    return [
        line_pieces(RunsOfLine.of(line, ground, reach, covered))
        for line, covered in zip(lines, zip(*covers, strict=True), strict=True)
    ]


def _by_line(cover: Cover, lines: np.ndarray) -> list[Covered]:
    """Covered intervals of each line by part of the break."""
    result: list[Covered] = [{} for _ in lines]
    columns = (cover.line, cover.row, cover.start_m, cover.end_m)
    for line, part, start, end in zip(*(c.tolist() for c in columns), strict=True):
        result[line].setdefault(part, []).append((start, end))
    return result


def line_pieces(line: RunsOfLine) -> list[Piece]:
    """The line cut into pieces without a crack, from its start."""
    existing = _existing(line)
    spans = joined((piece.start_m, piece.end_m) for piece in existing)
    holes = list(_told_holes(line))
    taken = joined([*spans, *((piece.start_m, piece.end_m) for piece in holes)], 0.0)
    pieces = sorted([*existing, *holes, *_beside(line, taken)], key=lambda p: p.start_m)
    length_m = line.length_m
    return _closed_up(_turned_back(pieces, line.shift_m, length_m), length_m)


def _existing(line: RunsOfLine) -> list[Piece]:
    """Credited pieces; where several breaks run, the one close by for longest counts."""
    left = joined(span for run in line.credited for span in run.spans)
    strands = [strand for run in line.credited for strand in run.strands]
    found: list[tuple[Interval, int]] = []
    for strand in sorted(strands, key=by_length):
        found += [(cut, strand.part) for cut in common(left, [strand.span])]
        left = without(left, [strand.span])
    found.sort()
    result: list[Piece] = []
    for number, ((start, end), part) in enumerate(found):
        (on, _), following = found[(number + 1) % len(found)]
        goes_on = abs(on - end) <= 2 * JOIN_M or line.closes(on, end)
        apart_m = 0.0
        if goes_on and following != part:
            apart_m = line.meeting(end, end, part, following).apart_m
        row = int(line.ground.row[part])
        hand_over_ft = apart_m / M_PER_FT if apart_m > 0 else math.nan
        piece = Piece(start, end, "existing", row, hand_over_ft=hand_over_ft)
        if result and _one_piece(result[-1], piece):
            piece = replace(piece, start_m=result.pop().start_m)
        result.append(piece)
    return result


def _told_holes(line: RunsOfLine) -> Iterator[Piece]:
    """Holes between credited runs: gaps in the break, and ways of the line away from it."""
    for hole in line.holes(line.credited):
        if hole.length_m > max(line.reach.gap_m, line.reach.away_m):
            continue
        meeting = line.meeting_over(hole)
        row = int(line.ground.row[hole.before.part_at(hole.start_m)])
        ends = hole.start_m, hole.end_m
        if meeting.apart_m == 0 and hole.length_m <= line.reach.away_m:
            far_ft = _farthest_m(line.part(*ends), meeting.shape) / M_PER_FT
            yield Piece(*ends, "prepare", near="away", near_row=row, near_ft=far_ft)
        elif meeting.apart_m > 0 and hole.length_m <= line.reach.gap_m:
            apart_ft = meeting.apart_m / M_PER_FT
            yield Piece(*ends, "gap", near="gap", near_row=row, near_ft=apart_ft)


def _beside(line: RunsOfLine, taken: list[Interval]) -> Iterator[Piece]:
    """Runs beside a break that is out of the inner reach for too much of their length."""
    for run in line.runs:
        beside = common(run.wide, run.steady)
        if run in line.credited or total_m(beside) < line.least_m:
            continue
        for strand in sorted(run.strands, key=by_length):
            cuts = without(common([strand.span], beside), taken)
            taken = joined([*taken, *cuts], 0.0)
            shape = line.ground.parts[strand.part]
            for cut in cuts:
                far_ft = _farthest_m(line.part(*cut), shape) / M_PER_FT
                row = int(line.ground.row[strand.part])
                yield Piece(*cut, "prepare", near="beside", near_row=row, near_ft=far_ft)


def _one_piece(one: Piece, two: Piece) -> bool:
    """Whether two existing pieces follow each other along one break that leads on."""
    follows = abs(two.start_m - one.end_m) <= 2 * JOIN_M
    return follows and one.row == two.row and math.isnan(one.hand_over_ft)


def _farthest_m(way: shapely.Geometry, shape: shapely.Geometry) -> float:
    """Way [m] to a shape from the point of a line that is farthest from it."""
    points = shapely.points(shapely.get_coordinates(shapely.segmentize(way, STEP_M)))
    return float(shapely.distance(points, shape).max())


def _turned_back(pieces: list[Piece], shift_m: float, length_m: float) -> list[Piece]:
    """Pieces counted from the start of the line; one that passes the end is cut there."""
    result = []
    for piece in pieces:
        if not shift_m and piece.end_m <= length_m:
            result.append(piece)
            continue
        cuts = turned([(piece.start_m, piece.end_m)], shift_m, length_m)
        if len(cuts) > 1:
            first = replace(piece, hand_over_ft=math.nan)
            result += [replace(piece, start_m=0.0, end_m=cuts[0][1])]
            result += [replace(first, start_m=cuts[1][0], end_m=length_m)]
        else:
            result.append(replace(piece, start_m=cuts[0][0], end_m=cuts[0][1]))
    return sorted(result, key=lambda piece: piece.start_m)


def _closed_up(pieces: list[Piece], length_m: float) -> list[Piece]:
    """Pieces that follow each other without a crack; what is left between them is to prepare."""
    result: list[Piece] = []
    at = 0.0
    for piece in pieces:
        if piece.end_m - at <= JOIN_M:
            continue
        start = at if piece.start_m - at <= 2 * JOIN_M else piece.start_m
        if start > at:
            result.append(Piece(at, start, "prepare"))
        result.append(replace(piece, start_m=start))
        at = piece.end_m
    if length_m - at > 2 * JOIN_M or not result:
        result.append(Piece(at, length_m, "prepare"))
    else:
        result.append(replace(result.pop(), end_m=length_m))
    return result
