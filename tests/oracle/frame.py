"""The pitch frame on the globe and the four ways of laying a pitch down.

The frame is a transverse Mercator at the centre of the fitted rectangle, scale 1, WGS84,
turned by the bearing. Where the centre is not given it is found by fitting, moving the
origin to the centre found, and fitting again until nothing moves.
"""

import math

import numpy as np
import pyproj
import shapely

# Anticlockwise, as the corners of a rectangle are listed here: (+,+), (-,+), (-,-), (+,-).
SIGNS = np.array([(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)])
ANTICLOCKWISE = ["ne", "nw", "sw", "se"]
LEFT_OF = {"north": "west", "west": "south", "south": "east", "east": "north"}
OPPOSITE = {"north": "south", "south": "north", "east": "west", "west": "east"}


class Frame:
    """Degrees to pitch metres and back."""

    def __init__(self, lat_deg, lon_deg, bearing_deg):
        self.lat_deg, self.lon_deg, self.bearing_deg = lat_deg, lon_deg, bearing_deg
        self._mercator = pyproj.Proj(
            f"+proj=tmerc +lat_0={lat_deg!r} +lon_0={lon_deg!r} +k=1 +x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs")
        cos, sin = math.cos(math.radians(bearing_deg)), math.sin(math.radians(bearing_deg))
        self._turn = np.array([[sin, -cos], [cos, sin]])

    def to_pitch(self, lonlat):
        """Longitude and latitude (n x 2) to pitch metres (n x 2)."""
        lonlat = np.asarray(lonlat, dtype=float)
        east, north = self._mercator(lonlat[:, 0], lonlat[:, 1], errcheck=True)
        return np.column_stack([east, north]) @ self._turn

    def to_globe(self, xy):
        """Pitch metres (n x 2) to longitude and latitude (n x 2)."""
        plane = np.asarray(xy, dtype=float) @ self._turn.T
        lon, lat = self._mercator(plane[:, 0], plane[:, 1], inverse=True, errcheck=True)
        return np.column_stack([lon, lat])

    def shape_to_pitch(self, shape):
        """A shape in longitude and latitude to pitch metres."""
        return shapely.transform(shape, self.to_pitch)

    def shape_to_globe(self, shape):
        """A shape in pitch metres to longitude and latitude."""
        return shapely.transform(shape, self.to_globe)


def from_crs(crs):
    """A function from file coordinates (n x 2) to longitude and latitude (n x 2)."""
    if crs is None:
        return lambda xy: np.asarray(xy, dtype=float)
    transformer = pyproj.Transformer.from_crs(crs, "EPSG:4326", always_xy=True)
    return lambda xy: np.column_stack(transformer.transform(np.asarray(xy)[:, 0], np.asarray(xy)[:, 1], errcheck=True))


class Lie:
    """How a pitch lies: its frame (None without a position), sizes, bearing, misfit, names."""

    def __init__(self, frame, bearing_deg, length_m, width_m, misfit_m, ends=None):
        self.frame, self.bearing_deg = frame, bearing_deg
        self.length_m, self.width_m, self.misfit_m = length_m, width_m, misfit_m
        self.plus_x = ends[0] if ends else plus_x_name(bearing_deg)
        self.plus_y = LEFT_OF[self.plus_x]

    @property
    def corners(self):
        """The rectangle's corners, anticlockwise from (+, +)."""
        return SIGNS * (self.length_m / 2.0, self.width_m / 2.0)

    def outward(self, point):
        """The outward unit vector of the line by a compass point."""
        return {self.plus_x: (1.0, 0.0), OPPOSITE[self.plus_x]: (-1.0, 0.0),
                self.plus_y: (0.0, 1.0), OPPOSITE[self.plus_y]: (0.0, -1.0)}[point]

    def corner_name(self, sign_x, sign_y):
        """The name of a corner by its signs."""
        points = {self.plus_x if sign_x > 0 else OPPOSITE[self.plus_x],
                  self.plus_y if sign_y > 0 else OPPOSITE[self.plus_y]}
        return next(name for name in ANTICLOCKWISE
                    if points == {{"n": "north", "s": "south"}[name[0]], {"e": "east", "w": "west"}[name[1]]})

    def corner(self, name):
        """Where a corner lies, by its name."""
        for sign_x, sign_y in SIGNS:
            if self.corner_name(sign_x, sign_y) == name:
                return np.array([sign_x * self.length_m / 2.0, sign_y * self.width_m / 2.0])
        raise KeyError(name)


def plus_x_name(bearing_deg):
    """The compass name of the +x end: north or south within 45 degrees of the meridian."""
    folded = bearing_deg % 180.0
    if folded <= 45.0 or folded >= 135.0:
        return "north" if math.cos(math.radians(bearing_deg)) > 0 else "south"
    return "east" if math.sin(math.radians(bearing_deg)) > 0 else "west"


def lie_of(job):
    """How the pitch of a job lies, by whichever of the four ways it says."""
    pitch = job.pitch
    ends = pitch.get("ends")
    size = (float(pitch["length_m"]), float(pitch["width_m"])) if "length_m" in pitch else None
    if "centre" in pitch:
        bearing = float(pitch["bearing_deg"])
        frame = Frame(float(pitch["centre"]["lat_deg"]), float(pitch["centre"]["lon_deg"]), bearing)
        return Lie(frame, bearing, *size, 0.0, ends)
    if "corners" in pitch:
        marks = {name: (float(at["lon_deg"]), float(at["lat_deg"])) for name, at in pitch["corners"].items()}
        return _settled(np.array(list(marks.values())), lambda xy: fit_marks(list(marks), xy, *size), ends)
    outlines = job.of_role("pitch")
    if outlines:
        ring = from_crs(job.crs)(np.array(polygon_of(outlines[0].shape).exterior.coords)[:-1])
        return _settled(ring, lambda xy: fit_outline(xy, size), ends)
    return Lie(None, float(pitch.get("bearing_deg", 0.0)), *size, 0.0, ends)


def polygon_of(shape):
    """The one polygon of an outline."""
    return shape.geoms[0] if shape.geom_type == "MultiPolygon" else shape


def _settled(lonlat, fit, ends):
    """Moves the origin to the centre found until it stays."""
    lon, lat = lonlat[0]
    for _ in range(12):
        frame = Frame(float(lat), float(lon), 90.0)  # bearing 90: x is east, y is north
        centre, along, length_m, width_m, misfit_m = fit(frame.to_pitch(lonlat))
        (lon, lat), = frame.to_globe([centre])
    bearing = math.degrees(math.atan2(along[0], along[1])) % 180.0
    return Lie(Frame(float(lat), float(lon), bearing), bearing, length_m, width_m, misfit_m, ends)


def fit_marks(names, xy, length_m, width_m):
    """A rectangle of known size to two to four named corner marks: turn and shift.

    Anticlockwise the corners are ne, nw, sw, se. Whether the touch line is the one from ne
    to nw or the one from nw to sw is what fits better.
    """
    best = None
    for first in (0, 1):
        corners = np.roll(SIGNS, first, axis=0) * (length_m / 2.0, width_m / 2.0)
        model = np.array([corners[ANTICLOCKWISE.index(name)] for name in names])
        p, q = xy - xy.mean(axis=0), model - model.mean(axis=0)
        turn = math.atan2(np.sum(q[:, 0] * p[:, 1] - q[:, 1] * p[:, 0]), np.sum(q * p))
        cos, sin = math.cos(turn), math.sin(turn)
        rotation = np.array([[cos, sin], [-sin, cos]])
        centre = xy.mean(axis=0) - model.mean(axis=0) @ rotation
        off = np.hypot(*(model @ rotation + centre - xy).T)
        if best is None or np.sum(off**2) < best[0]:
            best = (np.sum(off**2), centre, rotation[0], length_m, width_m, float(off.max()))
    return best[1:]


def least_area_rectangle(xy):
    """The corners of the rectangle of least area about some points, anticlockwise."""
    hull = np.array(shapely.MultiPoint(xy).convex_hull.exterior.coords)
    best = None
    for step in np.diff(hull, axis=0):
        u = step / np.hypot(*step)
        v = np.array([-u[1], u[0]])
        low, high = np.array([(hull @ u).min(), (hull @ v).min()]), np.array([(hull @ u).max(), (hull @ v).max()])
        area = float(np.prod(high - low))
        if best is None or area < best[0]:
            best = (area, [u * (high if sx > 0 else low)[0] + v * (high if sy > 0 else low)[1] for sx, sy in SIGNS])
    return np.array(best[1])


def fit_outline(xy, size):
    """A rectangle to an outline: to the four vertices nearest the least-area rectangle's
    corners, by least squares in turn, shift and both sides.

    With a = half the sum of sign_x p, b likewise with sign_y, the best sides for a turn u are
    a.u and b.v, and the sum of squares falls by (a.u)^2 + (b.v)^2: the greatest of a
    quadratic form in u.
    """
    marks = np.array([xy[np.argmin(np.hypot(*(xy - corner).T))] for corner in least_area_rectangle(xy)])
    if np.hypot(*(marks[0] - marks[1])) < np.hypot(*(marks[1] - marks[2])):
        marks = np.roll(marks, 1, axis=0)  # so that the side from (+,+) to (-,+) is the longer one
    centre = marks.mean(axis=0)
    a, b = 0.5 * (SIGNS[:, :1] * marks).sum(axis=0), 0.5 * (SIGNS[:, 1:] * marks).sum(axis=0)
    back = np.array([b[1], -b[0]])
    _, vectors = np.linalg.eigh(np.outer(a, a) + np.outer(back, back))
    along = vectors[:, 1]
    left = np.array([-along[1], along[0]])
    length_m, width_m = size if size else (abs(float(a @ along)), abs(float(b @ left)))
    local = np.column_stack([(xy - centre) @ along, (xy - centre) @ left])
    return centre, along, length_m, width_m, float(rectangle_distance(local, length_m, width_m).max())


def rectangle_distance(xy, length_m, width_m):
    """Distances of points from the boundary of a rectangle about the origin."""
    edge = shapely.box(-length_m / 2, -width_m / 2, length_m / 2, width_m / 2).exterior
    return shapely.distance(shapely.points(xy), edge)
