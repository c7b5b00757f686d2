"""Reads the shapefiles and the GeoJSON with GDAL (through pyogrio), not with the project's reader.

The passes must be as many as the plan's, with its numbers, and lie where the dump has them
within 1e-8 degrees; the ground must be the same in the shapefiles as in `ground.geojson`.
"""

import numpy as np
import pyogrio
import shapely

NEAR_DEG = 1e-8
GROUND = {"role": "role", "name": "name", "clear_m": "clearance_m", "depth_m": "depth_m", "wear": "wear",
          "height_m": "height_m"}
# Which file holds which kind of shape.
KINDS = {"ground": "Polygon", "ground-lines": "LineString", "ground-points": "Point"}


def compare_shapefiles(checks, dump, frame, folder):
    """All of `guidance/*.shp`, and the GeoJSON that holds the same."""
    _compare_passes(checks, dump, frame, folder / "passes.geojson", str)
    if any(direction["parts"] for op in dump["operations"] for direction in op["directions"]):
        _compare_passes(checks, dump, frame, folder / "guidance" / "passes.shp",
                        {"heading_deg": "head_deg"}.get)
    else:
        checks.true("shapefiles by GDAL", "passes", not (folder / "guidance" / "passes.shp").exists(),
                    "a shapefile without a shape")
    _compare_ground(checks, folder)


def _layer(checks, file):
    """The records of a file as GDAL reads them: (columns by name, shapes)."""
    meta, _, shapes, columns = pyogrio.raw.read(file)
    checks.same("shapefiles by GDAL", f"{file.name} crs", meta["crs"], "EPSG:4326")
    if file.suffix == ".shp":
        checks.same("shapefiles by GDAL", f"{file.name} letters", meta["encoding"], "UTF-8")
    return dict(zip(meta["fields"], columns)), shapely.from_wkb(shapes)


def _whole(shape):
    """The positions of a line; what was cut at 180 degrees joined again, the cuts left out."""
    at = shapely.get_coordinates(shape)
    return at[np.abs(at[:, 0]) != 180.0] if shape.geom_type.startswith("Multi") else at


def _compare_passes(checks, dump, frame, file, called):
    columns, shapes = _layer(checks, file)
    want = [(op["id"], number, part["pass"], part["part"], direction, part)
            for op in dump["operations"] for number, direction in enumerate(op["directions"], start=1)
            for part in direction["parts"]]
    word = file.name
    if not checks.same("passes by GDAL", f"{word} count", len(shapes), len(want)):
        return
    for index, (*key, direction, part) in enumerate(want):
        place = f"{word} {key}"
        got = [columns[name][index] for name in ("operation", "direction", "pass", "part")]
        checks.same("passes by GDAL", place, [got[0], *map(int, got[1:])], key)
        line = np.asarray(part["line"], dtype=float)
        figures = {"heading_deg": direction["heading_deg"], "width_m": part["width_m"],
                   "length_m": float(np.sum(np.hypot(*np.diff(line, axis=0).T)))}
        for name, figure in figures.items():
            value = float(columns[called(name) or name][index])
            if figure is None:
                checks.true("passes by GDAL", f"{place} {name}", np.isnan(value), f"found {value}, expected none")
            else:
                checks.near("figures by GDAL", f"{place} {name}", value, figure, 5e-7 + 1e-9)
        at, wanted = _whole(shapes[index]), frame.to_globe(line)
        if checks.same("passes by GDAL", f"{place} positions", len(at), len(wanted)):
            off = np.abs(at - wanted)
            off[:, 0] = np.minimum(off[:, 0], np.abs(off[:, 0] - 360.0))
            checks.small("passes by GDAL (deg)", place, float(off.max()), NEAR_DEG)


def _simple(shape):
    """The simple shapes that a shape is made of."""
    return [inner for part in shape.geoms for inner in _simple(part)] if hasattr(shape, "geoms") else [shape]


def _compare_ground(checks, folder):
    columns, shapes = _layer(checks, folder / "ground.geojson")
    for name, kind in KINDS.items():
        want = []
        for index, shape in enumerate(shapes):
            parts = [part for part in _simple(shape) if part.geom_type == kind]
            values = [_plain(columns[key][index]) if key in columns else None for key in GROUND.values()]
            if kind == "Point":
                want += [(values, part) for part in parts]
            elif parts:
                want.append((values, shapely.multipolygons(parts) if kind == "Polygon" else shapely.multilinestrings(parts)))
        file = folder / "guidance" / f"{name}.shp"
        if not want:
            checks.true("ground by GDAL", name, not file.exists(), "a shapefile without a shape")
            continue
        found, records = _layer(checks, file)
        if not checks.same("ground by GDAL", f"{name} count", len(records), len(want)):
            continue
        for index, (values, shape) in enumerate(want):
            got = [_plain(found[key][index]) for key in GROUND]
            checks.same("ground by GDAL", f"{name} {index + 1}", got, values)
            record = records[index]
            if kind != "Point":
                record = (shapely.multipolygons if kind == "Polygon" else shapely.multilinestrings)(_simple(record))
            same = shapely.normalize(record).equals_exact(shapely.normalize(shape), NEAR_DEG)
            checks.true("ground by GDAL", f"{name} {index + 1} shape", bool(same), "lies elsewhere in the shapefile")


def _plain(value):
    """A value of a column without the types of the library; None where it is empty."""
    if value is None or value == "" or (isinstance(value, float | np.floating) and np.isnan(value)):
        return None
    return value if isinstance(value, str) else float(value)
