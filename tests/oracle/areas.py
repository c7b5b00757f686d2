"""Areas of coverage from the dump's lines and widths, by GEOS.

Straight strips are boxes in the frame of their direction. Their union is taken apart into
boxes that do not overlap, band by band, so that no polygons that abut are ever united;
the areas of the boxes within the target add up. Where unions are needed as polygons
(worked times, rounds) they are checked against such sums, or made twice.
"""

from itertools import combinations
from math import comb

import numpy as np
import shapely
from shapely.geometry import MultiPolygon

from shapes import GRID_M, from_multi, from_poly, mended, mitred_strip, only_polygons, turned, turned_back

AREA_M2 = 1e-6
SURE_M2 = 1e-7
THIN_M = 1e-12


class Strips:
    """The strips of a direction: each strip, their union as disjoint parts, and as one."""

    def __init__(self, direction, width_of=None):
        self.angle = direction["angle_deg"]
        self.length_m = sum(_length(part["line"]) for part in direction["parts"])
        if self.angle is None:
            self.each = [_round_strip(part["line"], part["width_m"]) for part in direction["parts"]]
            self.disjoint = None
        else:
            self.each = [self._box(part, width_of) for part in direction["parts"]]
            self.disjoint = disjoint_boxes(self.each)
        self._one = None

    def _box(self, part, width_of):
        width = part["width_m"] if width_of is None else width_of
        (u0, v0), (u1, v1) = shapely.get_coordinates(turned(shapely.LineString(part["line"]), self.angle))
        middle = (v0 + v1) / 2
        return shapely.box(min(u0, u1), middle - width / 2, max(u0, u1), middle + width / 2)

    def one(self):
        """The union of all strips, pitch metres."""
        if self._one is None:
            if self.disjoint is None:
                self._one = sure_union(self.each)
            else:
                whole = sum(shape.area for shape in self.disjoint)
                united = shapely.union_all(self.disjoint) if self.disjoint else MultiPolygon()
                if abs(united.area - whole) > SURE_M2:
                    united = shapely.union_all(self.disjoint, grid_size=GRID_M)
                self._one = turned_back(only_polygons(united), self.angle)
        return self._one


def _length(line):
    return float(np.sum(np.hypot(*np.diff(np.asarray(line, dtype=float), axis=0).T)))


def _round_strip(line, width_m):
    return sure_union(mitred_strip(line, width_m))


def sure_union(shapes):
    """A union made twice, free and on a grid; one by one where the two disagree."""
    if not shapes:
        return MultiPolygon()
    free = shapely.union_all(shapes)
    gridded = shapely.union_all(shapes, grid_size=GRID_M)
    if abs(free.area - gridded.area) <= SURE_M2:
        return only_polygons(free)
    single = shapes[0]
    for shape in shapes[1:]:
        single = single.union(shape)
    return only_polygons(single if abs(single.area - gridded.area) < abs(single.area - free.area) else free)


def disjoint_boxes(boxes):
    """Boxes that do not overlap and cover what the given ones cover."""
    bounds = np.array([box.bounds for box in boxes]).reshape(-1, 4)
    cuts = np.unique(bounds[:, [1, 3]])
    out = []
    for low, high in zip(cuts[:-1], cuts[1:]):
        if high - low < THIN_M:
            continue
        here = bounds[(bounds[:, 1] <= low) & (bounds[:, 3] >= high)]
        start = stop = None
        for u0, u1 in sorted(here[:, [0, 2]].tolist()):
            if stop is not None and u0 <= stop:
                stop = max(stop, u1)
                continue
            if stop is not None:
                out.append(shapely.box(start, low, stop, high))
            start, stop = u0, u1
        if stop is not None:
            out.append(shapely.box(start, low, stop, high))
    return out


def within(shapes, ground):
    """The sum of the areas of shapes within another."""
    if not shapes or ground.is_empty:
        return 0.0
    return float(np.sum(shapely.area(shapely.intersection(np.array(shapes, dtype=object), ground))))


def figures(strips, target, outline):
    """The figures of a direction, from its strips."""
    if strips.angle is not None:
        target, outline = turned(target, strips.angle), turned(outline, strips.angle)
    parts = strips.disjoint if strips.disjoint is not None else [strips.one()]
    beyond = only_polygons(target.difference(outline))
    whole = float(sum(part.area for part in parts))
    strip_area, covered = within(strips.each, target), within(parts, target)
    return {"strip_area_m2": strip_area, "covered_m2": covered, "overlap_m2": strip_area - covered,
            "missed_m2": target.area - covered, "outside_m2": whole - covered,
            "outside_pitch_m2": whole - within(parts, outline) - within(parts, beyond),
            "working_length_m": strips.length_m}


def common_area(shapes):
    """The area common to some shapes, made on a grid where free arithmetic is not sure."""
    shared = shapes[0]
    for shape in shapes[1:]:
        free = shared.intersection(shape)
        if abs(free.area + shared.difference(shape).area - shared.area) > SURE_M2:
            free = shapely.intersection(shared, shape, grid_size=GRID_M)
        shared = only_polygons(free)
    return shared.area


def worked_times(unions, target):
    """Areas of the target worked by exactly k directions, by inclusion and exclusion."""
    n = len(unions)
    sums = [target.area] + [sum(common_area([target, *chosen]) for chosen in combinations(unions, size))
                            for size in range(1, n + 1)]
    return [sum((-1) ** (j - k) * comb(j, k) * sums[j] for j in range(k, n + 1)) for k in range(n + 1)]


def compare_areas(checks, operation, dumped, dump):
    """Compares all figures of an operation; returns the strips of its directions."""
    target = mended(from_multi(dumped["target"]))
    outline = mended(from_poly(dump["outline"]))
    kept = []
    for direction in dumped["directions"]:
        strips = Strips(direction)
        kept.append(strips)
        place = f"{operation.id} {direction['name']}"
        got = direction["figures"]
        for key, want in figures(strips, target, outline).items():
            checks.near(f"{key}", place, got[key], want, AREA_M2)
            checks.true("no negative area", f"{place} {key}", got[key] >= -1e-9, f"{got[key]}")
    times = worked_times([strips.one() for strips in kept], target)
    checks.same("worked times", f"{operation.id} count", len(dumped["worked_times_m2"]), len(times))
    for k, (got, want) in enumerate(zip(dumped["worked_times_m2"], times)):
        checks.near("worked_times_m2", f"{operation.id} k = {k}", got, want, AREA_M2)
    checks.near("worked times sum to the target", operation.id, sum(dumped["worked_times_m2"]), target.area, AREA_M2)
    return kept
