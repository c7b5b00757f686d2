"""Plain geometry that several parts of the oracle need: polygons from and to lists,
circles as polygons, clearances, comparing, turning, mitred insets.

Curves follow the rule of `src/ground/curves.rs`: n vertices at equal steps from +x, n the
least multiple of 4 that keeps the polygon within 1 mm of the circle.
"""

import math

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon

CURVE_M = 0.001
GRID_M = 1e-9
ROUND_M = 2e-4
HAIR_M = 1e-6


def from_poly(rings):
    """A polygon from its rings (exterior first); empty from an empty list."""
    return Polygon(rings[0], rings[1:]) if rings else Polygon()


def from_multi(polygons):
    """A multipolygon from a list of polygons, each a list of rings."""
    return MultiPolygon([from_poly(rings) for rings in polygons if rings])


def mended(shape, checks=None, word=""):
    """The shape itself where it is valid, else what GEOS makes of it (with a note)."""
    if shape.is_valid:
        return shape
    if checks is not None:
        checks.note(f"a polygon GEOS calls invalid: {word}")
    return only_polygons(shapely.make_valid(shape))


def only_polygons(shape):
    """The polygons of a shape, lines and points left out."""
    return MultiPolygon(polygons_of(shape))


def polygons_of(shape):
    """The polygons of a shape as a list, lines and points left out."""
    if shape.is_empty:
        return []
    return [part for part in shapely.get_parts([shape]) for part in _flat(part)]


def _flat(part):
    if part.geom_type == "Polygon":
        return [part] if not part.is_empty else []
    if part.geom_type in ("MultiPolygon", "GeometryCollection"):
        return [inner for piece in part.geoms for inner in _flat(piece)]
    return []


def union(shapes):
    """The union of shapes that may abut, on a grid of 1e-9 m."""
    shapes = [shape for shape in shapes if not shape.is_empty]
    if not shapes:
        return MultiPolygon()
    return only_polygons(shapely.union_all(shapes, grid_size=GRID_M))


def less(shape, others):
    """A shape less others, one by one."""
    for other in others:
        if not other.is_empty and shape.intersects(other):
            shape = only_polygons(shape.difference(other))
    return shape


def difference_area(one, other):
    """The area of the symmetric difference, on a grid of 1e-9 m so that edges that nearly
    coincide do no harm; the grid itself moves at most 1e-9 m x boundary."""
    if one.is_empty or other.is_empty:
        return one.area + other.area
    return shapely.symmetric_difference(one, other, grid_size=GRID_M).area


def boundary_m(*shapes):
    """The sum of the boundary lengths."""
    return sum(shape.length for shape in shapes)


def unit(angle_deg):
    """The unit vector of an angle; quarter turns without the rounding of cos(pi/2)."""
    quarter = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}
    exact = quarter.get(angle_deg % 360.0)
    if exact:
        return exact
    return math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))


def turned(shape, angle_deg):
    """The shape in the frame of a direction: u along it, v to its left."""
    cos, sin = unit(angle_deg)
    return shapely.transform(shape, lambda xy: xy @ np.array([[cos, -sin], [sin, cos]]))


def turned_back(shape, angle_deg):
    """From the frame of a direction back to pitch metres."""
    cos, sin = unit(angle_deg)
    return shapely.transform(shape, lambda uv: uv @ np.array([[cos, sin], [-sin, cos]]))


def _steps(holds):
    """The least multiple of 4 for which `holds`."""
    n = 4
    while not holds(n):
        n += 4
    return n


def disc(centre, radius_m):
    """A marking's disc: vertices on the circle, sagitta at most 1 mm."""
    n = _steps(lambda k: radius_m * (1.0 - math.cos(math.pi / k)) <= CURVE_M)
    return Polygon([(centre[0] + radius_m * math.cos(2 * math.pi * k / n),
                     centre[1] + radius_m * math.sin(2 * math.pi * k / n)) for k in range(n)])


def about_circle(radius_m):
    """The vertices of the polygon about a circle: at most 1 mm outside, never inside."""
    n = _steps(lambda k: radius_m / math.cos(math.pi / k) - radius_m <= CURVE_M)
    out = radius_m / math.cos(math.pi / n)
    return np.array([(out * math.cos(2 * math.pi * k / n), out * math.sin(2 * math.pi * k / n)) for k in range(n)])


def lines_of(shape):
    """The point runs of any geometry: rings, lines, single points."""
    kind = shape.geom_type
    if kind == "Point":
        return [np.array(shape.coords)]
    if kind in ("LineString", "LinearRing"):
        return [np.array(shape.coords)]
    if kind == "Polygon":
        return [np.array(ring.coords) for ring in [shape.exterior, *shape.interiors]]
    return [run for part in shape.geoms for run in lines_of(part)]


def widened(shape, clearance_m):
    """The Minkowski sum of a thing and the polygon about the circle of its clearance."""
    parts = polygons_of(shape)
    if clearance_m > 0:
        about = about_circle(clearance_m)
        for run in lines_of(shape):
            ends = zip(run[:-1], run[1:]) if len(run) > 1 else [(run[0], run[0])]
            parts.extend(shapely.MultiPoint(np.vstack([about + a, about + b])).convex_hull for a, b in ends)
    return union(parts)


def _left_normals(run):
    step = np.diff(run, axis=0)
    length = np.hypot(step[:, 0], step[:, 1])
    return np.column_stack([-step[:, 1], step[:, 0]]) / length[:, None]


def without_repeats(run):
    """A run of points without points that repeat the one before."""
    keep = np.ones(len(run), dtype=bool)
    keep[1:] = np.hypot(*(np.diff(run, axis=0).T)) > 0
    return run[keep]


def _mitre(corner, before, after, reach):
    """The kite between two offset edges at a corner, on the side of the given normals."""
    dot = float(before @ after)
    if dot < -0.9999 or dot > 1.0 - 1e-15:
        return None
    tip = corner + (before + after) * (reach / (1.0 + dot))
    return Polygon([corner, corner + before * reach, tip, corner + after * reach])


def mitred_strip(line, width_m):
    """The pieces of a polyline's strip: a rectangle per side and a mitre at each outer
    bend; flat at open ends, mitred all round where it is closed."""
    run = without_repeats(np.asarray(line, dtype=float))
    closed = len(run) > 3 and bool(np.all(run[0] == run[-1]))
    normals = _left_normals(run)
    half = width_m / 2.0
    pieces = [Polygon([a + n * half, a - n * half, b - n * half, b + n * half])
              for a, b, n in zip(run[:-1], run[1:], normals)]
    bends = [(i, i - 1) for i in range(0 if closed else 1, len(normals))]
    for here, before in bends:
        cross = normals[before][0] * normals[here][1] - normals[before][1] * normals[here][0]
        side = -1.0 if cross > 0 else 1.0
        kite = _mitre(run[here], side * normals[before], side * normals[here], half)
        if kite is not None and kite.area > 0:
            pieces.append(kite)
    return pieces


def inset(shape, distance_m):
    """A polygon drawn in by a distance with mitred corners: the shape less a band along
    each edge, exact (GEOS's own buffer first straightens shallow bends). The bands reach a
    micrometre outwards, so that their snapping to a grid leaves no hairs along the edge."""
    bands = []
    for polygon in polygons_of(shapely.orient_polygons(shape)):
        for ring in [polygon.exterior, *polygon.interiors]:
            run = without_repeats(np.array(ring.coords))
            normals = _left_normals(run)
            for here in range(len(normals)):
                a, b, n = run[here], run[here + 1], normals[here]
                bands.append(Polygon([a - n * HAIR_M, b - n * HAIR_M, b + n * distance_m, a + n * distance_m]))
                before = normals[here - 1]
                if before[0] * n[1] - before[1] * n[0] < 0:
                    kite = _mitre(a, before, n, distance_m)
                    if kite is not None:
                        bands.append(kite)
    left = polygons_of(shape.difference(union(bands)))
    return MultiPolygon([part for part in left if part.area > HAIR_M])


def grown(shape, radius_m, quarter_steps=24):
    """A shape widened by a disc, edge by edge (see `inset` for why not in one go)."""
    runs = [np.stack([run[:-1], run[1:]], axis=1) for run in lines_of(shape) if len(run) > 1]
    if not runs:
        return shape
    edges = shapely.linestrings(np.vstack(runs))
    edges = edges[shapely.length(edges) > 0]
    # A polygon of 4 k sides has its sides inside the circle: half the sagitta on either side.
    fitting = radius_m * (1.0 + (1.0 - math.cos(math.pi / (4 * quarter_steps))) / 2.0)
    return only_polygons(shapely.union_all([*polygons_of(shape), *shapely.buffer(edges, fitting, quad_segs=quarter_steps)]))


def shrunk(shape, radius_m):
    """A shape less all that lies within a radius of its boundary."""
    edge = grown(shapely.boundary(shape), radius_m)
    return only_polygons(shape.difference(edge))


def rounded(shape, radius_m):
    """Corners rounded: opened, then closed, by a disc; within about 2 mm at 3 m (GEOS
    approximates arcs). What is left, and every hole in it, holds a disc of that radius:
    smaller shreds are leavings of the approximation."""
    if radius_m <= 0:
        return shape
    opened = grown(shrunk(shape, radius_m), radius_m).simplify(ROUND_M)
    convex = all(part.convex_hull.area - part.area < 1e-9 for part in polygons_of(opened))
    closed = opened if convex else shrunk(grown(opened, radius_m).simplify(ROUND_M), radius_m)
    least_m2 = 0.5 * math.pi * radius_m**2
    return MultiPolygon([Polygon(part.exterior, [ring for ring in part.interiors if Polygon(ring).area > least_m2])
                         for part in polygons_of(closed) if part.area > least_m2])
