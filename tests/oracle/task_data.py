"""Checks `TASKDATA.XML` against a profile of its own and against the dump.

`profile` knows no plan: it holds a file against what a terminal needs, written from the facts
of ISO 11783-10 (versions 4.3 and 3.3) and stricter than its schema: exactly one line string in
each guidance pattern, two points in an A-B line, every reference resolved. `compare_task_data`
then holds the file against the dump: the same lines in the same places under the same numbers,
true azimuths by geographiclib, the field, what is kept clear, and the rates of the job.
"""

import io
import math
import re
import zipfile
from xml.etree import ElementTree

import numpy as np
import shapely
from geographiclib.geodesic import Geodesic

from ground import SOLID, UP_AROUND
from shapes import boundary_m, difference_area, from_multi, from_poly, polygons_of, union

PATH = "guidance/TASKDATA/TASKDATA.XML"
ZIP = "guidance/TASKDATA.zip"
PLACE_DEG = 1e-8
HEADING_DEG = 0.01
LEAST_M2 = 1e-4
SETPOINT = "0006"

ID = {name: re.compile(rf"{name}[1-9][0-9]{{0,10}}") for name in ("PFD", "PDT", "TSK", "GGP", "GPN")}
NAME = re.compile(r"[^\x00-\x1f]{1,32}")
NUMBER = re.compile(r"0|[1-9][0-9]{0,9}")
CODE = re.compile(r"[0-9]{1,3}")
DEGREES = re.compile(r"-?[0-9]{1,3}\.[0-9]{9}")
HEADING = re.compile(r"[0-9]{1,3}\.[0-9]{6}")
METRES = re.compile(r"[0-9]+(\.[0-9]+)?")


def one_of(*words):
    """One of some codes."""
    return re.compile("|".join(words))


# For each element: what may stand in it, in this order, and its attributes: (pattern, required).
ROOT = {"VersionMajor": (CODE, True), "VersionMinor": (CODE, True), "ManagementSoftwareManufacturer": (NAME, True),
        "ManagementSoftwareVersion": (NAME, True), "DataTransferOrigin": (one_of("1"), True)}
TASK = {"A": (ID["TSK"], True), "B": (NAME, True), "E": (ID["PFD"], True), "G": (one_of("1"), True),
        "H": (CODE, False), "I": (CODE, False), "J": (CODE, False)}
COMMON = {
    "PDT": ((), {"A": (ID["PDT"], True), "B": (NAME, True)}),
    "TSK": (("TZN", "CAN"), TASK),
    "TZN": (("PLN", "PDV"), {"A": (CODE, True), "B": (NAME, True)}),
    "PDV": ((), {"A": (one_of(SETPOINT), True), "B": (NUMBER, True), "C": (ID["PDT"], False)}),
    "CAN": ((), {"C": (NAME, True)}),
    "PLN": (("LSG",), {"A": (one_of("1", "2", "6"), True), "B": (NAME, False)}),
}
POINT = {"B": (NAME, False), "C": (DEGREES, True), "D": (DEGREES, True)}
FIELD = {"A": (ID["PFD"], True), "C": (NAME, True), "D": (NUMBER, True)}
PROFILES = {
    "4": {
        **COMMON,
        "ISO11783_TaskData": (("PFD", "PDT", "TSK"), ROOT),
        "PFD": (("PLN", "PNT", "GGP"), FIELD),
        "LSG": (("PNT",), {"A": (one_of("1", "2", "5"), True)}),
        "PNT": ((), {"A": (one_of("2", "3", "5", "6", "7", "9"), True), **POINT}),
        "GGP": (("GPN",), {"A": (ID["GGP"], True), "B": (NAME, True)}),
        "GPN": (("LSG",), {"A": (ID["GPN"], True), "B": (NAME, True), "C": (one_of("1", "3"), True), "E": (one_of("4"), True),
                           "F": (one_of("1", "4"), True), "G": (HEADING, False), "I": (one_of("16"), True),
                           "J": (METRES, False), "M": (NAME, False)}),
    },
    "3": {
        **COMMON,
        "ISO11783_TaskData": (("PFD", "PDT", "TSK"), ROOT),
        "PFD": (("PLN", "LSG", "PNT"), FIELD),
        "LSG": (("PNT",), {"A": (one_of("1", "2", "5"), True), "B": (NAME, False)}),
        "PNT": ((), {"A": (one_of("2"), True), **POINT}),
    },
}
REFERENCES = {("TSK", "E"): "PFD", ("PDV", "C"): "PDT", ("PFD", "E"): "CTR", ("PFD", "F"): "FRM"}


def profile(checks, root, where=PATH):
    """Holds a file against the profile of its version."""
    elements = PROFILES.get(root.get("VersionMajor"))
    if not checks.true("task data form", where, elements is not None and root.get("VersionMinor") == "3",
                       f"version {root.get('VersionMajor')}.{root.get('VersionMinor')}"):
        return
    checks.same("task data form", f"{where} root", root.tag, "ISO11783_TaskData")
    ids, references = {}, []
    for element in root.iter():
        _element(checks, where, elements, element)
        kind, own = element.tag, element.get("A")
        if own is not None and own.startswith(kind):
            checks.true("task data ids", f"{where} {own}", own not in ids, "the id stands twice")
            ids[own] = kind
        references += [(key, element.get(key[1])) for key in REFERENCES if key[0] == kind and element.get(key[1])]
    for key, named in references:
        checks.same("task data references", f"{where} {key[0]}/@{key[1]} {named}", ids.get(named), REFERENCES[key])
    for pattern in root.iter("GPN"):
        _pattern(checks, f"{where} {pattern.get('A')}", pattern)
    for group in root.iter("GGP"):
        checks.true("task data groups", f"{where} {group.get('A')}", len(group.findall("GPN")) > 0, "a group without a pattern")
    for polygon in root.iter("PLN"):
        _polygon(checks, where, polygon)
    for field in root.iter("PFD"):
        boundaries = [one for one in field.findall("PLN") if one.get("A") == "1"]
        checks.true("task data form", f"{where} boundary", len(boundaries) > 0, "a field without a boundary")
        for line in field.findall("LSG"):
            checks.true("task data lines", where, line.get("A") == "5" and len(line) >= 2, "a line of the field is no line of two points")
    names = [one.get("B") for one in [*root.iter("GPN"), *root.findall("PFD/LSG")]]
    checks.same("task data names", f"{where} lines of one name", len(names) - len(set(names)), 0)
    for kind in ("GGP", "TSK", "PDT"):
        names = [one.get("B") for one in root.iter(kind)]
        checks.same("task data names", f"{where} {kind} of one name", len(names) - len(set(names)), 0)
    for task in root.iter("TSK"):
        codes = [zone.get("A") for zone in task.findall("TZN")]
        checks.same("task data ids", f"{where} {task.get('A')} zones", len(codes), len(set(codes)))
        for key in ("H", "I", "J"):
            checks.true("task data references", f"{where} {task.get('A')}/@{key}",
                        task.get(key) in codes if codes else task.get(key) is None, f"zone {task.get(key)} of {codes}")


def _element(checks, where, elements, element):
    if not checks.true("task data form", f"{where} {element.tag}", element.tag in elements, "no such element in this version"):
        return
    within, attributes = elements[element.tag]
    order = [child.tag for child in element]
    ranks = [within.index(tag) if tag in within else -1 for tag in order]
    checks.true("task data form", f"{where} in {element.tag}", -1 not in ranks and ranks == sorted(ranks), f"holds {order[:9]}")
    keys = list(element.attrib)
    wanted = [key for key in attributes if key in element.attrib]
    checks.same("task data form", f"{where} attributes of {element.tag}", keys, wanted)
    for key, (pattern, required) in attributes.items():
        value = element.get(key)
        if value is None:
            checks.true("task data form", f"{where} {element.tag}/@{key}", not required, "missing")
        else:
            checks.true("task data form", f"{where} {element.tag}/@{key}", pattern.fullmatch(value) is not None, repr(value))
    if element.tag == "PNT" and element.get("C") and element.get("D"):
        checks.true("task data form", f"{where} PNT", abs(float(element.get("C"))) <= 90 and abs(float(element.get("D"))) <= 180,
                    f"{element.get('C')}, {element.get('D')}")
    if element.tag == "PDV":
        checks.true("task data form", f"{where} PDV", int(element.get("B", -1)) <= 2_147_483_647, element.get("B"))


def _pattern(checks, place, pattern):
    lines = pattern.findall("LSG")
    if not checks.true("task data lines", place, len(lines) == 1 and len(pattern) == 1, f"{len(lines)} line strings in a pattern"):
        return
    kinds = [point.get("A") for point in lines[0]]
    checks.same("task data lines", f"{place} type", lines[0].get("A"), "5")
    is_straight = pattern.get("C") == "1"
    if is_straight:
        checks.same("task data lines", f"{place} points", kinds, ["6", "7"])
    else:
        checks.true("task data lines", f"{place} points", len(kinds) >= 2 and kinds == ["6", *["9"] * (len(kinds) - 2), "7"], str(kinds[:9]))
    checks.same("task data form", f"{place} heading told", pattern.get("G") is not None, is_straight)
    checks.same("task data form", f"{place} extension", pattern.get("F"), "1" if is_straight else "4")


def _polygon(checks, where, polygon):
    kinds = [line.get("A") for line in polygon]
    checks.true("task data polygons", where, kinds[:1] == ["1"] and set(kinds[1:]) <= {"2"}, f"rings {kinds}")
    for line in polygon:
        ring = positions(line)
        checks.true("task data polygons", where, len(ring) >= 4 and ring[0] == ring[-1], "a ring is not closed")


def positions(line):
    """Longitude and latitude of a line's points, as written."""
    points = [] if line is None else line.findall("PNT")
    return [(float(point.get("D")), float(point.get("C"))) for point in points]


def lines_of(root):
    """Name, group, heading and positions of every guidance line, of either version."""
    if root.get("VersionMajor") == "4":
        return [(pattern.get("B"), group.get("B"), pattern.get("G"), positions(pattern.find("LSG")))
                for group in root.iter("GGP") for pattern in group.findall("GPN")]
    return [(line.get("B"), None, None, positions(line)) for line in root.findall("PFD/LSG")]


def rates_of(root):
    """Task, zone, setpoint and product's name of every value that is put down."""
    products = {product.get("A"): product.get("B") for product in root.iter("PDT")}
    return [(task.get("B"), zone.get("A"), int(value.get("B")), products.get(value.get("C")))
            for task in root.iter("TSK") for zone in task.findall("TZN") for value in zone.findall("PDV")]


def azimuth(here, there):
    """The true azimuth at the start of a line, and its length in metres."""
    line = Geodesic.WGS84.Inverse(here[1], here[0], there[1], there[0])
    return line["azi1"] % 360.0, line["s12"]


def off_deg(one, other):
    """The angle between two headings."""
    return abs((one - other + 180.0) % 360.0 - 180.0)


def compare_task_data(checks, job, ground, dump, plan):
    """Checks the task data of a plan; `ground` is the job's ground, rebuilt."""
    file = plan.folder / PATH
    if plan.frame is None:
        checks.true("task data form", "no position", not file.exists(), "task data of a pitch without a position")
        return
    if not checks.true("task data form", PATH, file.exists(), "there is none"):
        return
    text = file.read_bytes()
    with zipfile.ZipFile(io.BytesIO((plan.folder / ZIP).read_bytes())) as archive:
        checks.same("task data zip", "names", archive.namelist(), ["TASKDATA/TASKDATA.XML"])
        checks.true("task data zip", "bytes", archive.read("TASKDATA/TASKDATA.XML") == text, "not those of the file")
    root = ElementTree.fromstring(text)
    profile(checks, root)
    version = job.toml.get("plan", {}).get("task_data", "4.3")
    checks.same("task data form", "version", f"{root.get('VersionMajor')}.{root.get('VersionMinor')}", version)
    _compare_lines(checks, root, dump, plan)
    _compare_field(checks, root, ground, dump, plan)
    _compare_rates(checks, root, job, dump, plan)


def _compare_lines(checks, root, dump, plan):
    written = lines_of(root)
    wanted = [(op, number, direction, part) for op in dump["operations"]
              for number, direction in enumerate(op["directions"], start=1) for part in direction["parts"]]
    if not checks.same("task data lines", "count", len(written), len(wanted)):
        return
    for (name, group, heading, at), (op, number, direction, part) in zip(written, wanted):
        place = f"{op['id']} direction {number} pass {part['pass']} part {part['part']}"
        alone = sum(one["pass"] == part["pass"] for one in direction["parts"]) == 1
        tail = f" {part['pass']}" if alone else f" {part['pass']}.{part['part']}"
        title = f"{op['id']} {direction['name']}"
        if len(title) + 8 <= 32:
            checks.same("task data names", place, name, title + tail)
            checks.true("task data names", place, group in (None, title), f"{group!r}, not {title!r}")
        else:
            checks.true("task data names", place, name.endswith(tail) and name[:9] == title[:9], repr(name))
        line = np.asarray(part["line"], dtype=float)
        want = plan.frame.to_globe(line)
        if direction["angle_deg"] is None and len(at) >= 2:
            got = plan.frame.to_pitch(np.array(at))
            off = shapely.hausdorff_distance(shapely.LineString(got), shapely.LineString(line))
            checks.small("task data rounds (m)", place, off, 2 * plan.reach_m)
            continue
        if not checks.same("task data lines", f"{place} points", len(at), 2):
            continue
        for (lon, lat), (lon_want, lat_want) in zip(at, want):
            off = max(off_deg(lon, lon_want), abs(lat - lat_want))
            checks.small("task data places (deg)", place, off, 1e-9)
        if heading is not None:
            _compare_heading(checks, place, float(heading), at, direction, plan)


def _compare_heading(checks, place, heading, at, direction, plan):
    """Against the written places, and against the direction's own heading at the pitch's centre
    turned by the convergence of the meridians."""
    true, length = azimuth(*at)
    if length == 0.0:
        return
    checks.small("task data azimuth (deg)", place, off_deg(heading, true), 1e-6)
    east = (at[0][0] - plan.frame.lon_deg + 180.0) % 360.0 - 180.0
    convergence = east * math.sin(math.radians(at[0][1]))
    rounding = math.degrees(2.0 * plan.reach_m / length)
    checks.small("task data heading (deg)", place, off_deg(heading, direction["heading_deg"] + convergence), 1e-3 + rounding)
    checks.small("task data heading (deg)", f"{place} as asked", off_deg(heading, direction["heading_deg"]),
                 HEADING_DEG + abs(convergence) * (abs(at[0][1]) > 70.0) + rounding)


def _ground(plan, elements):
    """The union in pitch metres of written polygons."""
    shapes = []
    for element in elements:
        rings = [plan.frame.to_pitch(np.array(positions(line))) for line in element.findall("LSG")]
        shapes.append(shapely.Polygon(rings[0], rings[1:]))
    return union([shape if shape.is_valid else shapely.make_valid(shape) for shape in shapes])


def _same(checks, kind, place, plan, elements, want):
    got = _ground(plan, elements)
    allowed = plan.reach_m * (boundary_m(got) + boundary_m(want)) + 2 * LEAST_M2
    checks.small(kind, place, difference_area(got, want), allowed)


def _compare_field(checks, root, ground, dump, plan):
    """One field, and in it nothing but its outline, what is kept clear, and places."""
    field = root.find("PFD")
    checks.same("task data field", "fields", [one.get("C") for one in root.findall("PFD")], [_cut(plan.job.toml["name"])])
    holes = [from_multi(one["kept_clear"]) for one in dump["kept"] if one["label"].startswith("hole in ")]
    outline = from_poly(dump["outline"])
    want = outline.difference(union(holes)) if holes else outline
    polygons = field.findall("PLN")
    _same(checks, "task data field (m2)", "boundary", plan, [one for one in polygons if one.get("A") == "1"], want)
    checks.near("task data field area (m2)", "PFD", float(field.get("D")), want.area, 0.5 + 1e-6)
    checks.same("task data field", "kinds of polygon", {one.get("A") for one in polygons} - {"1", "6"}, set())
    bodies = [kept for kept in ground.kept if kept.role in SOLID and kept.role != "hole"]
    obstacles = [one for one in polygons if one.get("A") == "6"]
    names = [_name(kept) for kept in bodies for _ in polygons_of(kept.kept_clear)]
    checks.same("task data obstacles", "names", sorted(one.get("B") for one in obstacles), sorted(names))
    _same(checks, "task data obstacles (m2)", "kept clear", plan, obstacles, union([kept.kept_clear for kept in bodies]))
    _compare_points(checks, field, ground, bodies, plan, root.get("VersionMajor"))


def _cut(name):
    """A name as long as the standard lets it be."""
    return name[:32].rstrip()


def _name(kept):
    return _cut(kept.name or kept.role)


def _compare_points(checks, field, ground, bodies, plan, version):
    """Ways in, what wheels may cross, and what stands but has no ground: each once, where it lies,
    and nothing else."""
    kinds = {"way in": "3", "obstacle": "5"} if version == "4" else {"way in": "2", "obstacle": "2"}
    bare = [kept for kept in bodies if kept.kept_clear.is_empty]
    wanted = [("Entrance", kinds["way in"], place) for place in ground.entrances()]
    wanted += [(_name(kept), kinds["obstacle"], shapely.centroid(kept.shape))
               for kept in [*(one for one in ground.kept if one.role in UP_AROUND), *bare]]
    if bare:
        checks.note("task data: obstacles without ground")
    left = field.findall("PNT")
    for name, kind, place in wanted:
        like = [point for point in left if (point.get("B"), point.get("A")) == (name, kind)]
        if not checks.true("task data points", name, bool(like), "it is not written"):
            continue

        def off_m(point, place=place):
            (at,) = plan.frame.to_pitch(np.array([(float(point.get("D")), float(point.get("C")))]))
            return shapely.distance(place, shapely.Point(at))

        nearest = min(like, key=off_m)
        left.remove(nearest)
        checks.small("task data points (m)", name, off_m(nearest), plan.reach_m)
    checks.same("task data points", "of nothing", [point.get("B") for point in left], [])


def _compare_rates(checks, root, job, dump, plan):
    """The setpoints of the job's own rates: shared by the directions unless it says otherwise."""
    tasks = {task.get("A"): task for task in root.iter("TSK")}
    products = {product.get("A"): product.get("B") for product in root.iter("PDT")}
    wanted = 0
    for index, (raw, op) in enumerate(zip(job.toml["operation"], dump["operations"]), start=1):
        rows = _rows(job, raw)
        rounds = len(op["directions"]) - len(raw.get("directions", ["along"]))
        for number, direction in enumerate(op["directions"], start=1):
            task = tasks.get(f"TSK{100 * index + number}")
            checks.same("task data tasks", f"{op['id']} {number}", task is not None, bool(direction["parts"]))
            if task is None:
                continue
            wanted += 1
            zones = task.findall("TZN")
            if rows is None or number <= rounds:
                checks.same("task data rates", f"{op['id']} {number}", len(zones), 0)
                continue
            _compare_treatment(checks, f"{op['id']} {number}", task, rows, len(op["directions"]) - rounds, raw, dump, plan, products)
    checks.same("task data tasks", "count", len(tasks), wanted)
    asked = {_cut(raw["material"]) for raw in job.toml["operation"] if "material" in raw}
    checks.same("task data rates", "products that no operation names", sorted(set(products.values()) - asked), [])


def _rows(job, raw):
    """The rates of an operation as (zones, wear, kilograms a square metre), zones and wear None
    where all; None without a rate that is known as a weight."""
    material = job.toml.get("material", {}).get(raw.get("material"), {})
    if material.get("kind") == "arisings":
        return None
    density = material.get("density_t_per_m3")
    density = sum(density) / 2 if isinstance(density, list) else density
    rows = []
    for row in raw.get("rates", [raw]):
        where = (None, None) if row is raw else (row.get("zones"), row.get("wear"))
        if row is not raw and "directions" in row:
            return []
        if "rate_t_per_ha" in row:
            rows.append((*where, 0.1 * row["rate_t_per_ha"]))
        elif "rate_g_per_m2" in row:
            rows.append((*where, 1e-3 * row["rate_g_per_m2"]))
        elif "dressing_mm" in row:
            if density is None:
                return None
            rows.append((*where, row["dressing_mm"] * density))
        else:
            return None
    return rows


def _compare_treatment(checks, place, task, rows, directions, raw, dump, plan, products):
    if not rows:
        checks.note("task data: rates by direction are only looked for, not recomputed")
        checks.true("task data rates", place, len(task.findall("TZN")) > 0, "no zone")
        return
    shares = 1 if raw.get("rate_per") == "direction" else directions
    zones = {zone.get("A"): zone for zone in task.findall("TZN")}
    left = from_poly(dump["outline"])
    for code, (words, wear, kg) in enumerate(rows, start=1):
        whole = words is None or any(word in ("all", "pitch", "grass") for word in words)
        everywhere = whole and wear is None
        named = [from_multi(zone["shape"]) for zone in dump["zones"] if (wear is None or zone["wear"] in wear)
                 and (whole or zone["kind"] in words or zone["name"] in words)]
        want = left if everywhere else left.intersection(union(named))
        left = shapely.Polygon() if everywhere else left.difference(union(named))
        zone = zones.pop(str(code), None)
        if zone is None:
            checks.small("task data rates (m2)", f"{place} zone {code} left out", want.area, 2 * LEAST_M2)
            continue
        value = zone.find("PDV")
        checks.near("task data rates (mg/m2)", f"{place} zone {code}", float(value.get("B")), kg / shares * 1e6, 0.5 + 1e-6 * kg)
        checks.same("task data rates", f"{place} product", products.get(value.get("C")), raw.get("material"))
        drawn = zone.findall("PLN")
        if drawn or len(rows) > 1:
            _same(checks, "task data rates (m2)", f"{place} zone {code}", plan, drawn, want)
        if everywhere:
            break
    rest = zones.pop("0", None)
    checks.same("task data rates", f"{place} further zones", sorted(zones), [])
    if rest is not None:
        checks.same("task data rates", f"{place} unrated", rest.find("PDV").get("B"), "0")
