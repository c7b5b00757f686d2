"""Compares `guidance/passes.kml` and `guidance/route.gpx` with the dump, read by GDAL.

    python tests/oracle/kml_gpx.py --binary PATH --dump PATH [--jobs 4] [--seed N]

As a module: every line of a plan without a drive, its zones, ground and kept-clear places. As a
program: drives of random jobs on the globe, one of them across 180 degrees. Positions agree
within 1e-8 degrees. Exits with 1 where anything failed, and where nothing was checked.
"""

import argparse
import math
import random
import sys
import tempfile
from pathlib import Path

import numpy as np
import pyogrio
import shapely

from checks import Checks
from driven_jobs import make_job, text_of
from files import SMALL_M2, Plan
from frame import Frame
from kml_gpx_form import GPX, KML, complaints, parsed, schemas_in_use
from program import dump as dumped
from program import plan as planned
from shapes import from_multi, from_poly, polygons_of
from tape import rectangle

NEAR_DEG = 1e-8
FIGURE = 5e-7 + 1e-9
WORDING = "Nothing here means that the ground is free of services"


def layers(file):
    """Every layer of a file that has features: its fields by name, and its shapes."""
    found = {}
    for name, _ in pyogrio.list_layers(file):
        meta, _, shapes, columns = pyogrio.raw.read(file, layer=str(name))
        if len(shapes):
            fields = dict(zip(meta["fields"], columns))
            found[str(name)] = (fields, shapely.from_wkb(shapes))
    return found


class Degrees:
    """Pitch metres of the dump in degrees, running on past 180 beside a pitch there."""

    def __init__(self, frame):
        self.frame = Frame(frame["origin_lat_deg"], frame["origin_lon_deg"], frame["bearing_deg"])

    def of(self, places):
        """Unrounded longitudes and latitudes."""
        return self.unfolded(self.frame.to_globe(np.asarray(places, dtype=float)))

    def unfolded(self, lonlat):
        """Written degrees with neighbours beside each other."""
        lonlat = np.array(lonlat, dtype=float)[:, :2]
        lonlat[:, 0] += 360.0 * np.round((self.frame.lon_deg - lonlat[:, 0]) / 360.0)
        return lonlat


def runs_of(shape):
    """The lines of a shape, in their order."""
    return [np.array(part.coords)[:, :2] for part in getattr(shape, "geoms", [shape])]


def compare_kml_gpx(checks, job, ground, dump, folder):
    """Both files of a plan without a drive; `ground` is the job's ground, rebuilt."""
    if dump["frame"] is None:
        return
    sound = [compare_form(checks, folder / "guidance" / name, dump) for name in ("passes.kml", "route.gpx")]
    if not all(sound):  # other readers stumble over what is no KML or GPX
        return
    plan = Plan(checks, job, dump, folder, [])
    degrees = Degrees(dump["frame"])
    compare_kml(checks, plan, degrees, dump, folder / "guidance" / "passes.kml", ground)
    compare_gpx(checks, degrees, dump, folder / "guidance" / "route.gpx", bool(job.plan.get("gpx_waypoints", False)))


def compare_form(checks, file, dump):
    """Schemas, rules, and the sentences that every guidance file must carry. Whether it is sound."""
    checks.note(f"KML and GPX judged by {schemas_in_use()}")
    sound = checks.same("KML and GPX form", file.name, complaints(file), [])
    root = parsed(file).getroot()
    told = root.findtext(f"{KML}Document/{KML}description") or root.findtext(f"{GPX}metadata/{GPX}desc") or ""
    for words in ("Positions are WGS84", "The place of the pitch was come by from", "park on the SE peg", "Never steer by itself near people"):
        checks.true("KML and GPX sentences", file.name, words in told, f"`{words}` is not said")
    deep = sum(one["depth_mm"] > 100.0 for one in dump["operations"])
    checks.same("KML and GPX sentences", f"{file.name} services", told.count(WORDING), deep)
    accuracy = dump["frame"]["crs_accuracy_m"]
    if accuracy is not None:
        checks.true("KML and GPX sentences", file.name, f"accuracy of {accuracy:g} m" in told, f"accuracy {accuracy} is not said")
        checks.same("KML and GPX sentences", f"{file.name} caution", "Caution: positions from" in told, accuracy > 0.10)
    return sound


def same_line(checks, kind, place, degrees, runs, want):
    """A written line, in runs where it is cut at 180 degrees, beside that of the dump."""
    got = np.vstack([degrees.unfolded(run) for run in runs])
    want = degrees.of(want)
    if len(got) == len(want):
        off = float(np.abs(got - want).max())
    else:  # cut, or points that came to lie on each other
        ends = float(np.abs(got[[0, -1]] - want[[0, -1]]).max())
        off = max(ends, float(shapely.hausdorff_distance(shapely.LineString(got), shapely.LineString(want))))
    checks.small(kind, place, off, NEAR_DEG)


def compare_kml(checks, plan, degrees, dump, file, ground):
    """Folders, passes, zones, ground, and what is kept clear."""
    found = layers(file)
    wanted = set()
    for op in dump["operations"]:
        for number, direction in enumerate(op["directions"], start=1):
            name = f"{op['id']} direction {number}: {direction['name']}"
            wanted.add(name)
            compare_direction(checks, degrees, op, number, direction, found.pop(name, ({}, [])), name)
    zones = found.pop("zones", ({}, []))
    grounds = found.pop("ground", ({}, []))
    kept = found.pop("kept clear", ({}, []))
    places = found.pop("places", ({}, []))
    checks.same("KML folders", "unknown ones", sorted(found), [])
    compare_grounds(checks, plan, degrees, "KML zones", zones, "zone", [(zone["name"], from_multi(zone["shape"])) for zone in dump["zones"]])
    compare_figures(checks, "zones", zones[0], "zone", {
        zone["name"]: {"zone_kind": zone["kind"], "wear": zone["wear"], "area_m2": zone["area_m2"]} for zone in dump["zones"]})
    want = [("pitch", from_poly(dump["outline"])), ("run_off", from_multi(dump["grass"]))]
    compare_grounds(checks, plan, degrees, "KML ground", grounds, "kind", want)
    kinds = [str(kind) for kind in kept[0].get("kind", [])]
    checks.same("KML kept clear", "things", [kind for kind in kinds if kind != "kept_clear"], [one["role"] for one in dump["kept"]])
    things = [index for index, kind in enumerate(kinds) if kind != "kept_clear"]
    for index, one in zip(things, dump["kept"]):
        same_figure(checks, f"{one['role']} clearance_m", kept[0]["clearance_m"][index], one["clearance_m"])
    clear = [(one["role"], from_multi(one["kept_clear"])) for one in dump["kept"] if from_multi(one["kept_clear"]).area > 2 * SMALL_M2]
    chosen = [index for index, kind in enumerate(kinds) if kind == "kept_clear"]
    if checks.same("KML kept clear", "grounds", len(chosen), len(clear)):
        for index, (role, shape) in zip(chosen, clear):
            same_figure(checks, f"kept clear of {role}", kept[0]["of"][index], role)
            same_ground(checks, plan, degrees, "KML kept clear", role, kept[1][index], shape)
    want = [("entrance", place.coords[0]) for place in ground.entrances()] + [("peg", rectangle(dump)[0]["se"])]
    if checks.same("KML places", "kinds", [str(kind) for kind in places[0].get("kind", [])], [kind for kind, _ in want]):
        for shape, (kind, place) in zip(places[1], want):
            at = degrees.unfolded(np.array(shapely.centroid(shape).coords))
            checks.small("KML place (deg)", kind, float(np.abs(at - degrees.of([place])).max()), NEAR_DEG)


def same_figure(checks, place, written, want):
    """A value for programs beside that of the plan: a word, or a number to six decimals."""
    if isinstance(want, str) or want is None:
        checks.same("KML figures", place, written or None, want)
    else:
        checks.near("KML figures", place, float(written), float(want), FIGURE)


def compare_figures(checks, kind, fields, key, wanted):
    """The values for programs of things that a field names."""
    for index, name in enumerate(fields.get(key, [])):
        for field, want in wanted.get(str(name), {}).items():
            same_figure(checks, f"{kind} {name} {field}", fields[field][index], want)


def compare_direction(checks, degrees, op, number, direction, layer, name):
    """One placemark a part, in the order of the numbers, with its data."""
    fields, shapes = layer
    parts = direction["parts"]
    if not checks.same("KML passes", name, len(shapes), len(parts)) or not parts:
        return
    counts = {}
    for part in parts:
        counts[part["pass"]] = counts.get(part["pass"], 0) + 1
    titles = [f"pass {part['pass']}" + (f" part {part['part']}" if counts[part["pass"]] > 1 else "") for part in parts]
    checks.same("KML passes", f"{name} names", [str(one) for one in fields["Name"]], titles)
    want = [(op["id"], number, part["pass"], part["part"]) for part in parts]
    got = [(one, int(two), int(three), int(four)) for one, two, three, four in
           zip(fields["operation"], fields["direction"], fields["pass"], fields["part"])]
    checks.same("KML passes", f"{name} numbers", got, want)
    lines = [np.asarray(part["line"], dtype=float) for part in parts]
    figures = {"heading_deg": [direction["heading_deg"]] * len(parts), "width_m": [part["width_m"] for part in parts],
               "length_m": [float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in lines]}
    for key, wanted in figures.items():
        for title, written, want in zip(titles, fields.get(key, [None] * len(parts)), wanted):
            same_figure(checks, f"{name} {title} {key}", written, want)
    for title, shape, part in zip(titles, shapes, parts):
        same_line(checks, "KML pass (deg)", f"{name} {title}", degrees, runs_of(shape), part["line"])


def compare_grounds(checks, plan, degrees, kind, layer, key, wanted):
    """Grounds by a field that names them; what is too small is not written."""
    fields, shapes = layer
    by_name = {str(name): shape for name, shape in zip(fields.get(key, []), shapes)}
    checks.same(kind, "one each", len(by_name), len(shapes))
    for name, want in wanted:
        if want.area > 2 * SMALL_M2 or name in by_name:
            got = by_name.pop(name, None)
            if checks.true(kind, name, got is not None, "it is not written"):
                same_ground(checks, plan, degrees, kind, name, got, want)
    checks.same(kind, "unknown ones", sorted(by_name), [])


def same_ground(checks, plan, degrees, kind, place, shape, want):
    """The same ground, and no written corner off its edge."""
    plan.same_ground(f"{kind} shape", place, [shape], want)
    edge = shapely.union_all([shapely.LineString(degrees.of(ring.coords)) for part in polygons_of(want)
                              for ring in [part.exterior, *part.interiors]])
    corners = [shapely.points(degrees.unfolded(ring.coords)) for part in polygons_of(shape) for ring in [part.exterior, *part.interiors]]
    # Where ground is cut at 180 degrees the corners of the cut lie within it.
    for points in corners:
        lon = shapely.get_x(points)
        points = points[np.abs(np.abs(lon) - 180.0) > NEAR_DEG]
        if len(points):
            checks.small(f"{kind} corner (deg)", place, float(shapely.distance(points, edge).max()), NEAR_DEG)


def compare_gpx(checks, degrees, dump, file, with_ends):
    """Tracks of lines, and waypoints."""
    found = layers(file)
    fields, shapes = found.get("tracks", ({"name": [], "type": []}, []))
    ops = [op for op in dump["operations"] if any(direction["parts"] for direction in op["directions"])]
    if checks.same("GPX tracks", "names", [str(name) for name in fields["name"]], [f"{op['id']} (lines, not a drive)" for op in ops]):
        checks.same("GPX tracks", "types", [str(one) for one in fields["type"]], ["lines"] * len(ops))
        for op, shape in zip(ops, shapes):
            compare_segments(checks, degrees, op, runs_of(shape))
    points = found.get("waypoints", ({"name": []}, []))
    names = [str(name) for name in points[0]["name"]]
    want = [("peg SE", rectangle(dump)[0]["se"])]
    if with_ends:
        want += [one for op in dump["operations"] for one in ends_of(op)]
    if checks.same("GPX waypoints", "names", names, [name for name, _ in want]):
        for name, shape, (_, place) in zip(names, points[1], want):
            off = np.abs(degrees.unfolded(np.array(shape.coords)) - degrees.of([place])).max()
            checks.small("GPX waypoint (deg)", name, float(off), NEAR_DEG)


def ends_of(op):
    """Both ends of every part with their names, along the heading."""
    for number, direction in enumerate(op["directions"], start=1):
        passes = [part["pass"] for part in direction["parts"]]
        for part in direction["parts"]:
            which = f"{part['pass']}.{part['part']}" if passes.count(part["pass"]) > 1 else str(part["pass"])
            yield f"{op['id']} d{number} p{which} start", part["line"][0]
            yield f"{op['id']} d{number} p{which} stop", part["line"][-1]


def compare_segments(checks, degrees, op, runs):
    """A segment a part in the order of the numbers; two where it is cut at 180 degrees."""
    parts = [part for direction in op["directions"] for part in direction["parts"]]
    segments = 0
    for part in parts:
        ends = degrees.of([part["line"][0], part["line"][-1]])
        taken = runs[segments:segments + 1]
        while taken and np.abs(degrees.unfolded(taken[-1][-1:]) - ends[1]).max() > NEAR_DEG and len(taken) < 4 \
                and segments + len(taken) < len(runs):
            taken.append(runs[segments + len(taken)])
        segments += len(taken)
        place = f"{op['id']} pass {part['pass']} part {part['part']}"
        if checks.true("GPX segments", place, bool(taken), "it has no segment"):
            same_line(checks, "GPX line (deg)", place, degrees, taken, part["line"])
    checks.same("GPX segments", f"{op['id']} in all", segments, len(runs))


# Drives: what a plan without one cannot show.


def make_driven(number, seed):
    """A random job with a drive, somewhere on the globe; the first lies across 180 degrees."""
    text = text_of(make_job(random.Random(seed * 1000 + number)))
    chance = random.Random(seed * 77 + number)
    lat, lon = round(chance.uniform(-60.0, 60.0), 7), 180.0 if number == 1 else round(chance.uniform(-179.0, 179.0), 7)
    lie = f"centre = {{ lat_deg = {lat}, lon_deg = {lon} }}\nbearing_deg = {round(chance.uniform(0.0, 359.0), 3)}\n"
    return text.replace("[pitch]\n", f"[pitch]\n{lie}").replace("[plan]\n", "[plan]\ngpx_waypoints = true\n")


def compare_drive(checks, dump, file):
    """The track of each driven operation is its legs, one after the other. How many drives there
    are, and how often they cross 180 degrees."""
    degrees = Degrees(dump["frame"])
    compare_form(checks, file, dump)
    found = layers(file)
    fields, shapes = found.get("tracks", ({"name": [], "type": []}, []))
    tracks = {str(name): (str(kind), shape) for name, kind, shape in zip(fields["name"], fields["type"], shapes)}
    drives, cuts = 0, 0
    for op in dump["operations"]:
        if op["route"] is None:
            continue
        kind, shape = tracks.get(op["id"], ("", None))
        if not checks.same("GPX drives", op["id"], kind, "drive"):
            continue
        drives += 1
        places = [place for leg in op["route"]["legs"] for place in leg["line"]]
        want = [place for number, place in enumerate(places) if number == 0 or place != places[number - 1]]
        cuts += same_drive(checks, op["id"], degrees, runs_of(shape), want)
        names = [str(name) for name in found["waypoints"][0]["name"]]
        checks.same("GPX waypoints", "of a drive", len(names), 1 + 2 * sum(len(one["parts"]) for one in op["directions"]))
        compare_driven_ends(checks, degrees, op, dict(zip(names, found["waypoints"][1])))
    return drives, cuts


def same_drive(checks, place, degrees, runs, want):
    """The places of a drive in their order. Each crossing of 180 degrees adds the place of the cut
    twice; places nearer than the last digit have become one. How many crossings there are."""
    got = np.vstack([degrees.unfolded(run) for run in runs])
    want = degrees.of(want)

    def off(index, point):
        return float(np.abs(got[index] - point).max())

    index, furthest, before = 0, 0.0, want[0]
    for point in want:
        while off(index, point) > NEAR_DEG and index + 1 < len(got):
            index += 1
            is_cut = abs(abs(got[index][0]) - 180.0) <= NEAR_DEG
            if not is_cut and off(index, before) > NEAR_DEG:
                break
        furthest = max(furthest, off(index, point))
        before = point
    checks.small("GPX drive (deg)", place, furthest, NEAR_DEG)
    left = max(off(number, want[-1]) for number in range(index, len(got)))
    checks.small("GPX drive (deg)", f"{place} after its end", left, NEAR_DEG)
    side = np.sign(want[:, 0] - math.copysign(180.0, degrees.frame.lon_deg))
    cuts = int(np.sum(np.diff(side[side != 0]) != 0))
    checks.same("GPX drives", f"{place} segments", len(runs), cuts + 1)
    return cuts


def compare_driven_ends(checks, degrees, op, waypoints):
    """`start` is where a part's first work leg begins, moved on by the reach: on that end's side."""
    for number, direction in enumerate(op["directions"], start=1):
        passes = [part["pass"] for part in direction["parts"]]
        for part in direction["parts"]:
            legs = [leg for leg in op["route"]["legs"] if leg["kind"] == "work" and
                    (leg["direction"], leg["pass"], leg["part"]) == (number, part["pass"], part["part"])]
            which = f"{part['pass']}.{part['part']}" if passes.count(part["pass"]) > 1 else str(part["pass"])
            start = waypoints.get(f"{op['id']} d{number} p{which} start")
            if not legs or not checks.true("GPX waypoints", f"p{which}", start is not None, "no waypoint of that name"):
                continue
            along = np.subtract(legs[-1]["line"][-1], legs[0]["line"][0])
            is_back = float(along @ np.subtract(part["line"][-1], part["line"][0])) < 0
            want = degrees.of([part["line"][-1 if is_back else 0]])
            off = float(np.abs(degrees.unfolded(np.array(start.coords)) - want).max())
            checks.small("GPX waypoint (deg)", f"p{which} as driven", off, NEAR_DEG)


def main():
    """Plans and drives some jobs and compares their tracks."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--binary", type=Path, required=True)
    parser.add_argument("--dump", type=Path, required=True)
    parser.add_argument("--jobs", type=int, default=4)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args()
    total, drives, cuts = Checks(), 0, 0
    with tempfile.TemporaryDirectory() as folder:
        for number in range(1, options.jobs + 1):
            checks = Checks(f"drive {number}")
            path = Path(folder) / f"job-{number}"
            path.mkdir()
            (path / "job.toml").write_text(make_driven(number, options.seed), encoding="utf-8")
            out = Path(folder) / f"out-{number}"
            planned(options.binary, path, out, "--only", "guidance")
            found = compare_drive(checks, dumped(options.dump, path, "--routes"), out / "guidance" / "route.gpx")
            drives, cuts = drives + found[0], cuts + found[1]
            total.merge(checks)
    total.true("GPX drives", "cut at 180 degrees", cuts > 0, "no drive crosses it")
    print("\n".join(total.report()))
    for job, kind, place, words in total.failures[:20]:
        print(f"FAILED {job}: {kind}: {place}: {words}")
    print(f"drives as tracks: {options.jobs} jobs, {drives} drives, cut {cuts} times at 180 degrees, {total.total()} checks, {len(total.failures)} failed "
          f"(GDAL {pyogrio.__gdal_version_string__}; {schemas_in_use()})")
    sys.exit(1 if total.failures or not drives else 0)


if __name__ == "__main__":
    main()
