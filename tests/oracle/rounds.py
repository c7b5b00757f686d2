"""Checks the perimeter rounds of an operation against the pieces they run round.

Centre lines are rebuilt as the boundary of the piece drawn in and rounded.
Arcs are polygons on both sides, so lines agree to millimetres, not to 1e-6 m; the areas,
measured from the dumped lines, are held to 1e-6 m2 elsewhere. Where rounds are cut is
checked on samples: where the strip would surely meet something kept clear there must be
no line, where it surely would not there must be one.
"""

import numpy as np
import shapely

from shapes import from_multi, inset, mended, rounded

LINE_M = 0.006
ARC_M = 0.003
SHAKY_M = 0.1
SURE_M = 0.02
STEP_M = 0.25


def compare_rounds(checks, operation, dumped, dump):
    """Compares the rounds of an operation, where it has some."""
    rounds = [direction for direction in dumped["directions"] if direction["angle_deg"] is None]
    if not rounds:
        return
    place = f"{operation.id} rounds"
    parts = rounds[0]["parts"]
    checks.same("rounds", f"{place} heading", rounds[0]["heading_deg"], None)
    asked = operation.width_m - operation.overlap_m
    checks.near("spacing (m)", place, rounds[0]["spacing_m"], asked if operation.rounds > 1 else None, 1e-9)
    numbers = [part["pass"] for part in parts]
    checks.same("pass and part numbers", place, sorted(set(numbers)), list(range(1, len(set(numbers)) + 1)))
    checks.same("pass and part numbers", f"{place} in order", numbers, sorted(numbers))
    allowed = mended(from_multi(dump["allowed"]))
    blocked = [mended(from_multi(one)) for one in dumped["blocked"] if one]
    used = set()
    for index, piece in enumerate(dumped["pieces"], start=1):
        zones = mended(from_multi(piece["zones"]))
        mine = sorted({part["pass"] for part in parts if part["piece"] == index})
        for k in range(1, operation.rounds + 1):
            ideal = Round(inset(zones, operation.width_m / 2 + (k - 1) * asked), operation.corner_radius_m)
            lines = [part for part in parts if k <= len(mine) and part["pass"] == mine[k - 1]]
            used.update(part["pass"] for part in lines)
            _compare_round(checks, f"{place} piece {index} round {k}", operation, ideal, lines, blocked, allowed)
    checks.same("rounds", f"{place} all accounted for", sorted(set(numbers) - used), [])


class Round:
    """The ideal round, and (made when first asked for) where it hangs on a hair: a disc that
    rests on two bends moves far when they move a little."""

    def __init__(self, drawn_in, radius_m):
        self.drawn_in, self.radius_m = drawn_in, radius_m
        self.edge = shapely.boundary(rounded(drawn_in, radius_m))
        self._shaky = None

    def away(self, points):
        """Distances of points from the ideal round; nought where it hangs on a hair."""
        far = shapely.distance(points, self.edge)
        if self.radius_m > 0 and far.max(initial=0.0) > LINE_M:
            if self._shaky is None:
                tight, wide = (rounded(self.drawn_in, self.radius_m + by) for by in (-ARC_M, ARC_M))
                self._shaky = tight.symmetric_difference(wide).buffer(LINE_M)
            far = np.where(shapely.intersects(points, self._shaky) & (far < SHAKY_M), 0.0, far)
        return far

    def shaky_near(self, points):
        """Whether all of some points (at least one) lie where the round hangs on a hair."""
        if len(points) == 0 or self.radius_m <= 0:
            return False
        self.away(shapely.points([(1e6, 1e6)]))
        return bool(np.all(shapely.intersects(points, self._shaky)))


def _compare_round(checks, place, operation, ideal, lines, blocked, allowed):
    edge = ideal.edge
    for number, part in enumerate(sorted(lines, key=lambda part: part["part"]), start=1):
        line = shapely.LineString(part["line"])
        points = shapely.points(shapely.get_coordinates(shapely.segmentize(line, STEP_M)))
        checks.small("round line (m)", place, float(ideal.away(points).max()), LINE_M)
        checks.near("strip width (m)", place, part["width_m"], operation.width_m, 1e-12)
        checks.same("pass and part numbers", f"{place} part", part["part"], number)
    drawn = shapely.MultiLineString([part["line"] for part in lines])
    for ring in getattr(edge, "geoms", [edge]):
        _compare_cuts(checks, place, operation, ring, drawn, blocked, allowed, ideal)


def _compare_cuts(checks, place, operation, ring, drawn, blocked, allowed, ideal):
    if ring.is_empty:
        return
    places = np.arange(0.0, ring.length, STEP_M)
    here, ahead = ring.interpolate(places), ring.interpolate((places + 0.002) % ring.length)
    at, step = shapely.get_coordinates(here), shapely.get_coordinates(ahead) - shapely.get_coordinates(here)
    normal = np.column_stack([-step[:, 1], step[:, 0]]) / np.hypot(step[:, 0], step[:, 1])[:, None]
    half = operation.width_m / 2
    narrow = half - SURE_M
    across = shapely.linestrings(np.stack([at - normal * narrow, at + normal * narrow], axis=1))
    surely_off = ~shapely.within(across, shapely.buffer(allowed, SURE_M))
    wide = shapely.buffer(here, half * 1.5 + SURE_M)
    surely_on = shapely.within(wide, shapely.buffer(allowed, -SURE_M))
    for shape in blocked:
        surely_off |= shapely.intersects(across, shapely.buffer(shape, -SURE_M))
        surely_on &= ~shapely.intersects(wide, shape)
    away = np.full(len(places), np.inf) if drawn.is_empty else shapely.distance(here, drawn)
    if ideal.shaky_near(here[surely_on & (away > 2 * LINE_M)]):
        surely_on &= away > SHAKY_M
    checks.true("rounds are cut where blocked", place, bool(np.all(away[surely_off] > LINE_M)),
                f"a line where the strip is kept off: {at[surely_off & (away <= LINE_M)][:1].tolist()}")
    checks.true("rounds run where free", place, bool(np.all(away[surely_on] <= 2 * LINE_M)),
                f"no line near {at[surely_on & (away > 2 * LINE_M)][:1].tolist()}")
