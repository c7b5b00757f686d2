"""Reads written files so that the number of decimals of every figure is still known."""

import csv
import json

import numpy as np
import shapely
from shapely.geometry import shape as from_geojson


class Figure(float):
    """A number as written, with its decimals."""

    decimals = 0

    def __new__(cls, text):
        value = super().__new__(cls, text)
        mantissa, _, power = text.lower().partition("e")
        places = len(mantissa.partition(".")[2].rstrip("0"))
        value.decimals = max(0, places - int(power or 0))
        return value


def read_json(file):
    """A JSON file, decimals kept."""
    return json.loads(file.read_text(encoding="utf-8"), parse_float=Figure)


def read_csv(file):
    """The rows of a table as dictionaries of text."""
    with file.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def decimals(values):
    """The most decimals among some figures (those of whole numbers count as none)."""
    return max((getattr(value, "decimals", 0) for value in values), default=0)


def half_unit(values, least=2):
    """Half a unit of the last decimal in use, and no more than that of `least` decimals."""
    return 0.5 * 10.0 ** -max(least, decimals(values)) + 1e-9


def leaves(value, path=()):
    """All figures of a JSON value with their paths."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from leaves(inner, (*path, number))
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield path, value


class Features:
    """A GeoJSON file: features with shapes in degrees."""

    def __init__(self, file):
        self.raw = read_json(file)
        self.features = [(feature["properties"], from_geojson(feature["geometry"]), feature["geometry"])
                         for feature in self.raw["features"]]

    def keyed(self, *names):
        """Features by the values of some properties; repeated keys give a list."""
        found = {}
        for properties, shape, _ in self.features:
            found.setdefault(tuple(properties[name] for name in names), []).append((properties, shape))
        return found


def compare_form(checks, word, features):
    """Checks what every GeoJSON file must satisfy: WGS84 ranges, 9 decimals, winding of
    RFC 7946, valid polygons, nothing across 180 degrees, no small pieces."""
    checks.same("geojson form", word, features.raw.get("type"), "FeatureCollection")
    checks.same("geojson form", f"{word} crs", features.raw.get("crs"), None)
    for number, (properties, shape, geometry) in enumerate(features.features, start=1):
        place = f"{word} feature {number}"
        figures = [figure for _, figure in leaves(geometry["coordinates"])]
        checks.true("nine decimals", place, decimals(figures) <= 9, f"{decimals(figures)} decimals")
        at = shapely.get_coordinates(shape)
        checks.true("geojson form", f"{place} ranges", len(at) > 0 and bool(np.all(np.abs(at[:, 0]) <= 180.0))
                    and bool(np.all(np.abs(at[:, 1]) <= 90.0)), "a place off the globe, or none")
        for part in getattr(shape, "geoms", [shape]):
            spread = np.ptp(shapely.get_coordinates(part)[:, 0])
            checks.true("cut at 180 degrees", place, spread < 180.0, f"spans {spread} degrees")
        if shape.geom_type.endswith("Polygon"):
            checks.true("valid polygons", place, shape.is_valid, shapely.is_valid_reason(shape))
            for part in getattr(shape, "geoms", [shape]):
                wound = part.exterior.is_ccw and not any(ring.is_ccw for ring in part.interiors)
                checks.true("ring winding", place, wound, "exterior clockwise or a hole anticlockwise")
