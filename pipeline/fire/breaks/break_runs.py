"""Runs of a line along breaks that are there: which count, and what lies between them.

Two reaches with hysteresis: a run along a break counts where it keeps within the outer reach and
lies within the inner one for long enough in all, holes left out. So a road at about the inner
reach is one run or none, not a row of scraps.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations

import numpy as np
import shapely
from shapely.ops import substring

from pipeline.core.units import M_PER_FT
from pipeline.fire.breaks.drawn_breaks import DrawnBreaks, Meeting
from pipeline.fire.settings import FirebreakSettings
from pipeline.ground.intervals import JOIN_M, Interval, common, joined, total_m, turned
from pipeline.ground.overlays import united

STEADY_DEG = 8.0
"""A break within this of a line's direction keeps beside it: judgment, no source."""


@dataclass(frozen=True, slots=True)
class Strand:
    """Part of a line [m] along one part of a break, within the outer reach.

    ``close`` is what of it lies within the inner reach, ``steady`` where the break keeps beside it.
    """

    part: int
    start_m: float
    end_m: float
    close: list[Interval]
    steady: list[Interval]

    @property
    def span(self) -> Interval:
        """From and to [m]."""
        return self.start_m, self.end_m


Covered = dict[int, list[Interval]]
"""Intervals of a line by the part of a break that covers them."""


@dataclass(frozen=True, slots=True)
class Run:
    """Strands whose breaks lead into each other, together.

    ``spans`` is what counts if the run does: from its first to its last place within the inner
    reach, and on as long as a break keeps steadily beside the line.
    """

    strands: list[Strand]
    wide: list[Interval]
    close: list[Interval]
    steady: list[Interval]
    spans: list[Interval]

    @classmethod
    def of(cls, strands: list[Strand]) -> "Run":
        """Strands taken together."""
        wide = joined(strand.span for strand in strands)
        close = joined(piece for strand in strands for piece in strand.close)
        steady = joined(piece for strand in strands for piece in strand.steady)
        spans = [_trimmed(span, common([span], close), steady) for span in wide]
        return cls(strands, wide, close, steady, [span for span in spans if span])

    def part_at(self, at_m: float) -> int:
        """Part of a break at a place of the run, the one most of the run is along."""
        there = [s for s in self.strands if s.start_m - JOIN_M <= at_m <= s.end_m + JOIN_M]
        return max(there, key=lambda s: (total_m(s.close), s.end_m - s.start_m)).part


def _trimmed(span: Interval, close: list[Interval], steady: list[Interval]) -> Interval | None:
    """The span from its first to its last close place, with the steady parts these lie in."""
    if not close:
        return None
    low, high = close[0][0], close[-1][1]
    starts = [start for start, end in steady if start <= low + JOIN_M <= end]
    ends = [end for start, end in steady if start <= high - JOIN_M <= end]
    return max(span[0], min([low, *starts])), min(span[1], max([high, *ends]))


@dataclass(frozen=True, slots=True)
class Hole:
    """Part of a line [m] between two runs; on a ring it may go on past the start."""

    start_m: float
    end_m: float
    before: Run
    after: Run

    @property
    def length_m(self) -> float:
        """Length [m] along the line."""
        return self.end_m - self.start_m


@dataclass(frozen=True, slots=True)
class Reach:
    """The settings of crediting in meters; see the section ``[firebreaks]``."""

    along_m: float
    follow_m: float
    shortest_m: float
    gap_m: float
    away_m: float

    @classmethod
    def of(cls, settings: FirebreakSettings) -> "Reach":
        """Meters of settings in feet; the outer reach is never less than the inner one."""
        return cls(
            settings.along_ft * M_PER_FT,
            max(settings.along_ft, settings.follow_ft) * M_PER_FT,
            settings.shortest_run_ft * M_PER_FT,
            settings.gap_ft * M_PER_FT,
            settings.away_ft * M_PER_FT,
        )


@dataclass(frozen=True)
class RunsOfLine:
    """One line with the strands of breaks along it.

    Lengths along a ring are counted from ``shift_m``, the end of a hole, so that no run passes
    the start; only where breaks run all around is a run cut there.
    """

    line: shapely.LineString
    ground: DrawnBreaks
    reach: Reach
    shift_m: float
    strands: list[Strand]

    @classmethod
    def of(
        cls,
        line: shapely.LineString,
        ground: DrawnBreaks,
        reach: Reach,
        covered: tuple[Covered, Covered, Covered],
    ) -> "RunsOfLine":
        """A line with what covers it within the outer reach, the inner one, and steadily."""
        length_m = line.length
        shift_m = 0.0
        if line.is_ring:
            runs = joined(piece for pieces in covered[0].values() for piece in pieces)
            whole = len(runs) == 1 and total_m(runs) >= length_m - 2 * JOIN_M
            shift_m = 0.0 if whole or not runs else _first_start(runs, length_m)
        wide, close, steady = (
            {part: joined(turned(p, -shift_m, length_m)) for part, p in cover.items()}
            if shift_m
            else {part: joined(p) for part, p in cover.items()}
            for cover in covered
        )
        strands = [
            Strand(part, *span, *(common([span], cover.get(part, [])) for cover in (close, steady)))
            for part, spans in wide.items()
            for span in spans
        ]
        whole_line = cls(line, ground, reach, shift_m, strands)
        return replace(whole_line, strands=whole_line._without_crossings())

    @property
    def length_m(self) -> float:
        """Length [m] of the line."""
        return self.line.length

    @property
    def least_m(self) -> float:
        """Length [m] within the inner reach that makes a run."""
        return min(self.reach.shortest_m, self.line.length / 2)

    def point(self, at_m: float) -> shapely.Point:
        """Point of the line."""
        if self.line.is_ring:
            at_m = (at_m + self.shift_m) % self.line.length
        return shapely.line_interpolate_point(self.line, at_m)

    def part(self, start_m: float, end_m: float) -> shapely.Geometry:
        """Part of the line."""
        total = self.line.length
        if not self.line.is_ring:
            return substring(self.line, start_m, end_m)
        cuts = turned([(start_m, end_m)], self.shift_m, total)
        return united([substring(self.line, *cut) for cut in cuts])

    def _without_crossings(self) -> list[Strand]:
        """Strands without those of courses that the line only goes across at a slant."""
        by_course: dict[int, list[Strand]] = {}
        for strand in self.strands:
            by_course.setdefault(int(self.ground.course[strand.part]), []).append(strand)
        kept = []
        for strands in by_course.values():
            for low, high in joined(strand.span for strand in strands):
                mine = [s for s in strands if low - JOIN_M <= s.start_m <= high]
                kept += [] if self._crosses(mine) else mine
        return kept

    def _crosses(self, strands: list[Strand]) -> bool:
        """Whether the line goes from one side of a course out on the other, never beside it.

        Longer than a straight crossing at ``STEADY_DEG`` could be, it runs along.
        """
        close = joined(piece for strand in strands for piece in strand.close)
        steady = joined(piece for strand in strands for piece in strand.steady)
        longest_m = 2 * self.reach.along_m / math.sin(math.radians(STEADY_DEG))
        if not close or total_m(close) >= longest_m:
            return False
        if total_m(common(close, steady)) >= self.least_m:
            return False
        shape = united(self.ground.parts[[strand.part for strand in strands]])
        first, last = (self._side_m(at, shape) for at in (close[0][0], close[-1][1]))
        return first * last < 0 and min(abs(first), abs(last)) > self.reach.along_m / 2

    def _side_m(self, at_m: float, shape: shapely.Geometry) -> float:
        """Way [m] to a shape, positive where it lies on the left hand."""
        point = self.point(at_m)
        foot = shapely.get_coordinates(shapely.shortest_line(point, shape))[-1]
        low, high = max(at_m - JOIN_M, 0.0), min(at_m + JOIN_M, self.line.length)
        ahead = np.subtract(self.point(high).coords[0], self.point(low).coords[0])
        across = foot - np.array(point.coords[0])
        return math.copysign(math.hypot(*across), ahead[0] * across[1] - ahead[1] * across[0])

    @cached_property
    def runs(self) -> list[Run]:
        """Strands that lead into each other, group by group."""
        group = list(range(len(self.strands)))
        for one, two in combinations(range(len(self.strands)), 2):
            if group[one] != group[two] and self._lead_on(self.strands[one], self.strands[two]):
                old, new = max(group[one], group[two]), min(group[one], group[two])
                group = [new if number == old else number for number in group]
        members: dict[int, list[Strand]] = {}
        for number, strand in zip(group, self.strands, strict=True):
            members.setdefault(number, []).append(strand)
        return [Run.of(strands) for strands in members.values()]

    def _lead_on(self, one: Strand, two: Strand) -> bool:
        """Whether two strands run on beside each other or end to end, and their breaks meet."""
        low, high = max(one.start_m, two.start_m), min(one.end_m, two.end_m)
        if low <= high + JOIN_M:
            low, high = min(low, high), max(low, high)
            return self.meeting(low, high, one.part, two.part).apart_m == 0
        first, last = sorted((one, two), key=lambda strand: strand.start_m)
        if self.closes(first.start_m, last.end_m):
            return self.meeting(0.0, 0.0, first.part, last.part).apart_m == 0
        return False

    def closes(self, start_m: float, end_m: float) -> bool:
        """Whether a run up to the end of a ring goes on in one from its start."""
        at_end = end_m >= self.line.length - JOIN_M
        return self.line.is_ring and start_m <= JOIN_M and at_end

    def meeting(self, low_m: float, high_m: float, one: int, two: int) -> Meeting:
        """How part ``one`` at ``low_m`` goes over into part ``two`` at ``high_m``."""
        way = self.part(low_m, high_m) if high_m > low_m else self.point(low_m)
        around = shapely.buffer(way, (high_m - low_m) / 2 + 2 * self.reach.follow_m)
        return self.ground.meeting(around, (one, self.point(low_m)), (two, self.point(high_m)))

    @cached_property
    def credited(self) -> list[Run]:
        """Runs long enough to count, and short bits of a whole break that goes on into one."""
        taken = [run for run in self.runs if total_m(run.close) >= self.least_m]
        bits = [run for run in self.runs if run.close and run not in taken]
        while True:
            found = None
            for hole in self.holes([*taken, *bits]):
                outside = [run for run in (hole.before, hole.after) if run in bits]
                if len(outside) == 1 and hole.length_m <= self.reach.gap_m:
                    found = outside[0] if self.meeting_over(hole).apart_m == 0 else found
            if found is None:
                return taken
            taken.append(found)
            bits.remove(found)

    def holes(self, runs: list[Run]) -> Iterator[Hole]:
        """What lies between runs that follow each other."""
        spans = sorted((span, number) for number, run in enumerate(runs) for span in run.spans)
        if self.line.is_ring and spans:
            (start, end), number = spans[0]
            total = self.line.length
            spans.append(((start + total, end + total), number))
        reached, last = -math.inf, 0
        for (start, end), number in spans:
            if start - reached > JOIN_M and reached > -math.inf:
                yield Hole(reached, start, runs[last], runs[number])
            if end > reached:
                reached, last = end, number

    def meeting_over(self, hole: Hole) -> Meeting:
        """How the break before a hole goes over into the one after it."""
        after = hole.end_m % self.line.length if self.line.is_ring else hole.end_m
        parts = hole.before.part_at(hole.start_m), hole.after.part_at(after)
        return self.meeting(hole.start_m, hole.end_m, *parts)


def _first_start(runs: list[Interval], length_m: float) -> float:
    """Start [m] of a run that another one does not go on in over the end of a ring."""
    meets_itself = runs[0][0] <= JOIN_M and runs[-1][1] >= length_m - JOIN_M
    return runs[-1][0] if meets_itself else runs[0][0]


def by_length(strand: Strand) -> tuple[float, float, float]:
    """Longest close by first, to the millimeter."""
    close_m, wide_m = total_m(strand.close), strand.end_m - strand.start_m
    return -round(close_m, 3), -round(wide_m, 3), strand.start_m
