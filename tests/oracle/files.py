"""Compares the written files with the dump, within what nine decimals of a degree give.

Half a unit of the ninth decimal is 5e-10 degrees: a written place lies within `reach_m` of
the unrounded one, and an area within `reach_m` x boundary length. Summary figures are
those of the dump, rounded to six decimals.
"""

import math

import numpy as np
import shapely
from geographiclib.geodesic import Geodesic

from areas import Strips, figures
from frame import Frame, from_crs
from shapes import boundary_m, difference_area, from_multi, from_poly, lines_of, mended, only_polygons, polygons_of, union
from written import Features, Figure, compare_form, half_unit, leaves, read_csv, read_json

DATA = ["summary.json", "ground.geojson", "zones.geojson", "targets.geojson", "passes.geojson", "passes.csv",
        "missed.geojson"]
SMALL_M2 = 1e-4
SIX = 5e-7 + 1e-9
SNAPPED_M = 1e-7
EARTH_M = 6_356_752.0
TURN_S = 35.0


class Plan:
    """A written plan beside the dump of the same job."""

    def __init__(self, checks, job, dump, folder, strips):
        self.checks, self.job, self.dump, self.folder, self.strips = checks, job, dump, folder, strips
        self.summary = read_json(folder / "summary.json")
        frame = dump["frame"]
        self.frame = frame and Frame(frame["origin_lat_deg"], frame["origin_lon_deg"], frame["bearing_deg"])
        lat = math.radians(frame["origin_lat_deg"]) if frame else 0.0
        # Metres a degree: at most 111,694 along a meridian, 111,695 x cos(lat) along a parallel.
        self._read = {}
        self.reach_m = 5e-10 * 111_695.0 * math.hypot(1.0, math.cos(lat) + 2e-5) + 1e-7

    def chord_m(self, shape):
        """How far a cut at 180 degrees may lie beside the unrounded edge: a straight line in
        degrees bows from one in metres by s^2 tan(lat) / 8R, s its longest edge."""
        if self.frame is None or 180.0 - abs(self.frame.lon_deg) > 0.01 * (1.0 + abs(math.tan(math.radians(self.frame.lat_deg)))):
            return 0.0
        longest = max(float(np.hypot(*np.diff(run, axis=0).T).max(initial=0.0)) for run in lines_of(shape))
        return longest**2 * abs(math.tan(math.radians(self.frame.lat_deg))) / (8.0 * EARTH_M)

    def features(self, name):
        """A written GeoJSON file, read once."""
        if name not in self._read:
            self._read[name] = Features(self.folder / name)
        return self._read[name]

    def measured(self, shape):
        """Area and boundary length in pitch metres of a written shape."""
        parts = [self.frame.shape_to_pitch(part) for part in polygons_of(shape)]
        return sum(part.area for part in parts), boundary_m(*parts)

    def ground_of(self, shapes):
        """The union in pitch metres of written shapes, cut at 180 degrees or not."""
        return union([mended(self.frame.shape_to_pitch(part)) for shape in shapes for part in polygons_of(shape)])

    def same_ground(self, kind, place, shapes, want, small=0.0):
        """Checks written polygons against a shape of the dump."""
        got = self.ground_of(shapes)
        dropped = sum(part.area for part in polygons_of(want) if part.area < 2 * SMALL_M2) + small
        chord = 0.0 if want.is_empty else self.chord_m(want)
        allowed = (self.reach_m + chord) * (boundary_m(got) + boundary_m(want)) + dropped
        self.checks.small(kind, place, difference_area(got, want), allowed)


def compare_files(checks, job, dump, folder, strips):
    """Compares all files of a plan."""
    plan = Plan(checks, job, dump, folder, strips)
    _compare_list(plan)
    _compare_summary(plan)
    _compare_time(plan)
    _compare_table(plan)
    if plan.frame is None:
        return
    _compare_globe(plan)
    for name in DATA:
        if name.endswith(".geojson"):
            compare_form(checks, name, plan.features(name))
    _compare_ground(plan)
    _compare_zones(plan)
    targets = _compare_targets(plan)
    _compare_passes(plan, targets)
    _compare_missed(plan)


def _compare_list(plan):
    there = sorted(str(file.relative_to(plan.folder)).replace("\\", "/")
                   for file in plan.folder.rglob("*") if file.is_file())
    plan.checks.same("file list", "files", sorted(plan.summary["files"]), there)
    if plan.frame is None:
        placed = [name for name in there if name.endswith((".geojson", ".kml", ".gpx", ".XML", ".shp"))]
        plan.checks.same("file list", "no position", placed, [])
        wanted = ["summary.json", "passes.csv"]
        codes = [warning["code"] for warning in plan.summary["warnings"]]
        plan.checks.true("file list", "no position", "no_position" in codes, "no warning `no_position`")
    else:
        wanted = DATA
    plan.checks.same("file list", "data files", [name for name in wanted if name not in there], [])


def _six(plan, place, got, want):
    """A summary figure: the dump's, rounded to six decimals."""
    if want is None or got is None:
        plan.checks.same("summary figure", place, got, want)
    else:
        plan.checks.near("summary figure", place, float(got), want, SIX + 1e-15 * abs(want))


def _compare_summary(plan):
    summary, dump, checks = plan.summary, plan.dump, plan.checks
    for path, figure in leaves(summary):
        most = 10 if str(path[-1]).startswith("origin_") else 6
        checks.true("summary decimals", "/".join(map(str, path)), getattr(figure, "decimals", 0) <= most, repr(figure))
    frame, want = summary["frame"], dump["frame"]
    if want is None:
        checks.same("summary figure", "frame", (frame["origin_lat_deg"], frame["origin_lon_deg"]), (None, None))
    else:
        for key in ("origin_lat_deg", "origin_lon_deg"):
            checks.near("summary origin (deg)", key, frame[key], want[key], 5e-11 + 1e-13)
        checks.same("summary figure", "crs", frame["crs"], want["crs"])
    _six(plan, "bearing_deg", frame["bearing_deg"], dump["bearing_deg"])
    for key in ("length_m", "width_m", "misfit_m"):
        _six(plan, key, summary["pitch"][key], dump["pitch"][key])
    _six(plan, "area_m2", summary["pitch"]["area_m2"], from_poly(dump["outline"]).area)
    checks.same("summary zones", "zones", [(zone["name"], zone["kind"], zone["wear"]) for zone in summary["zones"]],
                [(zone["name"], zone["kind"], zone["wear"]) for zone in dump["zones"]])
    for got, zone in zip(summary["zones"], dump["zones"]):
        _six(plan, f"zone {zone['name']}", got["area_m2"], zone["area_m2"])
    checks.same("summary operations", "ids", [op["id"] for op in summary["operations"]], [op["id"] for op in dump["operations"]])
    for got, op in zip(summary["operations"], dump["operations"]):
        _compare_summary_operation(plan, got, op)


def _compare_summary_operation(plan, got, op):
    place = op["id"]
    plan.checks.same("summary operations", f"{place} task", got["task"], op["task"])
    _six(plan, f"{place} asked_spacing_m", got["asked_spacing_m"], op["working_width_m"] - op["overlap_m"])
    for key in ("working_width_m", "overlap_m", "target_area_m2", "kept_clear_m2"):
        _six(plan, f"{place} {key}", got[key], op[key])
    plan.checks.same("summary operations", f"{place} directions", [one["name"] for one in got["directions"]],
                     [one["name"] for one in op["directions"]])
    for one, direction in zip(got["directions"], op["directions"]):
        spot = f"{place} {direction['name']}"
        plan.checks.same("summary counts", f"{spot} passes", one["passes"], len({part["pass"] for part in direction["parts"]}))
        plan.checks.same("summary counts", f"{spot} parts", one["parts"], len(direction["parts"]))
        for key in ("angle_deg", "heading_deg", "spacing_m"):
            _six(plan, f"{spot} {key}", one[key], direction[key])
        for key, want in direction["figures"].items():
            _six(plan, f"{spot} {key}", one[key], want)
    times = [got["worked_times_m2"].get(str(k)) for k in range(len(op["worked_times_m2"]))]
    plan.checks.same("summary counts", f"{place} worked times", len(got["worked_times_m2"]), len(times))
    for k, (figure, want) in enumerate(zip(times, op["worked_times_m2"])):
        _six(plan, f"{place} worked {k} times", figure, want)


def _compare_time(plan):
    totals = {"work_s": 0.0, "total_s": 0.0, "person_s": 0.0}
    for operation, got, op in zip(plan.job.operations, plan.summary["operations"], plan.dump["operations"]):
        if got["route"] is not None:
            plan.checks.note("an operation with a route: its time is not the estimate")
            continue
        lengths = [direction["figures"]["working_length_m"] for direction in op["directions"]]
        each = [length * 3.6 / operation.speed_km_h for length in lengths]
        for one, want in zip(got["directions"], each):
            _six(plan, f"{op['id']} {one['name']} work_s", one["work_s"], want)
        parts = sum(len(direction["parts"]) for direction in op["directions"])
        work, turn = sum(each), TURN_S * max(0, parts - 1)
        allowance = plan.job.stops_share * (work + turn)
        total = work + turn + allowance
        covered = sum(direction["figures"]["covered_m2"] for direction in op["directions"])
        rate = covered / 1e4 / (total / 3600.0) if total > 0 else 0.0
        want = {"work_s": work, "turn_s": turn, "haul_s": 0.0, "load_s": 0.0, "allowance_s": allowance, "total_s": total,
                "rate_ha_per_h": rate, "field_efficiency": rate / (operation.speed_km_h * operation.width_m / 10.0),
                "time_efficiency": work / total if total > 0 else 0.0, "people": operation.people}
        for key, figure in want.items():
            _six(plan, f"{op['id']} time {key}", got["time"][key], figure)
        totals["work_s"] += work
        totals["total_s"] += total
        totals["person_s"] += total * operation.people
    if all(op["route"] is None for op in plan.summary["operations"]) and not plan.job.toml.get("hand"):
        price = plan.job.toml.get("crew", {}).get("price_per_h", 0.0)
        for key, want in {**totals, "cost": totals["person_s"] * price / 3600.0}.items():
            _six(plan, f"totals {key}", plan.summary["totals"][key], want)


def _compare_globe(plan):
    """The ellipsoid's own area from unrounded degrees, and the frame's place and bearing."""
    outline = from_poly(plan.dump["outline"])
    polygon = Geodesic.WGS84.Polygon()
    for lon, lat in plan.frame.to_globe(np.array(outline.exterior.coords)[:-1]):
        polygon.AddPoint(lat, lon)
    area = abs(polygon.Compute(False, True)[2])
    plan.checks.near("ellipsoidal area (share)", "pitch", float(plan.summary["pitch"]["area_m2"]) / area, 1.0, 1e-6)
    frame = plan.dump["frame"]
    (lon, lat), = plan.frame.to_globe([(50.0, 0.0)])
    line = Geodesic.WGS84.Inverse(frame["origin_lat_deg"], frame["origin_lon_deg"], lat, lon)
    off = (line["azi1"] - frame["bearing_deg"] + 180.0) % 360.0 - 180.0
    plan.checks.small("geodesic bearing (deg)", "+x", abs(off), 1e-6)
    plan.checks.near("geodesic length (m)", "+x", line["s12"], 50.0, 1e-6)


def _compare_ground(plan):
    found = plan.features("ground.geojson").keyed("role")
    shapes = {role: [shape for _, shape in entries] for (role,), entries in found.items()}
    grass, outline = from_multi(plan.dump["grass"]), from_poly(plan.dump["outline"])
    plan.same_ground("written ground", "run_off", shapes.get("run_off", []), grass)
    whole = [shapely.Polygon(part.exterior) for shape in shapes.get("pitch", []) for part in polygons_of(shape)]
    plan.same_ground("written ground", "pitch", whole, outline)
    to_lonlat = from_crs(plan.job.crs)
    holes = sum(len(part.interiors) for feature in plan.job.of_role("pitch") for part in polygons_of(feature.shape))
    for role in ("obstacle", "no_go", "goal", "stockpile", "head", "socket", "lid", "service"):
        given = plan.job.of_role(role)
        entries = list(found.get((role,), []))
        extra = 1 if role == "stockpile" and "stockpile" in plan.job.places else 0
        if role == "no_go":  # a hole of the pitch may be written as what it is kept clear like
            extra = min(holes, max(0, len(entries) - len(given)))
        if not plan.checks.same("written ground", f"{role} count", len(entries), len(given) + extra):
            continue
        for feature in given:
            want = shapely.transform(feature.shape, lambda xy: plan.frame.to_pitch(to_lonlat(xy)))
            away = [(shapely.hausdorff_distance(plan.frame.shape_to_pitch(_joined(shape)), want), properties)
                    for properties, shape in entries]
            off, properties = min(away, key=lambda entry: entry[0])
            if "Multi" not in want.geom_type:
                plan.checks.small("written ground (m)", f"{role} {feature.number}", off,
                                  plan.reach_m * 1.5 + plan.chord_m(want))
            if role != "service":
                plan.checks.near("written ground", f"{role} {feature.number} clearance", properties["clearance_m"],
                                 feature.clearance_m, 1e-9)


def _joined(shape):
    """A shape of one part without its Multi."""
    return shape.geoms[0] if hasattr(shape, "geoms") and len(shape.geoms) == 1 else shape


def _compare_zones(plan):
    features = plan.features("zones.geojson")
    found = features.keyed("name")
    tolerance = half_unit([properties["area_m2"] for properties, _, _ in features.features])
    for zone in plan.dump["zones"]:
        want, entries = from_multi(zone["shape"]), found.pop((zone["name"],), [])
        if want.area < 2 * SMALL_M2:
            continue
        if not plan.checks.same("written zones", f"{zone['name']} features", len(entries), 1):
            continue
        properties, shape = entries[0]
        plan.checks.same("written zones", zone["name"], (properties["kind"], properties["wear"]), (zone["kind"], zone["wear"]))
        plan.checks.near("written zones area", zone["name"], properties["area_m2"], zone["area_m2"], tolerance)
        plan.same_ground("written zones shape", zone["name"], [shape], want)
    plan.checks.same("written zones", "unknown ones", list(found), [])


def _compare_targets(plan):
    features = plan.features("targets.geojson")
    found = features.keyed("operation")
    tolerance = half_unit([properties["area_m2"] for properties, _, _ in features.features])
    targets = {}
    for op in plan.dump["operations"]:
        want, entries = from_multi(op["target"]), found.pop((op["id"],), [])
        if want.area < 2 * SMALL_M2:
            plan.checks.true("written targets", op["id"], want.area > 0 or not entries, "an empty target is written")
            continue
        if not plan.checks.same("written targets", f"{op['id']} features", len(entries), 1):
            continue
        properties, shape = entries[0]
        plan.checks.near("written targets area", op["id"], properties["area_m2"], op["target_area_m2"], tolerance)
        plan.same_ground("written targets shape", op["id"], [shape], want)
        targets[op["id"]] = plan.ground_of([shape])
    plan.checks.same("written targets", "unknown ones", list(found), [])
    return targets


def _line_to_pitch(plan, shape):
    """A written line in pitch metres, joined again where it was cut at 180 degrees."""
    runs = [plan.frame.to_pitch(shapely.get_coordinates(part)) for part in getattr(shape, "geoms", [shape])]
    along = runs[0][-1] - runs[0][0]
    return np.vstack(sorted(runs, key=lambda run: float(run[0] @ along)))


def _compare_passes(plan, targets):
    features = plan.features("passes.geojson")
    found = features.keyed("operation", "direction", "pass", "part")
    lengths = half_unit([properties["length_m"] for properties, _, _ in features.features])
    turns = half_unit([properties["heading_deg"] for properties, _, _ in features.features if properties["heading_deg"] is not None])
    want_keys = []
    for op in plan.dump["operations"]:
        for number, direction in enumerate(op["directions"], start=1):
            written = []
            for part in direction["parts"]:
                key = (op["id"], number, part["pass"], part["part"])
                want_keys.append(key)
                entries = found.get(key, [])
                if len(entries) == 1:
                    written.append(_compare_pass(plan, key, entries[0], direction, part, lengths, turns))
            if len(written) == len(direction["parts"]):
                _compare_written_areas(plan, op, direction, written, targets.get(op["id"]))
    plan.checks.same("written passes", "features", sorted(map(str, found)), sorted(map(str, want_keys)))
    plan.checks.same("written passes", "one feature a part", len(features.features), len(want_keys))


def _compare_pass(plan, key, entry, direction, part, lengths, turns):
    properties, shape = entry
    place = f"{key[0]} direction {key[1]} pass {key[2]} part {key[3]}"
    line = np.asarray(part["line"], dtype=float)
    got = _line_to_pitch(plan, shape)
    if direction["angle_deg"] is None:
        off = shapely.hausdorff_distance(shapely.LineString(got), shapely.LineString(line))
        plan.checks.same("written passes", f"{place} heading", properties["heading_deg"], None)
    else:
        off = float(np.hypot(*(got[[0, -1]] - line).T).max())
        turn = (properties["heading_deg"] - direction["heading_deg"]) % 360.0
        plan.checks.small("written heading (deg)", place, min(turn, 360.0 - turn), turns)
    allowed = 2.0 * plan.reach_m + plan.chord_m(shapely.LineString(line)) if len(line) > 2 else plan.reach_m
    plan.checks.small("written pass (m)", place, off, allowed)
    plan.checks.near("strip width (m)", place, properties["width_m"], part["width_m"], 1e-9)
    plan.checks.same("written passes", f"{place} shortened_m", float(properties["shortened_m"]), 0.0)
    length = float(np.sum(np.hypot(*np.diff(line, axis=0).T)))
    plan.checks.near("written length (m)", place, properties["length_m"], length, lengths)
    return {**part, "line": got.tolist() if direction["angle_deg"] is None else got[[0, -1]].tolist()}


def _compare_written_areas(plan, op, direction, written, target):
    """Coverage again, from written lines and written targets alone."""
    if target is None or direction["angle_deg"] is None:
        return
    strips = Strips({**direction, "parts": written})
    outline = from_poly(plan.dump["outline"])
    edges = sum(2 * (length + part["width_m"]) for part, length in
                ((part, math.dist(*part["line"])) for part in written))
    allowed = plan.reach_m * (edges + 2 * target.length + outline.length) + SMALL_M2 * len(polygons_of(target))
    for key, got in figures(strips, target, outline).items():
        bound = allowed if key.endswith("m2") else 2 * plan.reach_m * len(written) + 1e-6
        plan.checks.near(f"from files: {key}", f"{op['id']} {direction['name']}", got, direction["figures"][key], bound)


def _compare_missed(plan):
    features = plan.features("missed.geojson")
    found = features.keyed("operation", "direction")
    tolerance = half_unit([properties["area_m2"] for properties, _, _ in features.features])
    for op, strips in zip(plan.dump["operations"], plan.strips):
        target = mended(from_multi(op["target"]))
        never = target
        for number, one in enumerate(strips, start=1):
            figure = op["directions"][number - 1]["figures"]["missed_m2"]
            _compare_missed_of(plan, (op["id"], number), found, target.difference(one.one()), figure, tolerance)
            never = only_polygons(never.difference(one.one()))
        _compare_missed_of(plan, (op["id"], 0), found, never, op["worked_times_m2"][0], tolerance)
    plan.checks.same("missed places", "unknown ones", sorted(map(str, found)), [])


def _compare_missed_of(plan, key, found, want, figure, tolerance):
    entries = found.pop(key, [])
    place = f"{key[0]} direction {key[1]}"
    listed = sum(float(properties["area_m2"]) for properties, _ in entries)
    places = polygons_of(want)
    # What is thinner than the written degrees' last digit may close up when it is written.
    listed_for_sure = [part.area > 1.01 * SMALL_M2 and part.area > plan.reach_m * part.length for part in places]
    sure = union([part for part, is_sure in zip(places, listed_for_sure) if is_sure])
    small = sum(part.area for part, is_sure in zip(places, listed_for_sure) if not is_sure)
    snapped = SNAPPED_M * boundary_m(*places)  # polygons of missed places come from booleans on a grid
    if abs(listed - figure) > small + snapped:
        # Places that hang together by a hair may be taken as two, each too small to be listed.
        apart = polygons_of(want.buffer(-SNAPPED_M, join_style="mitre"))
        small = sum(area for area in (part.area + SNAPPED_M * part.length for part in apart) if area < 1.05 * SMALL_M2)
    plan.checks.near("missed places area", place, listed, figure, small + tolerance * (len(entries) + 1) + snapped + 1e-6)
    plan.same_ground("missed places shape", place, [shape for _, shape in entries], sure, small)
    for properties, shape in entries:
        area, length = plan.measured(shape)
        plan.checks.near("missed place area", place, area, float(properties["area_m2"]), plan.reach_m * 2 * length + tolerance)
        plan.checks.true("missed places area", place, float(properties["area_m2"]) >= 0.99 * SMALL_M2, "a place under 1e-4 m2 is listed")


def _compare_table(plan):
    rows = read_csv(plan.folder / "passes.csv")
    columns = {name: [Figure(row[name]) for row in rows if row[name]] for name in (rows[0] if rows else {})
               if name not in ("operation",)}
    want = []
    for op in plan.dump["operations"]:
        for number, direction in enumerate(op["directions"], start=1):
            for part in direction["parts"]:
                for start, stop in zip(part["line"][:-1], part["line"][1:]):
                    want.append((op["id"], number, part["pass"], part["part"], start, stop, direction, part))
    if not plan.checks.same("passes.csv", "rows", [(row["operation"], row["direction"], row["pass"], row["part"]) for row in rows],
                            [(one[0], *map(str, one[1:4])) for one in want]):
        return
    metres = half_unit([value for name in ("x0_m", "y0_m", "x1_m", "y1_m") for value in columns.get(name, [])], least=3)
    for row, (identity, number, passed, index, start, stop, direction, part) in zip(rows, want):
        place = f"{identity} direction {number} pass {passed} part {index}"
        for name, value in (("x0_m", start[0]), ("y0_m", start[1]), ("x1_m", stop[0]), ("y1_m", stop[1])):
            plan.checks.near("passes.csv (m)", f"{place} {name}", float(row[name]), value, metres)
        plan.checks.near("passes.csv (m)", f"{place} width", float(row["width_m"]), part["width_m"], 1e-9)
        plan.checks.near("passes.csv (m)", f"{place} length", float(row["length_m"]), math.dist(start, stop),
                         half_unit(columns["length_m"]))
        if direction["heading_deg"] is not None:
            turn = (float(row["heading_deg"]) - direction["heading_deg"]) % 360.0
            plan.checks.small("written heading (deg)", f"{place} table", min(turn, 360.0 - turn), half_unit(columns["heading_deg"]))
        _compare_row_place(plan, place, row, start, stop)


def _compare_row_place(plan, place, row, start, stop):
    degrees = [row[name] for name in ("lon0_deg", "lat0_deg", "lon1_deg", "lat1_deg")]
    if plan.frame is None:
        plan.checks.same("passes.csv", f"{place} degrees", degrees, [""] * 4)
        return
    got = plan.frame.to_pitch(np.array(degrees, dtype=float).reshape(2, 2))
    off = float(np.hypot(*(got - np.array([start, stop])).T).max())
    plan.checks.small("passes.csv degrees (m)", place, off, plan.reach_m)
