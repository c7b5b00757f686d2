"""Tests the oracle itself: planted faults must raise alarms, a clean plan none.

    python tests/oracle/selftest.py --binary PATH --dump PATH [--samples DIR]

First the oracle's own parts against known values (`basics.py`) and known broken files (`broken/`). Then one job is planned by
the program; its dump and its files are copied, one fault is planted at a time, and the
checks that are meant to notice it must fail. Exits with 1 where one stays silent, where
the clean copy raises an alarm, or where a fault could not be planted. With `--samples` the
faults that any plan can have are planted in each sample job too.
"""

import argparse
import copy
import json
import re
import shutil
import struct
import sys
import tempfile
from pathlib import Path

import numpy as np

from basics import check_basics
from checks import Checks
from files import Plan
from frame import Frame
from kml_gpx import compare_kml_gpx
from kml_gpx_form import check_broken, schemas_in_use
from reading import Job
from run import compare_job, plan_job
from shapes import from_multi, only_polygons
from task_data import compare_task_data
from task_data_faults import FAULTS, plant

JOB = """
name = "Planted faults"

[pitch]
length_m = 98.4
width_m = 61.2
centre = { lat_deg = 55.3121, lon_deg = -3.7204 }
bearing_deg = 12.5
run_off_m = { west = 3.2, east = 4.1, south = 5.0, north = 4.6 }

[ground]
file = "ground.geojson"

[crew]
people = 3
price_per_h = 18.5

[tractor.compact]
turn_radius_m = 2.9

[implement.corer]
tractor = "compact"
working_width_m = 1.8
overlap_m = 0.1
speed_km_h = 4.0

[[operation]]
id = "core"
task = "core"
implement = "corer"
zones = ["all"]
directions = ["diagonal_left", "across", { angle_deg = 17.0 }]
ends = "hold_inside"
depth_mm = 80.0

[[operation]]
id = "mouths"
task = "core"
implement = "corer"
zones = ["goalmouth"]
directions = ["along"]
remainder = "full"
depth_mm = 80.0
rate_g_per_m2 = 40.0

[[hand]]
id = "fork"
kind = "board"
zone = "goalmouth-south"
people = 2
board = { length_m = 3.0, width_m = 0.23 }
fork = { tines = 4, tine_spacing_mm = 120.0, tine_diameter_mm = 12.0, depth_mm = 180.0, step_mm = 150.0 }

[[hand]]
id = "swap"
kind = "blocks"
zone = "goalmouth-south"
block = { side_m = 0.229, depth_mm = 60.0, worn = [[-47.3, 0.2], [-46.6, -0.7], [-45.9, 1.4], [-46.2, 0.4], [-44.8, -1.9]] }

[[hand]]
id = "mend"
kind = "lanes"
zone = "all"
lane = { minutes = 60.0 }

[[hand]]
id = "left"
kind = "rest"
operation = "core"
"""
LAT, LON, BEARING = 55.3121, -3.7204, 12.5


def write_job(folder):
    """A job with a lamp post, a pipe box and two goalmouths."""
    frame = Frame(LAT, LON, BEARING)
    features = []
    for role, place, extra in (("obstacle", (12.3, 7.7), {"clearance_m": 0.5, "name": "post"}), ("head", (-20.4, -11.1), {}),
                               ("obstacle", (-5.2, 31.9), {"clearance_m": 1.0})):
        (lon, lat), = np.round(frame.to_globe([place]), 10)
        features.append({"type": "Feature", "properties": {"role": role, **extra},
                         "geometry": {"type": "Point", "coordinates": [float(lon), float(lat)]}})
    folder.mkdir(parents=True)
    (folder / "job.toml").write_text(JOB, encoding="utf-8")
    (folder / "ground.geojson").write_text(json.dumps({"type": "FeatureCollection", "features": features}), encoding="utf-8")


# Faults in the dump: each takes the dump and changes it.


def _parts(dump, operation=0, direction=0):
    return dump["operations"][operation]["directions"][direction]["parts"]


def pass_moved(dump):
    """A pass lies 0.1 mm beside where it should."""
    part = _parts(dump)[20]
    for point in part["line"]:
        point[0] += 1e-4


def part_missing(dump):
    """A part is left out."""
    del _parts(dump)[25]


def width_changed(dump):
    """A strip is a millimetre wider than the tool."""
    _parts(dump)[10]["width_m"] += 0.001


def area_off(dump):
    """A covered area is off by 1e-5 m2."""
    dump["operations"][0]["directions"][1]["figures"]["covered_m2"] += 1e-5


def times_off(dump):
    """The area worked twice is off by 1e-5 m2."""
    dump["operations"][0]["worked_times_m2"][2] -= 1e-5


def names_swapped(dump):
    """Two zones have each other's names."""
    zones = {zone["name"]: zone for zone in dump["zones"]}
    one, other = zones["corner-ne"], zones["corner-sw"]
    one["name"], other["name"] = other["name"], one["name"]


def heading_off(dump):
    """A heading is off by 0.01 degrees."""
    dump["operations"][0]["directions"][2]["heading_deg"] += 0.01


def clearance_short(dump):
    """An obstacle is kept clear of 2 mm less than asked."""
    kept = next(one for one in dump["kept"] if one["role"] == "obstacle")
    shape = only_polygons(from_multi(kept["kept_clear"]).buffer(-0.002))
    kept["kept_clear"] = [[[list(point) for point in ring.coords] for ring in [part.exterior, *part.interiors]]
                          for part in shape.geoms]


def sample_area_off(dump):
    """A covered area of the first direction is off by 1e-5 m2."""
    dump["operations"][0]["directions"][0]["figures"]["covered_m2"] += 1e-5


def zone_worn_more(dump):
    """A zone has another wear class."""
    dump["zones"][0]["wear"] = dump["zones"][0]["wear"] % 5 + 1


def numbers_swapped(dump):
    """Two passes have each other's numbers."""
    for part in _parts(dump, 1):
        part["pass"] = {1: 2, 2: 1}.get(part["pass"], part["pass"])


def bearing_mirrored(dump):
    """The bearing is taken the wrong way round."""
    dump["frame"]["bearing_deg"] = 360.0 - dump["frame"]["bearing_deg"]


def gap_driven_over(dump):
    """Two parts on either side of an obstacle are joined into one."""
    parts = _parts(dump)
    for here, (one, other) in enumerate(zip(parts[:-1], parts[1:])):
        if one["pass"] == other["pass"]:
            one["line"][1] = other["line"][1]
            del parts[here + 1]
            return
    raise LookupError("no pass with two parts")


def _detail(dump, number):
    return dump["hand"][number]["detail"]


def hole_moved(dump):
    """A hole lies 2 micrometres off."""
    _detail(dump, 0)["grounds"][0]["stages"][0]["rows"][4]["holes"][7][1] += 2e-6


def hole_missing(dump):
    """A hole is left out."""
    del _detail(dump, 0)["grounds"][0]["stages"][1]["rows"][9]["holes"][3]


def row_from_elsewhere(dump):
    """A row is forked from the next place of the board."""
    _detail(dump, 0)["grounds"][0]["stages"][0]["rows"][4]["board"] += 1


def pair_uncounted(dump):
    """A coincident pair is not counted."""
    _detail(dump, 0)["coincident"] -= 1


def stands_beside(dump):
    """A person starts a centimetre beside the board."""
    _detail(dump, 0)["grounds"][0]["stages"][0]["starts"][0][0] -= 0.13


def donors_crossed(dump):
    """Two worn blocks have each other's donors."""
    one, other = _detail(dump, 1)["swaps"][:2]
    one["donor"], other["donor"] = other["donor"], one["donor"]
    for swap in (one, other):
        (x0, y0), (x1, y1) = (np.mean(np.array(swap[key][0][:4]), axis=0) for key in ("worn", "donor"))
        before, swap["carry_m"] = swap["carry_m"], float(np.hypot(x1 - x0, y1 - y0))
        _detail(dump, 1)["carry_m"] += swap["carry_m"] - before


def donor_forgotten(dump):
    """A swap is left out: more worn blocks than donors."""
    _detail(dump, 1)["swaps"].pop()


def lane_twice(dump):
    """A lane is walked by two people."""
    lanes = _detail(dump, 2)["lanes"]
    lanes[3]["shape"] = lanes[2]["shape"]


def share_uneven(dump):
    """A lane is given to another person."""
    _detail(dump, 2)["lanes"][0]["person"] = 2


def leftover_forgotten(dump):
    """A place that no direction worked is nobody's job."""
    places = _detail(dump, 3)["places"]
    places.remove(max((one for one in places if one["why"] == "missed"), key=lambda one: one["area_m2"]))
    _detail(dump, 3)["missed_m2"] = sum(one["area_m2"] for one in places if one["why"] == "missed")


def kept_grass_forgotten(dump):
    """The grass round an obstacle is nobody's job."""
    places = _detail(dump, 3)["places"]
    del places[[one["why"] for one in places].index("kept_clear")]


# Faults in the files: each takes the folder of the plan and changes a file.


def _edit(folder, name, change):
    file = folder / name
    content = json.loads(file.read_text(encoding="utf-8"))
    change(content)
    file.write_text(json.dumps(content), encoding="utf-8")


def missed_place_dropped(folder):
    """A missed place is not listed."""
    _edit(folder, "missed.geojson", lambda content: content["features"].pop(3))


def written_pass_moved(folder):
    """A written pass lies 1e-8 degrees, about a millimetre, off."""

    def change(content):
        for position in content["features"][7]["geometry"]["coordinates"]:
            position[1] += 1e-8

    _edit(folder, "passes.geojson", change)


def ring_turned(folder):
    """A zone's exterior runs clockwise."""

    def change(content):
        shape = content["features"][2]["geometry"]
        ring = shape["coordinates"][0] if shape["type"] == "Polygon" else shape["coordinates"][0][0]
        ring.reverse()

    _edit(folder, "zones.geojson", change)


def time_off(folder):
    """The turning time forgets one turn."""

    def change(content):
        content["operations"][0]["time"]["turn_s"] -= 35.0

    _edit(folder, "summary.json", change)


def written_hole_dropped(folder):
    """A hole is not written."""
    _edit(folder, "hand.geojson", lambda content: content["features"][0]["geometry"]["coordinates"].pop())


def people_unpaid(folder):
    """The hand work is left out of the person-seconds."""

    def change(content):
        content["totals"]["person_s"] -= sum(one["time_s"] * one["people"] for one in content["hand"])

    _edit(folder, "summary.json", change)


def file_not_listed(folder):
    """A file lies there that `files` does not name."""
    _edit(folder, "summary.json", lambda content: content["files"].remove("targets.geojson"))


def _rewrite(folder, name, pattern, change):
    """Changes the first place of a text file that a pattern fits."""
    file = folder / "guidance" / name
    text, changed = re.subn(pattern, change, file.read_text(encoding="utf-8"), count=1, flags=re.DOTALL)
    if not changed:
        raise LookupError(f"{name}: nothing fits {pattern}")
    file.write_text(text, encoding="utf-8")


def _shifted(found):
    return f"{found[1]}{float(found[2]) + 2e-8:.9f}"


def kml_pass_moved(folder):
    """A pass in the KML file lies 2e-8 degrees, about two millimetres, off."""
    _rewrite(folder, "passes.kml", r"(<coordinates>[-0-9.]+,)([-0-9.]+)", _shifted)


def kml_pass_dropped(folder):
    """A pass is left out of the KML file."""
    _rewrite(folder, "passes.kml", r"<Placemark>.*?</Placemark>", "")


def kml_ring_opened(folder):
    """A ring in the KML file does not end where it begins."""
    _rewrite(folder, "passes.kml", r"\n[-0-9.,]+(</coordinates>\s*</LinearRing>)", r"\1")


def kml_ring_turned(folder):
    """A polygon in the KML file runs clockwise."""

    def turned(found):
        return "<LinearRing>\n<coordinates>" + "\n".join(reversed(found[1].split())) + "</coordinates>"

    _rewrite(folder, "passes.kml", r"<LinearRing>\s*<coordinates>([^<]*)</coordinates>", turned)


def kml_colour_as_in_html(folder):
    """A colour in the KML file is written as in a web page."""
    _rewrite(folder, "passes.kml", r"<color>[0-9a-f]{8}</color>", "<color>#00ff00</color>")


def kml_hole_beside_hole(folder):
    """A boundary in the KML file has two rings, as a library writes holes."""
    _rewrite(folder, "passes.kml", r"(<LinearRing>.*?</LinearRing>)", r"\1\1")


def caution_forgotten(folder):
    """The KML file does not say where to check a terminal."""
    _rewrite(folder, "passes.kml", r"park on the SE peg", "drive")


def gpx_point_moved(folder):
    """A point of a track lies 2e-8 degrees off."""
    _rewrite(folder, "route.gpx", r'(<trkpt lat=")([-0-9.]+)', _shifted)


def gpx_segment_dropped(folder):
    """A line is left out of a track."""
    _rewrite(folder, "route.gpx", r"<trkseg>.*?</trkseg>", "")


def gpx_waypoint_last(folder):
    """A waypoint stands after the tracks."""
    _rewrite(folder, "route.gpx", r"(<wpt .*?</wpt>)(.*)(</gpx>)", r"\2\1\3")


def gpx_longitude_180(folder):
    """A longitude is 180 degrees."""
    _rewrite(folder, "route.gpx", r'(<wpt lat="[-0-9.]+" lon=")[-0-9.]+', r"\g<1>180")


def _edit_tape(folder, change):
    file = folder / "guidance" / "tape.csv"
    rows = [line.split(",") for line in file.read_text(encoding="utf-8").splitlines()]
    change(rows)
    file.write_text("".join(",".join(row) + "\n" for row in rows), encoding="utf-8")


def tape_chained(folder):
    """A figure of the tape is off by a centimetre."""

    def change(rows):
        rows[12][7] = f"{float(rows[12][7]) + 0.01:.2f}"

    _edit_tape(folder, change)


def tape_edge_of_the_other_side(folder):
    """The edge that rides the string is that away from the flag."""

    def change(rows):
        rows[9][8] = f"{2.0 * float(rows[9][7]) - float(rows[9][8]):.2f}"

    _edit_tape(folder, change)


def tape_from_two_flags(folder):
    """One pass is measured from the line's other flag."""

    def change(rows):
        row = rows[15]
        others = {one[6] for one in rows[1:] if one[5] != row[5]} | {"ne", "se", "sw", "nw"}
        kind = row[5][0]
        row[6] = next(flag for flag in sorted(others) if kind in flag and flag != row[6])

    _edit_tape(folder, change)


def tape_lifted_on_the_slant(folder):
    """How far beyond a line a diagonal is lifted is measured along the pass."""

    def change(rows):
        row = next(row for row in rows[1:] if abs(float(row[9])) > 0.1)
        row[9] = f"{float(row[9]) * 2.0 ** 0.5:.2f}"

    _edit_tape(folder, change)


def tape_ends_swapped(folder):
    """A pass starts where it should stop."""

    def change(rows):
        rows[21][5:10], rows[22][5:10] = rows[22][5:10], rows[21][5:10]

    _edit_tape(folder, change)


def tape_row_missing(folder):
    """A row of the tape is missing."""
    _edit_tape(folder, lambda rows: rows.pop(30))


def shapefile_moved(folder):
    """A pass in the shapefile lies 3e-8 degrees off."""
    file = folder / "guidance" / "passes.shp"
    content = bytearray(file.read_bytes())
    # Header 100; head 8, type 4, box 32, two counts, one part's start: the first place, its latitude.
    at = 100 + 8 + 4 + 32 + 8 + 4 + 8
    content[at:at + 8] = struct.pack("<d", struct.unpack("<d", content[at:at + 8])[0] + 3e-8)
    file.write_bytes(content)


def shapefile_renumbered(folder):
    """A pass in the shapefile's table has another number."""
    file = folder / "guidance" / "passes.dbf"
    content = bytearray(file.read_bytes())
    # The first record: its mark, the operation's column as wide as it says, direction, pass.
    last_digit = int.from_bytes(content[8:10], "little") + 1 + content[32 + 16] + 9 + 9 - 1
    content[last_digit] = ord("9") if content[last_digit] != ord("9") else ord("8")
    file.write_bytes(content)


# What is planted, where, and which checks must notice it (one of them at least).
IN_DUMP = [(pass_moved, {"end of a part (m)"}), (part_missing, {"pass and part numbers"}), (width_changed, {"strip width (m)"}),
           (area_off, {"covered_m2"}), (times_off, {"worked_times_m2"}), (names_swapped, {"zone shape"}),
           (heading_off, {"heading (deg)"}), (clearance_short, {"kept-clear shape"}),
           (numbers_swapped, {"pass and part numbers", "end of a part (m)"}), (bearing_mirrored, {"bearing (deg)"}),
           (gap_driven_over, {"pass and part numbers"}),
           (hole_moved, {"place of a hole (m)"}), (hole_missing, {"holes of a row"}), (row_from_elsewhere, {"board of a row"}),
           (pair_uncounted, {"coincident holes"}), (stands_beside, {"people on the board"}),
           (donors_crossed, {"least carrying (m)"}), (donor_forgotten, {"worn places covered", "blocks swapped"}),
           (lane_twice, {"lanes make up the ground (m2)"}), (share_uneven, {"equal shares"}),
           (leftover_forgotten, {"missed by all (m2)"}), (kept_grass_forgotten, {"kept-clear grass shape"})]
IN_FILES = [(missed_place_dropped, {"missed places area", "missed places shape"}), (written_pass_moved, {"written pass (m)"}),
            (ring_turned, {"ring winding"}), (time_off, {"summary figure"}), (file_not_listed, {"file list"}),
            (shapefile_moved, {"passes by GDAL (deg)"}), (shapefile_renumbered, {"passes by GDAL"}),
            (written_hole_dropped, {"hand file"}), (people_unpaid, {"hand totals"}),
            (tape_chained, {"tape: centre (m)"}), (tape_edge_of_the_other_side, {"tape: edge (m)"}),
            (tape_from_two_flags, {"tape: one flag a line"}), (tape_lifted_on_the_slant, {"tape: beyond (m)"}),
            (tape_ends_swapped, {"tape: nearest line (m)", "tape: beyond (m)"}), (tape_row_missing, {"tape.csv"})]
IN_KML_GPX = [(kml_pass_moved, {"KML pass (deg)"}), (kml_pass_dropped, {"KML passes"}), (kml_ring_opened, {"KML and GPX form"}),
              (kml_ring_turned, {"KML and GPX form"}), (kml_colour_as_in_html, {"KML and GPX form"}),
              (kml_hole_beside_hole, {"KML and GPX form"}), (caution_forgotten, {"KML and GPX sentences"}),
              (gpx_point_moved, {"GPX line (deg)"}), (gpx_segment_dropped, {"GPX segments"}),
              (gpx_waypoint_last, {"KML and GPX form"}), (gpx_longitude_180, {"KML and GPX form"})]
IN_SAMPLES = [(sample_area_off, {"covered_m2"}), (bearing_mirrored, {"bearing (deg)"}), (zone_worn_more, {"zone kind and wear"})]


def alarms_of_kml_gpx(folder, dump, out):
    """The kinds of check on KML and GPX that fail."""
    checks = Checks("planted")
    compare_kml_gpx(checks, Job(folder), dump, out)
    return checks.failed_kinds()


def alarms(folder, dump, out):
    """The kinds of check that fail."""
    return compare_job("planted", folder, dump, out).failed_kinds()


def terminal_alarms(folder, dump, out):
    """The kinds of check on task data that fail."""
    checks, job = Checks("planted"), Job(folder)
    compare_task_data(checks, job, dump, Plan(checks, job, dump, out, []))
    return checks.failed_kinds()


def main():
    """Plants every fault and counts the alarms."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--binary", type=Path, required=True)
    parser.add_argument("--dump", type=Path, required=True)
    parser.add_argument("--samples", type=Path)
    options = parser.parse_args()
    basics = check_basics()
    print(f"broken KML and GPX: {check_broken(basics)}; {schemas_in_use()}")
    silent = [f"basics: {kind}: {place}: {words}" for _, kind, place, words in basics.failures]
    folder = Path(tempfile.mkdtemp(prefix="oracle-selftest-"))
    job, out = folder / "job", folder / "out"
    write_job(job)
    dump = plan_job(job, out, options.binary.resolve(), options.dump.resolve())
    clean = compare_job("clean", job, dump, out)
    silent += [f"the clean copy raises an alarm: {kind}: {place}: {words}" for _, kind, place, words in clean.failures]
    planted = 0
    for fault, wanted in IN_DUMP:
        changed = copy.deepcopy(dump)
        fault(changed)
        planted += _heard(fault, wanted, alarms(job, changed, out), silent)
    for judge, faults in ((alarms, IN_FILES), (alarms_of_kml_gpx, IN_KML_GPX)):
        for fault, wanted in faults:
            copied = folder / fault.__name__
            shutil.copytree(out, copied)
            fault(copied)
            planted += _heard(fault, wanted, judge(job, dump, copied), silent)
    for number, (fault, wanted) in enumerate(FAULTS):
        copied = folder / f"terminal-{number}"
        shutil.copytree(out, copied)
        plant(fault, copied)
        planted += _heard(fault, wanted, terminal_alarms(job, dump, copied), silent, "task data: ")
    for number, sample in enumerate(sorted(options.samples.glob("*/job.toml")) if options.samples else []):
        out = folder / f"sample-{number}"
        dump = plan_job(sample.parent, out, options.binary.resolve(), options.dump.resolve())
        for fault, wanted in IN_SAMPLES:
            changed = copy.deepcopy(dump)
            fault(changed)
            planted += _heard(fault, wanted, alarms(sample.parent, changed, out), silent, f"{sample.parent.name}: ")
    for line in silent:
        print("FAILED", line)
    print(f"oracle selftest: {basics.total()} known values, {clean.total()} checks on the clean copy, {planted} faults planted, "
          f"{len(silent)} failures")
    if silent or planted < 10 or not clean.total():
        print(f"kept: {folder}")
        sys.exit(1)
    shutil.rmtree(folder)


def _heard(fault, wanted, found, silent, where=""):
    what = where + fault.__doc__.strip()
    if found & wanted:
        print(f"alarm: {what} ({', '.join(sorted(found & wanted))})")
    else:
        silent.append(f"no alarm: {what} (wanted {sorted(wanted)}, found {sorted(found)})")
    return 1


if __name__ == "__main__":
    main()
