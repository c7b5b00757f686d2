#!/usr/bin/env python3
"""Plans outlines of other pitches and compares area, sides and bearing with a table beside them.

usage: run.py --binary PATH --pitches FOLDER

FOLDER holds one GeoJSON outline per pitch and `expected.csv`, computed elsewhere by
ellipsoidal geometry: `area_m2` on the WGS84 ellipsoid, and length, width and true bearing of
the rectangle of least area about the outline. The folder is no part of the project; where it
is missing, tests/run says so.

The program fits its rectangle to the four corners by least squares, so on a skewed outline it
is another rectangle than the one of least area. The way from the one to the other is walked
here, by other means: the rectangle of least area is found and compared with the table, the four
vertices nearest its corners are taken, the least-squares rectangle through them is found and
compared with the program's.
"""

import argparse
import csv
import json
import math
import pathlib
import subprocess
import sys
import tempfile

# The table prints square millimetres. Sides and bearings are found here on a plane that is
# flat to about a millimetre at the edge of a pitch.
AREA_TOLERANCE_M2 = 0.002
SIDE_TOLERANCE_M = 0.003
BEARING_TOLERANCE_DEG = 0.003

JOB = """
name = "{name}"

[pitch]
run_off_m = {{ touch = 50.0, goal = 50.0 }}

[ground]
file = "ground.geojson"

[implement.mower]
working_width_m = 2.0
speed_km_h = 6.0

[[operation]]
id = "mow"
task = "mow"
implement = "mower"
directions = ["along", "across", "diagonal_left"]
"""


def planned(binary, name, outline):
    """The summary of a plan that mows this outline in three directions."""
    with tempfile.TemporaryDirectory() as folder:
        job = pathlib.Path(folder) / name
        job.mkdir()
        feature = {"type": "Feature", "properties": {"role": "pitch", "name": name}, "geometry": outline}
        (job / "job.toml").write_text(JOB.format(name=name))
        (job / "ground.geojson").write_text(
            json.dumps({"type": "FeatureCollection", "features": [feature]})
        )
        out = pathlib.Path(folder) / "out"
        run = subprocess.run(
            [binary, "plan", str(job), "--out", str(out), "--only", "data", "--quiet", "--no-route"],
            capture_output=True, text=True,
        )
        if run.returncode != 0:
            raise RuntimeError(f"{name}: exit code {run.returncode}: {run.stderr.strip()}")
        return json.loads((out / "summary.json").read_text())


def plane(outline):
    """The outline's vertices in metres east and north of their mean, on the WGS84 ellipsoid."""
    ring = outline["coordinates"][0][:-1]
    lon0 = ring[0][0]
    ring = [(lon0 + (lon - lon0 + 180) % 360 - 180, lat) for lon, lat in (p[:2] for p in ring)]
    lon, lat = (sum(values) / len(ring) for values in zip(*ring))
    e2 = 0.0066943799901413165
    w2 = 1 - e2 * math.sin(math.radians(lat)) ** 2
    east = 6378137.0 / math.sqrt(w2) * math.cos(math.radians(lat))
    north = 6378137.0 * (1 - e2) / w2**1.5
    return [(math.radians(x - lon) * east, math.radians(y - lat) * north) for x, y in ring]


def along(point, angle):
    """A point's two coordinates along and to the left of an angle."""
    c, s = math.cos(angle), math.sin(angle)
    return point[0] * c + point[1] * s, -point[0] * s + point[1] * c


def least_area(points):
    """Sides, angle and corners of the rectangle of least area: it lies along some edge of the
    hull, and no line through two vertices that is not such an edge can beat it."""
    best = None
    for i, p in enumerate(points):
        for q in points[:i]:
            angle = math.atan2(q[1] - p[1], q[0] - p[0])
            u, v = zip(*(along(point, angle) for point in points))
            sides = max(u) - min(u), max(v) - min(v)
            if best is None or sides[0] * sides[1] < best[0] - 1e-9:
                corners = [(max(u), max(v)), (min(u), max(v)), (min(u), min(v)), (max(u), min(v))]
                best = sides[0] * sides[1], sides, angle, [along(c, -angle) for c in corners]
    return best[1:]


def least_squares(corners):
    """Sides and angle of the rectangle nearest four corners, given in order round it. With the
    half diagonals' sums A = sum(+--+ p)/4 and B = sum(++-- p)/4 the best direction u makes
    (A.u)^2 + (B.v)^2 greatest, v being u turned left; the sides are 2 A.u and 2 B.v."""
    a = [sum(s * p[k] for s, p in zip((1, -1, -1, 1), corners)) / 4 for k in (0, 1)]
    b = [sum(s * p[k] for s, p in zip((1, 1, -1, -1), corners)) / 4 for k in (0, 1)]
    turned = (b[1], -b[0])  # B.v = turned.u
    xx = a[0] ** 2 + turned[0] ** 2
    yy = a[1] ** 2 + turned[1] ** 2
    xy = a[0] * a[1] + turned[0] * turned[1]
    angle = math.atan2(2 * xy, xx - yy) / 2
    return (2 * abs(along(a, angle)[0]), 2 * abs(along(b, angle)[1])), angle


def sides_and_bearing(sides, angle):
    """Length, width and bearing in [0, 180) of the longer side."""
    if sides[0] < sides[1]:
        sides, angle = sides[::-1], angle + math.pi / 2
    return *sides, (90 - math.degrees(angle)) % 180


def faults(row, outline, summary):
    """What disagrees between one row of the table and the plan of its outline."""
    pitch, frame = summary["pitch"], summary["frame"]
    found = []

    def check(what, got, wanted, tolerance):
        if not abs(got - wanted) <= tolerance:
            found.append(f"{what} {got} is not {wanted} within {tolerance}")

    def check_bearing(what, got, wanted):
        difference = (got - wanted + 90) % 180 - 90
        check(what, difference, 0.0, BEARING_TOLERANCE_DEG)

    points = plane(outline)
    sides, angle, corners = least_area(points)
    length_m, width_m, bearing_deg = sides_and_bearing(sides, angle)
    check("least area: length_m", length_m, float(row["mrr_length_m"]), SIDE_TOLERANCE_M)
    check("least area: width_m", width_m, float(row["mrr_width_m"]), SIDE_TOLERANCE_M)
    check_bearing("least area: bearing off by", bearing_deg, float(row["bearing_true_deg"]))

    nearest = [min(points, key=lambda p: math.dist(p, corner)) for corner in corners]
    length_m, width_m, bearing_deg = sides_and_bearing(*least_squares(nearest))
    check("length_m", pitch["length_m"], length_m, SIDE_TOLERANCE_M)
    check("width_m", pitch["width_m"], width_m, SIDE_TOLERANCE_M)
    check_bearing("bearing off by", frame["bearing_deg"], bearing_deg)

    check("area_m2", pitch["area_m2"], float(row["area_m2"]), AREA_TOLERANCE_M2)
    for direction in summary["operations"][0]["directions"]:
        check(f"{direction['name']}: missed_m2", direction["missed_m2"], 0.0, 1e-6)
        check(f"{direction['name']}: covered_m2", direction["covered_m2"], pitch["area_m2"], 2e-6)
    return found


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--binary", required=True)
    parser.add_argument("--pitches", required=True, type=pathlib.Path)
    arguments = parser.parse_args()

    with open(arguments.pitches / "expected.csv", newline="") as table:
        rows = list(csv.DictReader(table))
    if not rows:
        sys.exit("reference pitches: expected.csv has no row")
    wrong = 0
    for row in rows:
        name = row["id"]
        collection = json.loads((arguments.pitches / f"{name}.geojson").read_text())
        try:
            outline = collection["features"][0]["geometry"]
            found = faults(row, outline, planned(arguments.binary, name, outline))
        except (RuntimeError, OSError, KeyError, TypeError) as error:
            found = [f"could not be compared: {error!r}"]
        wrong += bool(found)
        for fault in found:
            print(f"{name}: {fault}", file=sys.stderr)
    if wrong:
        sys.exit(f"reference pitches: {wrong} of {len(rows)} disagree")
    print(f"reference pitches: {len(rows)} planned, areas, sides and bearings agree")


if __name__ == "__main__":
    main()
