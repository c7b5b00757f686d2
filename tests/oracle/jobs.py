"""Makes random jobs: folders with `job.toml` and, mostly, `ground.geojson`.

Every job depends on the seed and its own number alone. What must occur often enough is
dealt out by the number (how the pitch is laid down, where on the globe, which rule for
ends); the rest is drawn at random. Sizes have one decimal and places carry many, so that
nothing but what is meant to lies exactly on something else.
"""

import json
import math
import random

import numpy as np
import pyproj
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box, mapping

from frame import OPPOSITE, SIGNS, Frame, Lie
from reading import CUTTING_TASKS, RUN_OVER_TASKS, angle_deg

TASKS = sorted(CUTTING_TASKS | RUN_OVER_TASKS | {"spray", "other"})
ENDS = ["run_over", "on_line", "hold_inside"]
WAYS = ["outline", "centre", "outline", "corners", "outline", "centre", "nowhere", "corners", "outline", "centre"]
WORDS = ["along", "across", "diagonal_left", "diagonal_right", "corner_left", "corner_right"]
PLACES = {
    "national grid": (50.5, 57.5, -4.5, 0.5), "south": (-45.0, -10.0, 112.0, 178.0), "high north": (66.0, 83.9, -170.0, 170.0),
    "central": (45.0, 54.5, 6.2, 11.8), "high south": (-83.9, -60.0, -170.0, 170.0), "equator": (-0.0004, 0.0004, 9.0, 40.0),
    "date line": (-60.0, 65.0, 179.9997, 180.0003),
}


class Maker:
    """Makes one job."""

    def __init__(self, seed, number):
        self.random = random.Random(f"{seed}/{number}")
        # Drawn apart, so that what guidance files add changes nothing else of a job.
        self.apart = random.Random(f"{seed}/{number}/guidance")
        self.number = number
        self.features = []
        self.zone_names = []
        self.lines = []

    # Small helpers -----------------------------------------------------------------------

    def between(self, low, high, decimals=6):
        return round(self.random.uniform(low, high), decimals)

    def chance(self, share):
        return self.random.random() < share

    def choose(self, values):
        return self.random.choice(values)

    def write(self, folder):
        """Writes the job and returns its folder."""
        folder.mkdir(parents=True)
        self._sizes()
        self._lie()
        self._outline()
        if self.lie.frame is not None:
            self._ground_features()
        self._pitch_table()
        self._operations()
        self._hand()
        if self.features:
            collection = {"type": "FeatureCollection", "features": [self._feature(*one) for one in self.features]}
            (folder / "ground.geojson").write_text(json.dumps(collection, indent=1), encoding="utf-8")
        (folder / "job.toml").write_text("\n".join(self.lines) + "\n", encoding="utf-8")
        return folder

    # Where and how big ----------------------------------------------------------------------

    def _sizes(self):
        self.way = WAYS[self.number % len(WAYS)]
        if self.chance(0.12):  # a small pitch, where most markings do not fit
            self.length, self.width = self.between(26.0, 33.0, 1), self.between(14.6, 24.6, 1)
        elif self.chance(0.1):  # one narrower than a penalty area
            self.length, self.width = self.between(60.0, 75.0, 1), self.between(30.0, 39.0, 1)
        else:
            self.length, self.width = self.between(88.0, 121.0, 1), self.between(44.0, 84.0, 1)
        if self.chance(0.2):
            self.length, self.width = 105.0, 68.0

    def _lie(self):
        self.place = list(PLACES)[(self.number // 2) % len(PLACES)]
        south, north, west, east = PLACES[self.place]
        lat, lon = self.between(south, north, 9), self.between(west, east, 9)
        lon = lon - 360.0 if lon > 180.0 else lon
        bearing = self.between(0.0, 360.0, 4)
        while min(abs(bearing % 90.0 - 45.0), abs(bearing % 180.0), 180.0 - bearing % 180.0) < 0.2:
            bearing = self.between(0.0, 360.0, 4)
        if self.way in ("centre", "nowhere"):
            bearing = self.choose([bearing] * 6 + [0.0, 45.0, 90.0, 135.0, 225.0, 315.0, 12.5])
        else:
            bearing = bearing % 180.0  # as a fit gives it
        frame = None if self.way == "nowhere" else Frame(lat, lon, bearing)
        self.ends = None
        if self.way in ("centre", "outline") and self.chance(0.15):
            natural = Lie(frame, bearing, self.length, self.width, 0.0).plus_x
            self.ends = [natural, OPPOSITE[natural]]
        self.lie = Lie(frame, bearing, self.length, self.width, 0.0, self.ends)
        self.crs = None
        if self.way in ("outline", "centre") and self.chance(0.5):
            zone = int((lon + 180.0) // 6.0) % 60 + 1
            self.crs = {"national grid": "EPSG:27700", "central": "EPSG:25832"}.get(
                self.place, f"EPSG:{32600 + zone if lat >= 0 else 32700 + zone}")
        self._to_file = self._file_coordinates()

    def _file_coordinates(self):
        frame = self.lie.frame
        if frame is None:
            return None
        if self.crs is None:
            return lambda xy: np.round(frame.to_globe(xy), 10)
        back = pyproj.Transformer.from_crs("EPSG:4326", self.crs, always_xy=True)

        def to_crs(xy):
            lonlat = frame.to_globe(xy)
            return np.round(np.column_stack(back.transform(lonlat[:, 0], lonlat[:, 1])), 5)

        return to_crs

    def _feature(self, properties, shape):
        return {"type": "Feature", "properties": properties,
                "geometry": mapping(shapely.transform(shape, self._to_file))}

    # The ground ----------------------------------------------------------------------------

    def _outline(self):
        self.drawn = Polygon(self.lie.corners)
        self.sizes_given = True
        if self.way != "outline":
            return
        self.sizes_given = self.chance(0.4)
        self.drawn = self._drawn_outline()
        while not self.drawn.is_valid or self.drawn.convex_hull.area > 1.2 * self.drawn.area:
            self.drawn = self._drawn_outline()
        self.features.append(({"role": "pitch", "name": "outline"}, self.drawn))

    def _drawn_outline(self):
        skew = self.choose([0.05, 0.3, 1.5])
        corners = [corner + (self.between(-skew, skew), self.between(-skew, skew)) for corner in self.lie.corners]
        ring = []
        for side in range(4):
            a, b = corners[side], corners[(side + 1) % 4]
            ring.append(tuple(a))
            ring.extend(self._side(a, b))
        shape = Polygon(ring)
        if self.chance(0.15):
            shape = self._without_corner(shape, corners)
        holes = []
        if self.chance(0.35):
            for _ in range(self.choose([1, 1, 2])):
                at = (self.between(-0.4, 0.4) * self.length, self.between(-0.35, 0.35) * self.width)
                holes.append(self._blob(at, self.between(0.4, 2.5)))
        holes = [hole for k, hole in enumerate(holes) if shape.buffer(-1.0).contains(hole)
                 and all(hole.distance(other) > 0.5 for other in holes[:k])]
        return Polygon(shape.exterior, [hole.exterior for hole in holes])

    def _side(self, a, b):
        """Vertices between two corners: none, a few slightly off, or a notch inwards."""
        along = (b - a) / np.hypot(*(b - a))
        inwards = np.array([-along[1], along[0]])
        length = float(np.hypot(*(b - a)))
        kind = self.choose(["plain", "plain", "wavy", "notch"])
        if kind == "wavy":
            shares = sorted(self.between(0.1, 0.9) for _ in range(self.choose([1, 2, 4])))
            return [tuple(a + along * (share * length) + inwards * self.between(-0.5, 0.5)) for share in shares]
        if kind == "notch":
            wide, deep = self.between(3.0, 8.0), self.between(0.4, 3.5)
            start = self.between(0.25, 0.6) * length
            return [tuple(a + along * start), tuple(a + along * (start + self.between(0.0, 1.0)) + inwards * deep),
                    tuple(a + along * (start + wide - self.between(0.0, 1.0)) + inwards * (deep + self.between(-0.2, 0.2))),
                    tuple(a + along * (start + wide))]
        return []

    def _without_corner(self, shape, corners):
        at = self.choose(corners)
        wide, deep = self.between(2.0, 5.0), self.between(6.0, 8.0)
        middle = np.zeros(2)
        sign = np.sign(middle - at)
        cut = Polygon([at - 9 * sign, at + (sign[0] * wide, -9 * sign[1]), at + (0.0, sign[1] * deep), at + (-9 * sign[0], sign[1] * deep)])
        left = shape.difference(cut)
        return left if left.geom_type == "Polygon" and not left.interiors and left.is_valid else shape

    def _blob(self, at, radius):
        count = self.choose([3, 4, 5, 7])
        turn = self.between(0.0, 6.28)
        spokes = [(radius * self.between(0.6, 1.0), turn + 2 * math.pi * k / count) for k in range(count)]
        return Polygon([(at[0] + far * math.cos(way), at[1] + far * math.sin(way)) for far, way in spokes])

    def _somewhere(self):
        """A place inside, on the edge, or in the run-off."""
        half_x, half_y = self.length / 2, self.width / 2
        where = self.choose(["inside", "edge", "off"])
        if where == "inside":
            return (self.between(-0.9, 0.9) * half_x, self.between(-0.9, 0.9) * half_y)
        out = self.between(-0.4, 0.4) if where == "edge" else self.between(0.8, 3.5)
        if self.chance(0.5):
            return (self.between(-0.95, 0.95) * half_x, self.choose([-1, 1]) * (half_y + out))
        return (self.choose([-1, 1]) * (half_x + out), self.between(-0.95, 0.95) * half_y)

    def _thing(self, at):
        kind = self.choose(["point", "point", "line", "polygon", "concave", "two", "bent"])
        if kind == "point":
            return Point(at)
        if kind == "line":
            return LineString([at, (at[0] + self.between(-5, 5), at[1] + self.between(0.5, 4))])
        if kind == "bent":
            return LineString([at, (at[0] + self.between(1, 4), at[1]), (at[0] + self.between(1, 4), at[1] + self.between(1, 3))])
        if kind == "two":
            return MultiPolygon([box(at[0], at[1], at[0] + 0.8, at[1] + 0.5), box(at[0] + 2.0, at[1], at[0] + 2.6, at[1] + 1.1)])
        if kind == "concave":
            x, y, s = at[0], at[1], self.between(0.8, 2.5)
            return Polygon([(x, y), (x + 2 * s, y), (x + 2 * s, y + s), (x + s, y + s), (x + s, y + 2 * s), (x, y + 2 * s)])
        return self._blob(at, self.between(0.3, 2.0))

    def _ground_features(self):
        half_x, half_y = self.length / 2, self.width / 2
        if self.chance(0.25):
            out = [self.between(2.5, 6.0) for _ in range(4)]
            shape = shapely.union_all([box(-half_x - out[0], -half_y - out[1], half_x + out[2], half_y + out[3]),
                                       self.drawn.buffer(1.0, join_style="mitre")])
            ring = [point for point in shape.exterior.coords[:-1]]
            holes = []
            if self.chance(0.3) and self.way != "outline":
                holes.append(box(half_x + 0.8, -3.0, half_x + 1.7, 1.0).exterior.coords)
            self.features.append(({"role": "run_off"}, Polygon(ring, holes)))
            self.run_off_drawn = True
        for role, share, most in (("obstacle", 0.6, 4), ("no_go", 0.25, 1), ("stockpile", 0.1, 1)):
            for _ in range(self.random.randint(1, most) if self.chance(share) else 0):
                shape = self._thing(self._somewhere())
                if role == "no_go" and shape.geom_type == "Point":
                    shape = self._blob((shape.x, shape.y), 1.5)
                properties = {"role": role}
                if self.chance(0.6):
                    properties["clearance_m"] = self.choose([0.25, 1.0, self.between(0.05, 2.0, 3)])
                if shape.geom_type == "Polygon" and self.chance(0.15):
                    properties["clearance_m"] = 0.0
                self.features.append((properties, shape))
        for sign in (1, -1) if self.chance(0.3) else ():
            shape = self.choose([LineString([(sign * half_x, -3.66), (sign * half_x, 3.66)]),
                                 box(min(sign * half_x, sign * (half_x + 2)), -3.66, max(sign * half_x, sign * (half_x + 2)), 3.66)])
            self.features.append(({"role": "goal", "clearance_m": self.choose([0.2, 0.5])}, shape))
            if self.chance(0.5):
                self.features.append(({"role": "socket"}, Point(sign * half_x, 3.66)))
        for role, share, most in (("head", 0.35, 4), ("lid", 0.15, 1), ("service", 0.25, 2)):
            for _ in range(self.random.randint(1, most) if self.chance(share) else 0):
                self._small_thing(role)
        for k in range(self.choose([0, 0, 0, 1, 2, 3])):
            at = (self.between(-0.45, 0.45) * self.length, self.between(-0.5, 0.5) * self.width)
            name = f"patch-{k + 1}"
            self.zone_names.append(name)
            properties = {"role": "zone", "name": name}
            if self.chance(0.6):
                properties["wear"] = self.random.randint(1, 5)
            shape = self._blob(at, self.between(3.0, 12.0))
            self.features.append((properties, shape if shape.is_valid else shape.convex_hull))
        if self.chance(0.2):
            self.features.append(({"role": "stand", "name": "Long stand", "height_m": 11.0},
                                  box(-20.0, half_y + 8.0, 20.0, half_y + 14.0)))
        if self.chance(0.2):
            self.features.append(({"role": "entrance"}, Point(half_x + 3.0, half_y + 2.0)))
        first = self.features[:1] if self.way == "outline" else []
        rest = self.features[len(first):]
        self.random.shuffle(rest)
        self.features = first + rest

    def _small_thing(self, role):
        at = self._somewhere()
        properties = {"role": role}
        if role == "service":
            if self.chance(0.7):
                properties["depth_m"] = self.choose([0.1, 0.25, 0.4, 0.9])
            shape = LineString([(-self.length * 0.55, self.between(-0.4, 0.4) * self.width),
                                (self.between(-5.0, 5.0), self.between(-0.4, 0.4) * self.width),
                                (self.length * 0.55, self.between(-0.4, 0.4) * self.width)])
        else:
            if self.chance(0.4):
                properties["clearance_m"] = self.between(0.2, 1.2, 2)
            shape = self._blob(at, 0.4) if role == "lid" else Point(at)
        self.features.append((properties, shape))

    # The job file --------------------------------------------------------------------------

    def _pitch_table(self):
        lie, add = self.lie, self.lines.append
        add(f'name = "Random job {self.number}"')
        plan = []
        if any(properties["role"] == "goal" for properties, _ in self.features) and self.chance(0.3):
            plan.append("goals_out = true")
        if any(properties["role"] == "service" and "depth_m" not in properties for properties, _ in self.features) and self.chance(0.4):
            plan.append("accept_unknown_services = true")
        if self.chance(0.2):
            plan.append("stops_share = 0.4")
        if self.number % 3 == 0:
            plan.append("gpx_waypoints = true")
        if self.apart.random() < 0.3:
            plan.append(f'task_data = "{self.apart.choice(["3.3", "3.3", "4.3"])}"')
        if plan:
            self.lines.extend(["", "[plan]", *plan])
        self.lines.extend(["", "[pitch]"])
        if self.sizes_given:
            add(f"length_m = {self.length!r}")
            add(f"width_m = {self.width!r}")
        if self.way == "centre":
            add(f"centre = {{ lat_deg = {lie.frame.lat_deg!r}, lon_deg = {lie.frame.lon_deg!r} }}")
            add(f"bearing_deg = {lie.bearing_deg!r}")
        if self.way == "nowhere" and self.chance(0.7):
            add(f"bearing_deg = {lie.bearing_deg!r}")
        elif self.way == "nowhere":
            self.lie = lie = Lie(None, 0.0, self.length, self.width, 0.0)
        if self.ends:
            add(f'ends = ["{self.ends[0]}", "{self.ends[1]}"]')
        run_off = self.choose(["default", "lines", "sides", "lines", "none"])
        if run_off == "lines":
            add(f"run_off_m = {{ touch = {self.between(0.3, 5.0, 2)}, goal = {self.between(0.3, 5.0, 2)} }}")
        if run_off == "none":
            add("run_off_m = { touch = 0.0, goal = 0.0 }")
        if run_off == "sides":
            sides = (lie.plus_x, OPPOSITE[lie.plus_x], lie.plus_y, OPPOSITE[lie.plus_y])
            add("run_off_m = { " + ", ".join(f"{side} = {self.between(0.5, 6.0, 2)}" for side in sides) + " }")
        if self.way == "corners":
            self._corner_marks()
        if self.chance(0.2):
            self.lines.extend(["", "[pitch.surface]", 'kind = "hybrid"', "max_depth_mm = 400.0"])
        if self.features:
            self.lines.extend(["", "[ground]", 'file = "ground.geojson"'])
            if self.crs:
                add(f'crs = "{self.crs}"')
        elif self.chance(0.4):
            self.lines.extend(["", "[places]",
                               f'entrance = {{ at = "{self.choose(["ne", "se", "sw", "nw"])}", along_m = 4.0, out_m = 2.0 }}',
                               f'stockpile = {{ at = "{self.choose(["ne", "se", "sw", "nw"])}", '
                               f'along_m = {self.between(2.0, 9.0, 2)}, out_m = {self.between(-1.0, 2.5, 2)} }}'])
        if self.chance(0.5):
            self.lines.extend(["", "[crew]", f"people = {self.random.randint(1, 5)}", f"price_per_h = {self.between(12.0, 30.0, 2)}"])

    def _corner_marks(self):
        count = self.choose([2, 3, 4, 4])
        first = self.random.randrange(4)
        self.lines.extend(["", "[pitch.corners]"])
        for step in range(count):
            sign_x, sign_y = SIGNS[(first + step) % 4]
            at = np.array([sign_x * self.length / 2, sign_y * self.width / 2]) + (self.between(-0.2, 0.2), self.between(-0.2, 0.2))
            (lon, lat), = self.lie.frame.to_globe([at])
            name = self.lie.corner_name(sign_x, sign_y)
            self.lines.append(f"{name} = {{ lat_deg = {round(float(lat), 10)!r}, lon_deg = {round(float(lon), 10)!r} }}")

    def _operations(self):
        machines = []
        self.lines.extend(["", "[material.sand-1]", 'kind = "sand"', "density_t_per_m3 = [1.5, 1.6]",
                           "", "[material.feed-1]", 'kind = "fertiliser"'])
        for k in range(2):
            name = f"tool-{k + 1}"
            width = self.choose([1.2, 1.8, 2.0, 2.4, 3.0, self.between(1.0, 4.0, 2)])
            by_hand = self.chance(0.3)
            if not by_hand:
                radius = self.choose(["2.4", "{ left = 2.9, right = 3.2 }", "3.0"])
                self.lines.extend(["", f"[tractor.tractor-{k + 1}]", f"turn_radius_m = {radius}"])
            self.lines.extend(["", f"[implement.{name}]"] + ([] if by_hand else [f'tractor = "tractor-{k + 1}"']))
            self.lines.append(f"working_width_m = {width}")
            overlap = self.choose([0.0, 0.1, self.between(0.0, 0.4, 3)])
            if overlap:
                self.lines.append(f"overlap_m = {min(overlap, 0.4 * width)!r}")
            self.lines.append(f"speed_km_h = {self.choose([2.5, 4.0, 6.0, 8.0])}")
            machines.append((name, width, by_hand))
        for index in range(self.choose([1, 2, 2, 3])):
            self._operation(index, *self.choose(machines))

    def _zones(self):
        lie = self.lie
        ends = [lie.plus_x, OPPOSITE[lie.plus_x]]
        choices = [["all"], ["all"], ["pitch"], ["grass"], ["run_off"], ["goalmouth"], ["goalmouth", "six_yard"], ["wing"],
                   [f"box-{ends[0]}"], [f"penalty-area-{end}" for end in ends], [f"goal-area-{ends[1]}"], ["corner"],
                   ["centre_strip", "centre_circle", "centre_spot"], ["centre-circle", "penalty_spot"], [f"wing-{lie.plus_y}"],
                   ["box", "six_yard", "goalmouth", "penalty_spot"]]
        if self.zone_names:
            choices += [["user"], [self.choose(self.zone_names)], [self.choose(self.zone_names), "goalmouth"]] * 2
        return self.choose(choices)

    def _direction(self, start_from):
        word = self.choose([*WORDS, *WORDS, {"angle_deg": self.between(-180.0, 180.0, 2)}, {"angle_deg": self.choose([20.0, 30.0, 60.0, 135.0])},
                            {"heading_deg": self.between(0.0, 359.0, 1)}])
        if start_from:
            out = self.lie.outward(start_from.split()[0])
            angle = math.radians(angle_deg(word, self.lie.bearing_deg, self.length, self.width))
            if abs(-math.sin(angle) * out[0] + math.cos(angle) * out[1]) < 0.2:
                return None
        return word

    def _operation(self, index, implement, width, by_hand):
        zones = self._zones()
        task = self.choose(TASKS)
        add = self.lines.append
        self.lines.extend(["", "[[operation]]", f'id = "op-{index + 1}"', f'task = "{task}"', f'implement = "{implement}"'])
        if zones != ["all"] or self.chance(0.5):
            add(f"zones = {json.dumps(zones)}")
        regions = ("all", "pitch", "grass", "run_off", "goal-area", "penalty-area")
        if not any(word.startswith(regions) for word in zones) and self.chance(0.15):
            add(f"wear = {json.dumps(sorted(self.random.sample([2, 3, 4, 5], 2)))}")
        start = self.choose(["centred", "centred", "given", "from", "from", "line"])
        start_from = None
        settled = self.way in ("centre", "nowhere")  # else the fit moves bearing and corner angles a little
        if start == "from":
            start_from = f"{self.choose([self.lie.plus_y, OPPOSITE[self.lie.plus_y]])} touch line"
            if self.chance(0.4):
                start_from = f"{self.choose([self.lie.plus_x, OPPOSITE[self.lie.plus_x]])} goal line"
        directions = []
        for _ in range(self.choose([1, 1, 2, 3, 3])):
            word = self._direction(start_from)
            angle = None if word is None else angle_deg(word, self.lie.bearing_deg, self.length, self.width) % 360.0
            if word is not None and all(abs(angle - other) > 0.5 for _, other in directions):
                directions.append((word, angle))
        if not directions:
            directions = [({"angle_deg": 40.0}, 40.0)]
        add("directions = [" + ", ".join(_toml_direction(word) for word, _ in directions) + "]")
        ends = ENDS[(self.number + index) % 3]
        if self.chance(0.85):
            add(f'ends = "{ends}"')
        if self.chance(0.3):
            add(f"over_m = {self.choose([0.0, 0.5, 1.0, self.between(0.0, 2.0, 3)])}")
        if start == "given":
            add('start = "centred"')
        if start == "from":
            add(f'start = {{ from = "{start_from}" }}')
        fixed = [word for word, _ in directions if settled or word in WORDS[:4] or "angle_deg" in word]
        if start == "line" and fixed:
            add(f"start = {self._line_start(fixed[0])}")
        if self.chance(0.5):
            add(f'remainder = "{self.choose(["even", "full"])}"')
        if self.chance(0.1):
            add(f"min_pass_m = {self.choose([0.5, 2.0])}")
        if task in CUTTING_TASKS:
            add(f"depth_mm = {self.choose([8.0, 25.0, 100.0, 200.0, 350.0])}")
        if zones in (["all"], ["pitch"], ["grass"]) and self.chance(0.3):
            add(f"perimeter_rounds = {self.choose([1, 1, 2])}")
        if self.chance(0.3):
            add(f"people = {self.random.randint(1, 4)}")
        self._rate(add)

    def _rate(self, add):
        """Now and then something to put down: everywhere alike, or by place."""
        if self.apart.random() > 0.4:
            return
        if self.apart.random() < 0.7:
            add(f'material = "{self.apart.choice(["sand-1", "feed-1"])}"')
            if "sand-1" in self.lines[-1] and self.apart.random() < 0.3:
                add("dressing_mm = 3.5")
                return
        if self.apart.random() < 0.3:
            add('rate_per = "direction"')
        rate = f"{{}} = {round(self.apart.uniform(0.5, 80.0), 3)}"
        if self.apart.random() < 0.6:
            add(rate.format(self.apart.choice(["rate_t_per_ha", "rate_g_per_m2"])))
            return
        rows = [f'{{ zones = ["{word}"], rate_t_per_ha = {round(self.apart.uniform(1.0, 90.0), 2)} }}'
                for word in self.apart.sample(["goalmouth", "wing", "box", "six_yard", "centre_strip"], 2)]
        if self.apart.random() < 0.7:
            rows.append(f'{{ zones = ["all"], rate_t_per_ha = {round(self.apart.uniform(1.0, 30.0), 2)} }}')
        add("rates = [" + ", ".join(rows) + "]")

    # Hand work -----------------------------------------------------------------------------

    def _hand(self):
        """Work by hand: a board for every job, on a region of its own kind; now and then the rest."""
        self._board("board-1", self.choose(self._hand_zones()))
        if self.chance(0.3):
            self._turf_blocks()
        if self.chance(0.3):
            self._lanes()
        if self.chance(0.5):
            self.lines.extend(["", "[[hand]]", 'id = "rest-1"', 'kind = "rest"', 'operation = "op-1"'])
            if self.chance(0.5):
                self.lines.append(f"m2_per_person_h = {self.between(5.0, 90.0, 1)}")
        if self.chance(0.5):
            self.lines.append(f"people = {self.random.randint(1, 6)}")

    def _hand_zones(self):
        ends = [self.lie.plus_x, OPPOSITE[self.lie.plus_x]]
        zones = [f"goalmouth-{ends[0]}", f"six-yard-{ends[1]}", f"goal-area-{ends[0]}", "goalmouth", f"box-{ends[1]}",
                 "penalty_spot", "corner", "centre-circle"]
        return zones + self.zone_names * 4

    def _board(self, name, zone):
        add = self.lines.append
        self.lines.extend(["", "[[hand]]", f'id = "{name}"', 'kind = "board"', f'zone = "{zone}"'])
        add(f"board = {{ length_m = {self.choose([2.4, 3.0])}, width_m = {self.choose([0.2, 0.23, 0.25])} }}")
        spacing, step = self.choose([90.0, 150.0, self.between(80.0, 300.0, 1)]), self.choose([150.0, 200.0, self.between(100.0, 400.0, 1)])
        if self.chance(0.2):
            step = spacing  # every hole of the second stage may fall into one of the first
        edge = f", edge_mm = {self.choose([0.0, 40.0])}" if self.chance(0.3) else ""
        add(f"fork = {{ tines = {self.random.randint(1, 6)}, tine_spacing_mm = {spacing}, "
            f"tine_diameter_mm = {self.choose([8.0, 12.0, 16.0])}, depth_mm = {self.choose([90.0, 180.0, 240.0])}, step_mm = {step}{edge} }}")
        if self.chance(0.4):
            add(f"angle_deg = {self.choose([0.0, 45.0, self.between(-180.0, 180.0, 2)])}")
        if self.chance(0.2):
            add("stages = 1")
        if self.chance(0.3):
            add(f"coincident_tines = {self.choose([0.0, 1.0, 3.0])}")

    def _turf_blocks(self):
        zone = self.choose(self._hand_zones())
        side, sign = self.choose([0.2, 0.229, 0.3]), self.choose([1, -1])
        x, y = sign * (self.length / 2 - self.between(0.5, 5.0)), self.between(-4.0, 4.0)
        worn = [[round(x + self.between(-1.2, 1.2), 3), round(y + self.between(-1.2, 1.2), 3)] for _ in range(self.random.randint(1, 14))]
        drawn = [[x + dx, y + dy] for dx, dy in ((0.0, 0.0), (1.1, 0.2), (0.9, 0.8), (0.3, 0.5), (-0.1, 0.9))]
        which = self.choose(["points", "points", "outline", "both"])
        parts = [f"side_m = {side}", f"depth_mm = {self.choose([40.0, 100.0, 180.0])}"]
        if which != "outline":
            parts.append(f"worn = {worn!r}")
        if which != "points":
            parts.append(f"worn_area = {drawn!r}")
        if self.chance(0.4):
            parts.append(f'donors = "{self.choose(["run_off", "run_off", f"corner-{self.lie.corner_name(1, 1)}"])}"')
        self.lines.extend(["", "[[hand]]", 'id = "blocks-1"', 'kind = "blocks"', f'zone = "{zone}"',
                           "block = { " + ", ".join(parts) + " }"])

    def _lanes(self):
        zone = self.choose(["all", "grass", "wing", f"box-{self.lie.plus_x}", *self.zone_names])
        parts = [f"width_m = {self.choose([1.5, 2.5, 4.0])}", f'balance = "{self.choose(["area", "damage"])}"',
                 f"days = {self.random.randint(1, 3)}"]
        if self.chance(0.5):
            parts.append(f"minutes = {self.choose([10.0, 30.0, 90.0])}")
        self.lines.extend(["", "[[hand]]", 'id = "lanes-1"', 'kind = "lanes"', f'zone = "{zone}"', "lane = { " + ", ".join(parts) + " }"])
        if self.chance(0.4):
            self.lines.append(f"angle_deg = {self.choose([90.0, 45.0, self.between(-180.0, 180.0, 1)])}")

    def _line_start(self, word):
        angle = math.radians(angle_deg(word, self.lie.bearing_deg, self.length, self.width))
        x, y = self.between(-5.0, 5.0), self.between(-5.0, 5.0)
        far = (x + 30.0 * math.cos(angle), y + 30.0 * math.sin(angle))
        between = self.choose(["", ", between = true", ", between = false"])
        return f"{{ line = [[{x!r}, {y!r}], [{far[0]!r}, {far[1]!r}]]{between} }}"


def _toml_direction(word):
    if isinstance(word, str):
        return f'"{word}"'
    (key, value), = word.items()
    return f"{{ {key} = {value!r} }}"


def make_job(folder, seed, number):
    """Makes one random job in a folder that does not exist yet."""
    return Maker(seed, number).write(folder)
