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
import shutil
import sys
import tempfile
from pathlib import Path

import numpy as np

from basics import check_basics
from checks import Checks
from driven_jobs import write_job as write_driven_job
from entries import check_entries, printed, random_job
from entries_faults import FAULTS as ENTRY_FAULTS
from entries_faults import FAULTS_WITH_REVERSING
from files import Plan
from frame import Frame
from ground import Ground
from guidance_faults import IN_KML_GPX, IN_SHAPEFILES, IN_TAPE
from kml_gpx import compare_kml_gpx
from kml_gpx_form import check_broken, schemas_in_use
from reading import Job
from reversing import check_reversing
from run import compare_job, plan_job
from shapefiles import compare_shapefiles
from shapes import from_multi, only_polygons
from shortest import check_shortest
from tape import compare_tape
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
AMONG_WALLS, WITH_REVERSING = 1, 5  # random jobs whose entries faults are planted in


def write_job(folder):
    """A job with a lamp post, a pipe box, a way in, a wire that is drawn as a point and kept clear
    of by nothing, and two goalmouths."""
    frame = Frame(LAT, LON, BEARING)
    features = []
    for role, place, extra in (("obstacle", (12.3, 7.7), {"clearance_m": 0.5, "name": "post"}), ("head", (-20.4, -11.1), {}),
                               ("obstacle", (-5.2, 31.9), {"clearance_m": 1.0}), ("head", (30.2, 14.6), {}),
                               ("obstacle", (3.3, -31.4), {"clearance_m": 0.0, "name": "wire"}), ("entrance", (-47.0, 33.0), {})):
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
            (written_hole_dropped, {"hand file"}), (people_unpaid, {"hand totals"})]
IN_SAMPLES = [(sample_area_off, {"covered_m2"}), (bearing_mirrored, {"bearing (deg)"}), (zone_worn_more, {"zone kind and wear"})]


class Planted:
    """One plan, and what is said when faults are planted in it."""

    def __init__(self, job, dump, out):
        self.job, self.ground, self.dump, self.out = job, Ground(job), dump, out
        self.count, self.silent = 0, []

    def in_dump(self, faults, judge, where=""):
        """Faults that change the dump."""
        for fault, wanted in faults:
            dump = copy.deepcopy(self.dump)
            fault(dump)
            self._hear(where + fault.__doc__, wanted, judge, dump, self.out)

    def in_files(self, faults, judge, where="", plant=lambda fault, folder: fault(folder)):
        """Faults that change a file of the plan."""
        for fault, wanted in faults:
            folder = self.out.with_name(f"{self.out.name}-{self.count}-{fault.__name__}")
            shutil.copytree(self.out, folder)
            plant(fault, folder)
            self._hear(where + fault.__doc__, wanted, judge, self.dump, folder)
            shutil.rmtree(folder)

    def _hear(self, what, wanted, judge, dump, out):
        checks = Checks("planted")
        judge(checks, self, dump, out)
        found = checks.failed_kinds()
        self.count += 1
        if found & wanted:
            print(f"alarm: {what.strip()} ({', '.join(sorted(found & wanted))})")
        else:
            self.silent.append(f"no alarm: {what.strip()} (wanted {sorted(wanted)}, found {sorted(found)})")


# The checks that are to notice a fault: all, or those of one kind of file.


def by_all(checks, plan, dump, out):
    """Every check."""
    checks.merge(compare_job("planted", plan.job.folder, dump, out))


def by_kml_gpx(checks, plan, dump, out):
    """Those of KML and GPX."""
    compare_kml_gpx(checks, plan.job, plan.ground, dump, out)


def by_task_data(checks, plan, dump, out):
    """Those of task data."""
    compare_task_data(checks, plan.job, plan.ground, dump, Plan(checks, plan.job, dump, out, []))


def by_shapefiles(checks, _, dump, out):
    """Those of shapefiles."""
    compare_shapefiles(checks, dump, Frame(LAT, LON, BEARING), out)


def by_tape(checks, plan, dump, out):
    """Those of the tape file."""
    compare_tape(checks, plan.job, dump, out)


def by_entries(checks, plan, dump, _):
    """Those of entries of tables."""
    check_entries(checks, plan.job, dump)


def plant_in_entries(folder, dump_binary, number, faults, where):
    """A job with its entries, none of which raises an alarm, and faults in them."""
    job = Job(write_driven_job(random_job(1, number), folder))
    plan = Planted(job, printed(dump_binary, job.folder, list(range(7, 4000, 211))), None)
    clean = Checks("clean entries")
    check_entries(clean, job, plan.dump)
    for fault, wanted in faults:
        plan.in_dump([(_of_job(fault, job), wanted)], by_entries, where)
    return plan, clean


def _of_job(fault, job):
    def planted(dump):
        fault(dump, job)

    planted.__doc__ = fault.__doc__
    return planted


def plant_nowhere(folder, plan_one):
    """Files that need a position, in a plan of a pitch without one."""
    job = folder / "nowhere"
    job.mkdir()
    lines = [line for line in JOB.replace('[ground]\nfile = "ground.geojson"\n', "").splitlines()
             if not line.startswith(("centre", "bearing_deg"))]
    (job / "job.toml").write_text("\n".join(lines), encoding="utf-8")
    out = folder / "nowhere-out"
    plan = Planted(Job(job), plan_one(job, out), out)
    clean = compare_job("clean, nowhere", job, plan.dump, out)
    for name in ("passes.kml", "route.gpx", "passes.shp"):
        def fault(folder, name=name):
            (folder / "guidance" / name).write_text("", encoding="utf-8")

        fault.__doc__ = f"A pitch without a position has a {name}."
        plan.in_files([(fault, {"guidance without a position"})], by_all)
    return plan, clean


def main():
    """Plants every fault and counts the alarms."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--binary", type=Path, required=True)
    parser.add_argument("--dump", type=Path, required=True)
    parser.add_argument("--samples", type=Path)
    options = parser.parse_args()

    def plan_one(job, out):
        return plan_job(job, out, options.binary.resolve(), options.dump.resolve())

    basics = check_basics()
    check_shortest(basics)
    check_reversing(basics)
    print(f"broken KML and GPX: {check_broken(basics)}; {schemas_in_use()}")
    folder = Path(tempfile.mkdtemp(prefix="oracle-selftest-"))
    job, out = folder / "job", folder / "out"
    write_job(job)
    plan = Planted(Job(job), plan_one(job, out), out)
    clean = compare_job("clean", job, plan.dump, out)
    plan.in_dump(IN_DUMP, by_all)
    plan.in_files(IN_FILES, by_all)
    plan.in_files(IN_KML_GPX, by_kml_gpx)
    plan.in_files(IN_SHAPEFILES, by_shapefiles)
    plan.in_files(IN_TAPE, by_tape)
    plan.in_files(FAULTS, by_task_data, "task data: ", plant)
    dump = options.dump.resolve()
    entries, clean_entries = plant_in_entries(folder / "entries", dump, AMONG_WALLS, ENTRY_FAULTS, "entries: ")
    turns, clean_turns = plant_in_entries(folder / "turns", dump, WITH_REVERSING, FAULTS_WITH_REVERSING, "turns: ")
    nowhere, clean_nowhere = plant_nowhere(folder, plan_one)
    plans = [plan, entries, turns, nowhere]
    for sample in sorted(options.samples.glob("*/job.toml")) if options.samples else []:
        out = folder / f"sample-{sample.parent.name}"
        plans.append(Planted(Job(sample.parent), plan_one(sample.parent, out), out))
        plans[-1].in_dump(IN_SAMPLES, by_all, f"{sample.parent.name}: ")
    checks = [basics, clean, clean_entries, clean_turns, clean_nowhere]
    silent = [f"without a fault: {kind}: {place}: {words}" for one in checks for _, kind, place, words in one.failures]
    silent += [line for one in plans for line in one.silent]
    planted, n_clean = sum(one.count for one in plans), sum(one.total() for one in checks[1:])
    for line in silent:
        print("FAILED", line)
    print(f"oracle selftest: {basics.total()} known values, {n_clean} checks on clean copies, {planted} faults planted, "
          f"{len(silent)} failures")
    if silent or min(one.count for one in plans) == 0 or not all(one.total() for one in checks):
        print(f"kept: {folder}")
        sys.exit(1)
    shutil.rmtree(folder)


if __name__ == "__main__":
    main()
