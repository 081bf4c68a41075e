"""Time of the edge graph on made properties, beside a plain noding of the same outlines.

Run it: python tests/benchmarks/bench_edges.py [units ...]
The ratio says how much dearer a cleaned edge graph is than ``shapely.union_all`` of the outlines,
which finds no shared edge at all. Both are measured in the same run.
"""

import sys
import time

import numpy as np
import shapely

from pipeline.ground.edge_graph import edge_graph

SLOP_M = 5.0


def made_property(units: int, vertices: int, seed: int = 1) -> np.ndarray:
    """Units [polygon, m] of about 40 acres that tile a square, each drawn on its own.

    Every unit gets its own vertices and misses its neighbors by up to 1.5 m.
    """
    random = np.random.default_rng(seed)
    size = 402.336 * np.sqrt(units)
    frame = shapely.box(0, 0, size, size)
    seeds = shapely.MultiPoint(random.uniform(0, size, (units, 2)))
    cells = shapely.get_parts(shapely.voronoi_polygons(seeds, extend_to=frame))
    cells = shapely.intersection(cells, frame)
    spacing = shapely.length(cells).sum() / max(vertices, 4 * units)
    points, index = shapely.get_coordinates(
        shapely.segmentize(shapely.get_exterior_ring(cells), spacing), return_index=True
    )
    last = np.diff(index, append=-1) != 0
    points = (points + random.normal(0, 0.5, points.shape))[~last]
    rings = shapely.linearrings(points, indices=index[~last])
    return shapely.make_valid(shapely.polygons(rings), method="structure")


def measured(units: int, vertices: int) -> tuple[int, float, float]:
    """Vertices, seconds for the edge graph, seconds for plain noding."""
    shapes = made_property(units, vertices)
    shapes = shapes[np.argsort(-shapely.area(shapes))]
    start = time.perf_counter()
    edge_graph(shapes, SLOP_M)
    middle = time.perf_counter()
    shapely.union_all(shapely.boundary(shapes))
    return (
        int(shapely.get_num_coordinates(shapes).sum()),
        middle - start,
        time.perf_counter() - middle,
    )


def main(sizes: list[int]) -> None:
    """Print a line for each size."""
    print("units  vertices  edge graph s  noding s  ratio  microseconds a vertex")
    for units in sizes:
        count, graph, noding = measured(units, 120 * units)
        print(
            f"{units:5d}  {count:8d}  {graph:12.2f}  {noding:8.2f}  {graph / noding:5.1f}"
            f"  {1e6 * graph / count:8.1f}"
        )


if __name__ == "__main__":
    main([int(size) for size in sys.argv[1:]] or [125, 250, 500, 1000])
