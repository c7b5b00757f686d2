"""Whether a KML or GPX file is what its standard says, by schemas and by rules that schemas lack.

KML: the schema of OGC 07-147r2 as the registry package `pykml` brings it, always. GPX: the
project's own profile (`gpx_profile.xsd`), always. The schema that the publisher of GPX 1.1 offers
is used on top where a folder of official schemas is at hand; `schemas_in_use` says which ran.
"""

import tomllib
from functools import cache
from importlib.metadata import version
from pathlib import Path

import pykml
import shapely
from lxml import etree

HERE = Path(__file__).parent
REFERENCE = HERE.parents[2] / "shared" / "reference"
OFFICIAL = REFERENCE / "schemas" / "official"
KML = "{http://www.opengis.net/kml/2.2}"
GPX = "{http://www.topografix.com/GPX/1/1}"


@cache
def schema(name):
    """A compiled schema; None for the official one where it is not at hand."""
    if name == "kml":
        return etree.XMLSchema(etree.parse(Path(pykml.__file__).parent / "schemas" / "ogckml22.xsd"))
    if name == "gpx profile":
        return etree.XMLSchema(etree.parse(HERE / "gpx_profile.xsd"))
    file = OFFICIAL / "gpx.xsd"
    return etree.XMLSchema(etree.parse(file)) if file.is_file() else None


def schemas_in_use():
    """Which schemas judge the files, in words."""
    official = "and the official gpx.xsd" if schema("gpx official") is not None else \
        f"no official gpx.xsd ({OFFICIAL} is not here)"
    return f"OGC's KML schema (pykml {version('pykml')}), the project's GPX profile, {official}"


def parsed(file):
    """An XML file; nothing is expanded or fetched."""
    return etree.parse(file, etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False))


def _by_schema(name, tree):
    known = schema(name)
    if known is None or known.validate(tree):
        return []
    first = known.error_log[0]
    return [f"{name} schema: line {first.line}: {first.message}"]


def standard_complaints(file):
    """What the standard's own schema says against a file; None where that schema is not at hand."""
    name = "kml" if file.suffix == ".kml" else "gpx official"
    return None if schema(name) is None else _by_schema(name, parsed(file))


def complaints(file):
    """All that is wrong with a file, a line each."""
    tree = parsed(file)
    if file.suffix == ".kml":
        return _by_schema("kml", tree) + kml_rules(tree.getroot())
    return _by_schema("gpx profile", tree) + _by_schema("gpx official", tree) + gpx_rules(tree.getroot())


def kml_rules(root):
    """What OGC 07-147r2 demands and its schema does not check."""
    said = []
    styles = {style.get("id") for style in root.iter(f"{KML}Style")}
    for reference in root.iter(f"{KML}styleUrl"):
        if reference.text.removeprefix("#") not in styles:
            said.append(f"no style is called {reference.text}")
    for element in root.iter(f"{KML}coordinates"):
        run, wrong = coordinates(element.text or "")
        said += wrong
        kind = etree.QName(element.getparent()).localname
        if kind == "LineString" and len(set(run)) < 2:
            said.append(f"line {element.sourceline}: a LineString of fewer than two positions (10.7)")
        if kind == "Point" and len(run) != 1:
            said.append(f"line {element.sourceline}: a Point of {len(run)} positions")
        if kind == "LinearRing" and (len(run) < 4 or run[0] != run[-1]):
            said.append(f"line {element.sourceline}: a LinearRing that is not closed or too short (10.5)")
        said += round_the_world(run, element.sourceline)
    for polygon in root.iter(f"{KML}Polygon"):
        said += polygon_rules(polygon)
    for element in root.iter(f"{KML}tessellate"):
        mode = element.getparent().find(f"{KML}altitudeMode")
        if element.text in ("1", "true") and mode is not None and mode.text != "clampToGround":
            said.append(f"line {element.sourceline}: tessellate without clampToGround (10.6.2)")
    return said


def coordinates(text):
    """The positions of a `coordinates` text, and what is wrong with it."""
    run, wrong = [], []
    for tuple_ in text.split():
        try:
            lon, lat = (float(part) for part in tuple_.split(",")[:2])
        except ValueError:
            wrong.append(f"`{tuple_}` is no longitude,latitude")
            continue
        if not (abs(lon) <= 180.0 and abs(lat) <= 90.0):
            wrong.append(f"`{tuple_}` is beyond 180 or 90 degrees")
        if any(len(part.partition(".")[2]) > 9 for part in tuple_.split(",")):
            wrong.append(f"`{tuple_}` has more than nine decimals")
        run.append((lon, lat))
    return run, wrong


def round_the_world(run, line):
    """Neighbours more than half the globe apart: a line drawn round the world."""
    if any(abs(one[0] - other[0]) > 180.0 for one, other in zip(run, run[1:])):
        return [f"line {line}: neighbours more than 180 degrees apart"]
    return []


def polygon_rules(polygon):
    """Boundaries and rings of one polygon."""
    where = f"line {polygon.sourceline}"
    rings = []
    for name in ("outerBoundaryIs", "innerBoundaryIs"):
        boundaries = polygon.findall(f"{KML}{name}")
        if name == "outerBoundaryIs" and len(boundaries) != 1:
            return [f"{where}: a Polygon without an outer boundary (10.8.2)"]
        for boundary in boundaries:
            inner = boundary.findall(f"{KML}LinearRing")
            if len(inner) != 1:
                return [f"{where}: a boundary of {len(inner)} rings"]
            rings.append(coordinates(inner[0].findtext(f"{KML}coordinates") or "")[0])
    if any(len(ring) < 4 or ring[0] != ring[-1] for ring in rings):
        return [f"{where}: a ring that is not closed or too short"]
    said = []
    if not shapely.Polygon(rings[0], rings[1:]).is_valid:
        said.append(f"{where}: a Polygon whose rings cross or touch along a line")
    if any(shapely.LinearRing(ring).is_ccw != (number == 0) for number, ring in enumerate(rings)):
        said.append(f"{where}: an exterior that runs clockwise, or a hole anticlockwise")
    return said


def gpx_rules(root):
    """What makes a GPX file misleading though its schema accepts it."""
    said = []
    for segment in root.iter(f"{GPX}trkseg", f"{GPX}rte"):
        points = [(float(point.get("lon")), float(point.get("lat"))) for point in segment.iter(f"{GPX}trkpt", f"{GPX}rtept")]
        said += round_the_world(points, segment.sourceline)
        if len(set(points)) < 2:
            said.append(f"line {segment.sourceline}: a segment of fewer than two points")
    return said


def check_broken(checks):
    """The checker itself: it accepts the good files and refuses each broken one; the standard's
    schema says what is written beside each."""
    folder = HERE / "broken"
    listed = tomllib.loads((folder / "expected.toml").read_text(encoding="utf-8"))["file"]
    names = sorted(file.name for file in folder.iterdir() if file.suffix != ".toml")
    checks.same("broken files", "all are listed", sorted(one["name"] for one in listed), names)
    for one in listed:
        file = folder / one["name"]
        try:
            said = complaints(file)
        except ValueError as error:  # a number that is none
            said = [str(error)]
        is_good = file.stem == "good"
        checks.true("broken files", f"{file.name} by all rules", bool(said) != is_good, f"it says {said}")
        by_standard = standard_complaints(file)
        if by_standard is not None:
            want = one["schema"] == "refuses"
            checks.true("broken files by the standard's schema", file.name, bool(by_standard) == want, f"it says {by_standard}")
    others = sorted(REFERENCE.glob("examples/broken/*.kml")) + sorted(REFERENCE.glob("examples/broken/*.gpx"))
    for file in others:
        checks.true("broken files of others", file.name, bool(complaints(file)), "nothing is said against it")
    return f"{len(listed)} files of the project's own, {len(others)} of others" + ("" if others else f" ({REFERENCE} is not here)")
