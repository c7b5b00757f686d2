#!/usr/bin/env python3
"""Plans outlines of other pitches and compares area, sides and bearing with a table beside them.

usage: run.py --binary PATH --pitches FOLDER

FOLDER holds one GeoJSON outline per pitch and `expected.csv`, computed elsewhere by
ellipsoidal geometry: `area_m2` on the WGS84 ellipsoid, and length, width and true bearing of
the rectangle of least area about the outline. The folder is no part of the project; where it
is missing, tests/run says so.

The program fits its rectangle to the four corners by least squares, so on a skewed outline it
is another rectangle than the one of least area. Both lie within the outline's own departure
from a rectangle, which is what the bounds below are made of; on a true rectangle that
departure is nothing and the comparison is sharp.
"""

import argparse
import csv
import json
import math
import pathlib
import subprocess
import sys
import tempfile

# The table prints millimetres and square millimetres; a degree of the outline has 7 decimals,
# which is a centimetre, but both sides read the same decimals.
AREA_TOLERANCE_M2 = 0.002
SIDE_TOLERANCE_M = 0.001
BEARING_TOLERANCE_DEG = 0.0001

JOB = """
name = "{name}"

[pitch]
run_off_m = {{ touch = 15.0, goal = 15.0 }}

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
            [binary, "plan", str(job), "--out", str(out), "--only", "data", "--quiet"],
            capture_output=True, text=True,
        )
        if run.returncode != 0:
            raise RuntimeError(f"{name}: exit code {run.returncode}: {run.stderr.strip()}")
        return json.loads((out / "summary.json").read_text())


def faults(row, summary):
    """What disagrees between one row of the table and the plan of its outline."""
    pitch, frame = summary["pitch"], summary["frame"]
    length_m, width_m = float(row["mrr_length_m"]), float(row["mrr_width_m"])
    misfit_m = pitch["misfit_m"]
    found = []

    def check(what, got, wanted, tolerance):
        if not abs(got - wanted) <= tolerance:
            found.append(f"{what} {got} is not {wanted} within {tolerance:.6f}")

    check("area_m2", pitch["area_m2"], float(row["area_m2"]), AREA_TOLERANCE_M2)
    check("length_m", pitch["length_m"], length_m, 2 * misfit_m + SIDE_TOLERANCE_M)
    check("width_m", pitch["width_m"], width_m, 2 * misfit_m + SIDE_TOLERANCE_M)
    turned_deg = abs(frame["bearing_deg"] - float(row["bearing_true_deg"])) % 180
    turned_deg = min(turned_deg, 180 - turned_deg)
    skew_deg = math.degrees(math.atan2(2 * misfit_m, width_m))
    check("bearing away from the table's", turned_deg, 0.0, skew_deg + BEARING_TOLERANCE_DEG)
    # The misfit itself must not be an excuse: no corner of an outline can lie further from a
    # rectangle fitted to it than what the outline leaves free of its own rectangle allows.
    free_m2 = (1 - float(row["rectangularity"])) * length_m * width_m
    check("misfit_m", misfit_m, 0.0, 2 * free_m2 / width_m + SIDE_TOLERANCE_M)
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
            found = faults(row, planned(arguments.binary, name, collection["features"][0]["geometry"]))
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
