"""Lets other libraries read the task data, and holds it against schemas and a grid.

    python tests/oracle/terminals.py --binary PATH --samples DIR [--reference DIR]

1. Each sample in versions 4.3 and 3.3: `isoxml` of PyPI and `isoxml` of npm (tests/.node) load
   the file and give the same lines, names and rates as the file holds.
2. Convergence: a pitch at 60 degrees north, 2.5 degrees off the middle of its UTM zone. True
   azimuths from the written degrees agree with the job's headings within 0.01 degree, while
   bearings in the grid are off by two degrees: a file of grid bearings would raise the alarm.
3. Where `--reference` is given: the official schemas there accept every file, and files that they
   accept though they mean nothing are refused by the profile.

Prints what ran; exits with 1 where anything failed or nothing ran.
"""

import argparse
import json
import math
import shutil
import sys
import tempfile
from pathlib import Path
from xml.etree import ElementTree

import pyproj
from isoxml.util.isoxml_io import isoxml_from_path

from checks import Checks
from program import command
from program import plan as planned
from task_data import PATH, azimuth, lines_of, off_deg, profile, rates_of

HERE = Path(__file__).resolve().parent
NORTH, EAST, BEARING = 60.0, 5.5, 33.0
CONVERGENCE = f"""
name = "Far from the middle"

[pitch]
length_m = 100.0
width_m = 64.0
centre = {{ lat_deg = {NORTH}, lon_deg = {EAST} }}
bearing_deg = {BEARING}
run_off_m = {{ touch = 4.0, goal = 4.0 }}

[implement.mower]
working_width_m = 2.0
speed_km_h = 6.0

[[operation]]
id = "mow"
task = "mow"
implement = "mower"
directions = ["along", "across", "diagonal_left", {{ heading_deg = 1.0 }}]
"""


def plan(binary, job, out):
    """Plans a job's guidance files; where its task data lies."""
    planned(binary, job, out, "--only", "data,guidance", "--no-route")
    return out / PATH


def with_version_3(sample, folder):
    """A copy of a sample that asks for version 3.3."""
    shutil.copytree(sample, folder)
    file = folder / "job.toml"
    text = file.read_text(encoding="utf-8")
    asked = 'task_data = "3.3"\n'
    head = "[plan]\n"
    text = text.replace(head, head + asked, 1) if head in text else f"{text}\n{head}{asked}"
    file.write_text(text, encoding="utf-8")
    return folder


def by_pypi(file):
    """Lines and rates by the library of PyPI."""
    data, _ = isoxml_from_path(file.parent)
    lines = []

    def places(line):
        return [(float(point.east), float(point.north)) for point in line.points]

    for field in data.partfields:
        for group in getattr(field, "guidance_groups", []):
            lines += [(pattern.designator, [places(line) for line in pattern.line_strings]) for pattern in group.guidance_patterns]
        lines += [(line.designator, [places(line)]) for line in field.line_strings]
    products = {product.id: product.designator for product in data.products}
    rates = [(task.designator, str(zone.code), value.process_data_value, products.get(value.product_id_ref))
             for task in data.tasks for zone in task.treatment_zones for value in zone.process_data_variables]
    fields = [(field.designator, field.area) for field in data.partfields]
    return fields, lines, rates


def by_npm(files):
    """Lines and rates by the library of npm, one entry a file."""
    said = command(["node", HERE / "read_task_data.mjs", *files])
    return [json.loads(line) for line in said.splitlines() if line.startswith("{")]


def same_readings(checks, reader, place, root, fields, lines, rates):
    """Checks what a library understood against what the file holds."""
    mine = lines_of(root)
    field = root.find("PFD")
    checks.same(f"fields by {reader}", place, [tuple(one) for one in fields], [(field.get("C"), int(field.get("D")))])
    checks.true(f"lines by {reader}", f"{place} count", len(lines) == len(mine) > 0, f"{len(lines)}, not {len(mine)}")
    for (name, runs), (wanted, _, _, at) in zip(lines, mine):
        checks.same(f"names by {reader}", place, name, wanted)
        checks.same(f"lines by {reader}", f"{place} {name}", len(runs), 1)
        off = max((max(abs(a - c), abs(b - d)) for (a, b), (c, d) in zip(runs[0], at)), default=1.0)
        checks.small(f"places by {reader} (deg)", f"{place} {name}", off if len(runs[0]) == len(at) else 1.0, 1e-12)
    checks.same(f"rates by {reader}", place, sorted(map(str, map(tuple, rates))), sorted(map(str, rates_of(root))))


def read_by_others(checks, files):
    """Both libraries on all files."""
    for (place, file), npm in zip(files, by_npm([file for _, file in files]), strict=True):
        root = ElementTree.parse(file).getroot()
        profile(checks, root, place)
        same_readings(checks, "PyPI isoxml", place, root, *by_pypi(file))
        checks.same("warnings of npm isoxml", place, npm["warnings"], [])
        same_readings(checks, "npm isoxml", place, root, npm["field"], npm["lines"], npm["rates"])


def convergence(checks, binary, folder):
    """True azimuths and grid bearings of a pitch far from the middle of its grid zone."""
    job = folder / "convergence"
    job.mkdir()
    (job / "job.toml").write_text(CONVERGENCE, encoding="utf-8")
    file = plan(binary, job, folder / "convergence-out")
    passes = json.loads((folder / "convergence-out" / "passes.geojson").read_text(encoding="utf-8"))["features"]
    asked = [one["properties"]["heading_deg"] for one in passes]
    to_grid = pyproj.Transformer.from_crs("EPSG:4326", "EPSG:32631", always_xy=True)
    lines = lines_of(ElementTree.parse(file).getroot())
    checks.true("convergence", "lines", len(lines) == len(asked) > 100, f"{len(lines)} lines")
    grid_off = []
    for (name, _, heading, at), want in zip(lines, asked):
        true, length = azimuth(*at)
        if length < 5.0:
            continue
        checks.small("true azimuth (deg)", name, off_deg(true, want), 0.01)
        checks.small("written heading (deg)", name, off_deg(float(heading), want), 0.01)
        (x0, y0), (x1, y1) = (to_grid.transform(*place) for place in at)
        grid_off.append(off_deg(math.degrees(math.atan2(x1 - x0, y1 - y0)), want))
    checks.true("grid bearings would raise the alarm", "all", min(grid_off) > 2.0, f"off by {min(grid_off):.3f} degrees")
    print(f"terminals: a grid bearing would be off by {min(grid_off):.2f} to {max(grid_off):.2f} degrees")


def against_reference(checks, reference, files):
    """Official schemas, and examples of others that mean nothing."""
    from lxml import etree
    official = reference / "schemas" / "official"
    schemas = {"4": official / "ISO11783_TaskFile_V4-3.xsd", "3": official / "ISO11783_TaskFile_V3-3.xsd"}
    schemas = {major: etree.XMLSchema(etree.parse(str(file))) for major, file in schemas.items() if file.exists()}
    for place, file in files:
        document = etree.parse(str(file))
        schema = schemas.get(document.getroot().get("VersionMajor"))
        if schema is not None:
            checks.true("official schema", place, schema.validate(document), str(schema.error_log)[:300])
    examples = reference / "examples"
    sound = sorted(examples.glob("taskdata_v*/TASKDATA.XML"))
    checks.true("sound examples", str(examples), len(sound) > 0, "none found")
    for file in sound:
        checks.same("sound examples", str(file), _meaningless(file), set())
    refused = 0
    for file in sorted((examples / "xsd_accepts_but_wrong").glob("*.xml")):
        kinds = _meaningless(file)
        checks.true("misleading examples", file.name, bool(kinds), "the profile finds nothing")
        refused += bool(kinds)
    checks.same("official schemas", str(official), len(schemas), 2)
    checks.true("misleading examples", str(examples), refused > 0, "none found")
    return len(schemas), len(sound), refused


def _meaningless(file):
    """What the profile finds wrong with a file of another's, but for what only our own must have."""
    mine = Checks()
    profile(mine, ElementTree.parse(file).getroot(), file.name)
    return mine.failed_kinds() - {"task data form"}


def main():
    """Runs all of it."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--binary", type=Path, required=True)
    parser.add_argument("--samples", type=Path, required=True)
    parser.add_argument("--reference", type=Path)
    options = parser.parse_args()
    binary, folder, checks = options.binary.resolve(), Path(tempfile.mkdtemp(prefix="terminals-")), Checks("terminals")
    files = []
    for job in sorted(options.samples.glob("*/job.toml")):
        name = job.parent.name
        files.append((f"{name} 4.3", plan(binary, job.parent, folder / f"{name}-4")))
        old = with_version_3(job.parent, folder / f"{name}-job")
        files.append((f"{name} 3.3", plan(binary, old, folder / f"{name}-3")))
    if not files:
        sys.exit(f"terminals: no sample in {options.samples}")
    read_by_others(checks, files)
    convergence(checks, binary, folder)
    words = "official schemas and examples: no folder here, so not run"
    if options.reference:
        schemas, sound, refused = against_reference(checks, options.reference, files)
        words = f"{schemas} official schemas accept {len(files)} files, {sound} sound examples accepted, {refused} misleading ones refused"
    print("\n".join(checks.report()))
    for _, kind, place, text in checks.failures[:20]:
        print(f"FAILED {kind}: {place}: {text}")
    print(f"terminals: {len(files)} files of task data read by 2 other libraries, {checks.total()} checks, "
          f"{len(checks.failures)} failed; {words}")
    shutil.rmtree(folder, ignore_errors=True)
    if checks.failures or not checks.total():
        sys.exit(1)


if __name__ == "__main__":
    main()
