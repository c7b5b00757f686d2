"""The oracle's own parts against known values: areas of the Laws' markings, pass counts and
lengths on 105 x 68 m, zones that sum to the pitch, clearances that are never under-run,
frames that agree with geodesics, insets and mitred strips of plain shapes.

    python tests/oracle/basics.py

Needs no program. Run by `selftest.py` first: an oracle that cannot do this judges nothing.
"""

import math
import sys
import tempfile
from pathlib import Path

import numpy as np
import shapely
from geographiclib.geodesic import Geodesic
from shapely.geometry import LineString, Point, Polygon, box

from areas import disjoint_boxes, figures, sure_union, worked_times
from checks import Checks
from frame import Frame, fit_marks, fit_outline
from ground import Ground
from lines import Piece, Setting, line_count, rebuilt_lines
from reading import Job
from shapes import disc, inset, mitred_strip, rounded, turned, turned_back, widened
from spans import met, minus

# Rectangle 105 x 68 m; angle, spacing, lines, sum of centre lines clipped to it (re-derived, shapely).
PASSES = [(0, 2.0, 34, 3570.0), (0, 1.8, 38, 3990.0), (0, 2.4, 29, 3045.0), (0, 3.0, 23, 2415.0), (90, 2.0, 53, 3604.0),
          (45, 2.0, 62, 3570.146022), (-45, 2.0, 62, 3570.146022), (45, 1.8, 68, 3966.922861), (30, 2.0, 56, 3570.641016),
          (60, 2.0, 63, 3570.0)]
# The same at 45 degrees and 2 m under other rules.
RULES = [("even", "on_line", 3620.098), ("full", "run_over", 3692.309), ("even", "run_over", 3742.616)]

PLAIN = """
name = "Plain"
[pitch]
length_m = 105.0
width_m = 68.0
centre = { lat_deg = 55.3, lon_deg = -3.7 }
bearing_deg = 12.5
[implement.tool]
working_width_m = 2.0
speed_km_h = 4.0
[[operation]]
id = "one"
task = "brush"
implement = "tool"
"""


def _plain_ground():
    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "job.toml").write_text(PLAIN, encoding="utf-8")
        job = Job(folder)
        return job, Ground(job)


def _lines(job, angle, width, remainder, ends):
    operation = job.operations[0]
    operation.width_m, operation.remainder, operation.ends = width, remainder, ends
    pitch = box(-52.5, -34.0, 52.5, 34.0)
    piece = Piece(1, turned(pitch, angle), turned(pitch, angle))
    setting = Setting(operation, float(angle), [piece], [], turned(box(-90, -70, 90, 70), angle))
    lines, _ = rebuilt_lines(setting, None)
    return len(lines), sum(stop - start for line in lines for start, stop in line.parts)


def passes(checks, job):
    """Counts and lengths of passes."""
    for angle, width, count, length in PASSES:
        got = _lines(job, angle, width, "full", "on_line")
        checks.same("pass count", f"{angle} degrees {width} m", got[0], count)
        checks.near("length of centre lines (m)", f"{angle} degrees {width} m", got[1], length, 1e-6)
    for remainder, ends, length in RULES:
        got = _lines(job, 45, 2.0, remainder, ends)
        checks.near("length of centre lines (m)", f"{remainder} {ends}", got[1], length, 1e-3)
    checks.same("pass count", "2 m with 0.2 m overlap", line_count(68.0, 2.0, 0.2), 38)
    checks.same("pass count", "2 m without overlap", line_count(68.0, 2.0, 0.0), 34)


def zones(checks, ground):
    """The partition of a plain pitch."""
    area = {}
    for zone in ground.zones:
        area[zone.kind] = area.get(zone.kind, 0.0) + zone.shape.area
    checks.near("zone area (m2)", "sum", sum(area.values()), 7140.0, 1e-6)
    # The spot lies in the box, the goal area in the penalty area; discs are polygons within 1 mm.
    spot, corner = 2 * disc((0, 0), 1.5).area, disc((0, 0), 3.0).area
    checks.near("zone area (m2)", "goalmouth", area["goalmouth"], 2 * 11.32 * 5.5, 1e-6)
    checks.near("zone area (m2)", "six_yard", area["six_yard"] + area["goalmouth"], 2 * 100.76, 1e-6)
    checks.near("zone area (m2)", "box", area["box"] + spot + 2 * 100.76, 2 * 665.28, 1e-6)
    checks.near("zone area (m2)", "corner", area["corner"], corner, 1e-6)
    checks.near("zone area (m2)", "centre circle", area["centre_circle"] + area["centre_spot"], 263.021991, 2 * math.pi * 9.15 * 0.001)
    checks.near("zone area (m2)", "one corner arc of 1 m", disc((0, 0), 1.0).area / 4, 0.785398, 0.5 * math.pi * 0.001)
    names = {zone.name for zone in ground.zones}
    checks.true("zone names", "ends", {"goalmouth-north", "goalmouth-south", "wing-west", "corner-ne"} <= names, f"{names}")


def clearances(checks):
    """Never under-run, and at most 1 mm more."""
    for radius in (0.05, 0.5, 0.75, 2.0):
        for thing in (Point(3, 4), LineString([(0, 0), (5, 1), (6, 4)]), Polygon([(0, 0), (4, 0), (4, 3), (2, 1)])):
            kept = widened(thing, radius)
            edge = shapely.points(shapely.get_coordinates(kept.boundary.segmentize(0.01)))
            away = shapely.distance(edge, thing)
            checks.true("clearance", f"{radius} m", radius - 1e-9 <= away.min() and away.max() <= radius + 0.001 + 1e-9,
                        f"{away.min()} to {away.max()}")


def frames(checks):
    """Against geodesics; and fits of exact marks."""
    for lat, lon, bearing in ((55.3, -3.7, 12.5), (-33.9, 151.2, 200.0), (83.9, 40.0, 95.0), (-17.0, 179.9999, 300.0)):
        frame = Frame(lat, lon, bearing)
        (x_lon, x_lat), = frame.to_globe([(50.0, 0.0)])
        line = Geodesic.WGS84.Inverse(lat, lon, x_lat, x_lon)
        checks.near("geodesic length (m)", f"{lat} {lon}", line["s12"], 50.0, 1e-6)
        checks.near("geodesic bearing (deg)", f"{lat} {lon}", line["azi1"] % 360.0, bearing, 1e-6)
        back = frame.to_pitch(frame.to_globe([(60.0, -40.0), (-3.0, 2.0)]))
        checks.small("there and back (m)", f"{lat} {lon}", float(np.abs(back - [(60.0, -40.0), (-3.0, 2.0)]).max()), 1e-8)
    turn = np.array([[math.cos(0.3), math.sin(0.3)], [-math.sin(0.3), math.cos(0.3)]])
    corners = np.array([(52.5, 34.0), (-52.5, 34.0), (-52.5, -34.0), (52.5, -34.0)]) @ turn + (7.0, 9.0)
    for name, found in (("marks", fit_marks(["ne", "nw", "sw", "se"], corners, 105.0, 68.0)),
                        ("two marks", fit_marks(["nw", "sw"], corners[1:3], 105.0, 68.0)),
                        ("outline", fit_outline(corners, None))):
        checks.small("fit (m)", name, float(np.hypot(*(found[0] - (7.0, 9.0)))), 1e-9)
        checks.small("fit (m)", f"{name} turn", abs(float(found[1][0] * turn[0][1] - found[1][1] * turn[0][0])), 1e-12)
        checks.near("fit (m)", f"{name} misfit", found[4], 0.0, 1e-9)
        checks.near("fit (m)", f"{name} length", found[2], 105.0, 1e-9)


def shapes(checks):
    """Insets, strips, unions, spans."""
    ell = Polygon([(0, 0), (10, 0), (10, 4), (4, 4), (4, 10), (0, 10)])
    checks.near("plain area (m2)", "inset of an L", inset(ell, 1.0).area, 8 * 2 + 2 * 6, 1e-9)
    checks.near("plain area (m2)", "rounded square", rounded(box(0, 0, 10, 10), 2.0).area, 100 - (4 - math.pi) * 4, 0.03)
    checks.near("plain area (m2)", "rounded L", rounded(ell, 1.0).area, 64 - (4 - math.pi) * (5 - 1) / 4, 0.02)
    bend = sure_union(mitred_strip([(0, 0), (10, 0), (10, 10)], 2.0))
    checks.near("plain area (m2)", "mitred bend", bend.area, 40.0, 1e-9)
    ring = sure_union(mitred_strip([(0, 0), (10, 0), (10, 10), (0, 10), (0, 0)], 2.0))
    checks.near("plain area (m2)", "mitred ring", ring.area, 144.0 - 64.0, 1e-9)
    boxes = [box(0, 0, 10, 2), box(0, 1, 10, 3), box(5, 2.5, 12, 4)]
    checks.near("plain area (m2)", "disjoint boxes", sum(one.area for one in disjoint_boxes(boxes)), shapely.union_all(boxes).area, 1e-12)
    target = box(0, 0, 10, 10)
    times = worked_times([box(0, 0, 6, 10), box(4, 0, 12, 5), box(-3, 3, 20, 4)], target)
    for got, want in zip(times, (20.0, 62.0, 16.0, 2.0)):
        checks.near("plain area (m2)", "worked times", got, want, 1e-9)
    there = turned_back(turned(ell, 33.0), 33.0)
    checks.small("plain area (m2)", "turned there and back", there.symmetric_difference(ell).area, 1e-12)
    hair = Polygon([(0, 0), (4, 0), (4, 1), (2, 1), (2, 1e-9), (0, 1e-9)])
    checks.same("spans", "a hair is not met", met(hair), [(2.0, 4.0)])
    checks.same("spans", "a tip is met to its point", met(Polygon([(0, 0), (4, -1), (4, 1)])), [(0.0, 4.0)])
    checks.same("spans", "taken out", minus([(0, 10)], [(2, 3), (9, 11)]), [(0, 2), (3, 9)])

    class Made:
        """Strips made by hand."""

        angle, length_m = 0.0, 30.0
        each = [box(-1, 0, 11, 2), box(-1, 1.5, 11, 3.5)]
        disjoint = disjoint_boxes(each)

    found = figures(Made, target, box(-0.5, -0.5, 10.5, 10.5))
    for key, want in (("strip_area_m2", 40.0), ("covered_m2", 35.0), ("overlap_m2", 5.0), ("missed_m2", 65.0),
                      ("outside_m2", 7.0), ("outside_pitch_m2", 3.5)):
        checks.near("plain area (m2)", key, found[key], want, 1e-9)


def check_basics():
    """All of it."""
    checks = Checks("basics")
    job, ground = _plain_ground()
    passes(checks, job)
    zones(checks, ground)
    clearances(checks)
    frames(checks)
    shapes(checks)
    return checks


if __name__ == "__main__":
    done = check_basics()
    print("\n".join(done.report()))
    for failure in done.failures:
        print("FAILED", *failure[1:], sep=": ")
    print(f"oracle basics: {done.total()} checks, {len(done.failures)} failed")
    sys.exit(1 if done.failures or not done.total() else 0)
