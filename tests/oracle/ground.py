"""The ground of a job in pitch metres, from the job file alone: outline, grass, what is
kept clear, allowed ground, zones (3) and what an operation is to work."""

import shapely
from shapely.geometry import MultiPolygon, Point, Polygon, box

from frame import OPPOSITE, from_crs, lie_of, polygon_of
from shapes import disc, less, only_polygons, polygons_of, union, widened

RUN_OFF_M = 3.0
SLACK_M = 0.010
FAR_M = 2000.0
TINY_ZONE_M2 = 1e-6
JOIN_M = 0.001
WEAR = {"goalmouth": 5, "six_yard": 4, "penalty_spot": 4, "box": 3, "corner": 3, "centre_spot": 4,
        "centre_circle": 3, "centre_strip": 3, "wing": 2}
SOLID = ("obstacle", "no_go", "goal", "stockpile", "hole")
UP_AROUND = ("head", "socket", "lid")


class Kept:
    """One thing that is kept clear."""

    def __init__(self, role, clearance_m, shape, depth_m=None, name=None):
        self.role, self.clearance_m, self.shape, self.depth_m, self.name = role, clearance_m, shape, depth_m, name
        self.kept_clear = widened(shape, clearance_m)


class Zone:
    """A zone of the partition."""

    def __init__(self, name, kind, wear, shape):
        self.name, self.kind, self.wear, self.shape = name, kind, wear, shape


class Ground:
    """The ground of a job, rebuilt."""

    def __init__(self, job):
        self.job = job
        self.lie = lie_of(job)
        self._from_file = from_crs(job.crs)
        pitches = job.of_role("pitch")
        drawn = polygon_of(self.to_pitch(pitches[0].shape)) if pitches else None
        self.outline = Polygon(drawn.exterior) if drawn is not None else Polygon(self.lie.corners)
        self.holes = [Polygon(ring) for ring in drawn.interiors] if drawn is not None else []
        self.grass = self._grass()
        self.kept = self._kept()
        solid = [kept.kept_clear for kept in self.kept if kept.role in SOLID]
        self.allowed = less(only_polygons(self.grass), solid)
        self.markings = self._markings()
        self.zones = self._zones()

    def to_pitch(self, shape):
        """A shape in file coordinates to pitch metres."""
        return shapely.transform(shape, lambda xy: self.lie.frame.to_pitch(self._from_file(xy)))

    def _grass(self):
        drawn = self.job.of_role("run_off")
        if drawn:
            return union([self.outline, *[self.to_pitch(feature.shape) for feature in drawn]])
        return union([self.outline, self._run_off_rectangle()])

    def _run_off_rectangle(self):
        lie, by = self.lie, self.job.pitch.get("run_off_m")
        names = (lie.plus_x, OPPOSITE[lie.plus_x], lie.plus_y, OPPOSITE[lie.plus_y])
        if by is None:
            wide = {name: RUN_OFF_M for name in names}
        elif "touch" in by or "goal" in by:
            wide = dict(zip(names, (by["goal"], by["goal"], by["touch"], by["touch"])))
        else:
            wide = by
        half_x, half_y = lie.length_m / 2, lie.width_m / 2
        return box(-half_x - wide[names[1]], -half_y - wide[names[3]], half_x + wide[names[0]], half_y + wide[names[2]])

    def _kept(self):
        kept = []
        roles = ("obstacle", "no_go", "stockpile", "head", "socket", "lid", "service")
        for feature in self.job.of_role(*roles, *(() if self.job.goals_out else ("goal",))):
            depth = feature.properties.get("depth_m")
            name = feature.properties.get("name")
            kept.append(Kept(feature.role, feature.clearance_m, self.to_pitch(feature.shape), depth, name))
        if "stockpile" in self.job.places:
            kept.append(Kept("stockpile", 0.5, Point(self.by_flag(self.job.places["stockpile"]))))
        kept.extend(Kept("hole", 0.0, hole) for hole in self.holes)
        return kept

    def entrances(self):
        """The middles of the ways in: those drawn first, then one told from a corner flag."""
        drawn = [shapely.centroid(self.to_pitch(feature.shape)) for feature in self.job.of_role("entrance")]
        return drawn + [Point(self.by_flag(self.job.places[key])) for key in ("entrance",) if key in self.job.places]

    def by_flag(self, place):
        """Where a place lies that is told from a corner flag."""
        corner = self.lie.corner(place["at"])
        out = 1.0 if corner[0] > 0 else -1.0
        inwards = -1.0 if corner[1] > 0 else 1.0
        return corner[0] + out * place["out_m"], corner[1] + inwards * place["along_m"]

    def _fits(self, marking):
        corners = shapely.points(shapely.get_coordinates(marking))
        return bool(shapely.distance(corners, self.outline).max() <= self.lie.misfit_m + SLACK_M)

    def _markings(self):
        """By kind and name, in the order of precedence: each marking that fits, run on
        outwards far beyond the outline. Who takes one from the pitch cuts it at the outline;
        taking away what is not yet cut leaves no hairs along that cut."""
        lie = self.lie
        half_x, half_y = lie.length_m / 2, lie.width_m / 2
        ends = [(1.0, lie.plus_x), (-1.0, OPPOSITE[lie.plus_x])]
        found = []

        def add(kind, name, marking, run_on):
            if self._fits(marking):
                found.append((kind, name, union([marking, *run_on])))

        def add_areas(kind, word, wide, deep):
            for sign, end in ends:
                inner = sign * (half_x - deep)
                marking = box(min(sign * half_x, inner), -wide / 2, max(sign * half_x, inner), wide / 2)
                far = sign * FAR_M
                add(kind, f"{word}-{end}", marking, [box(min(far, inner), -wide / 2, max(far, inner), wide / 2)])

        add_areas("goalmouth", "goalmouth", 7.32 + 4.0, 5.5)
        add_areas("six_yard", "six-yard", 18.32, 5.5)
        for sign, end in ends:
            add("penalty_spot", f"penalty-spot-{end}", disc((sign * (half_x - 11.0), 0.0), 1.5), [])
        add_areas("box", "box", 40.32, 16.5)
        for sign_x, sign_y in ((1, 1), (-1, 1), (-1, -1), (1, -1)):
            at = (sign_x * half_x, sign_y * half_y)
            quadrant = _span(at[0], at[0] - sign_x * 3.0, at[1], at[1] - sign_y * 3.0)
            quarter = only_polygons(disc(at, 3.0).intersection(quadrant))
            beyond = (sign_x * FAR_M, sign_y * FAR_M)
            run_on = [_span(at[0], beyond[0], at[1] - sign_y * 3.0, at[1]),
                      _span(at[0] - sign_x * 3.0, at[0], at[1], beyond[1]),
                      _span(at[0], beyond[0], at[1], beyond[1])]
            add("corner", f"corner-{lie.corner_name(sign_x, sign_y)}", quarter, run_on)
        add("centre_spot", "centre-spot", disc((0.0, 0.0), 3.0), [])
        add("centre_circle", "centre-circle", disc((0.0, 0.0), 9.15), [])
        add("centre_strip", "centre-strip", box(-half_x, -10.0, half_x, 10.0), [])
        return found

    def _zones(self):
        zones, left = [], only_polygons(self.outline)

        def take(name, kind, wear, shape):
            nonlocal left
            mine = only_polygons(left.intersection(shape))
            if kind == "user" or mine.area >= TINY_ZONE_M2:
                zones.append(Zone(name, kind, wear, mine))
            left = only_polygons(left.difference(shape))

        for feature in reversed(self.job.of_role("zone")):
            take(feature.properties["name"], "user", feature.properties.get("wear", 3), self.to_pitch(feature.shape))
        for kind, name, shape in self.markings:
            take(name, kind, WEAR[kind], shape)
        take(f"wing-{self.lie.plus_y}", "wing", WEAR["wing"], box(-FAR_M, 0.0, FAR_M, FAR_M))
        take(f"wing-{OPPOSITE[self.lie.plus_y]}", "wing", WEAR["wing"], box(-FAR_M, -FAR_M, FAR_M, 0.0))
        return zones

    def region(self, word):
        """A region by its word, or None where the word is no region."""
        if word in ("all", "pitch"):
            return only_polygons(self.outline)
        if word == "grass":
            return self.grass
        if word == "run_off":
            return only_polygons(self.grass.difference(self.outline))
        for prefix, marking in (("goal-area-", "six-yard-"), ("penalty-area-", "box-")):
            if word.startswith(prefix):
                shapes = [shape for _, name, shape in self.markings if name == marking + word.removeprefix(prefix)]
                return only_polygons(shapes[0].intersection(self.outline)) if shapes else MultiPolygon()
        return None

    def named(self, operation):
        """The union of what an operation's zones (and wear) name."""
        shapes = []
        for word in operation.zones:
            region = self.region(word)
            if region is not None:
                shapes.append(region)
                continue
            shapes.extend(zone.shape for zone in self.zones if word in (zone.name, zone.kind)
                          and (operation.wear is None or zone.wear in operation.wear))
        return union(shapes)

    def blocking(self, operation):
        """What the tool is kept out of in an operation."""
        return [kept for kept in self.kept if self._blocks(kept, operation)]

    def _blocks(self, kept, operation):
        if kept.role in SOLID:
            return True
        if kept.role in UP_AROUND:
            return operation.cuts
        if kept.role == "service" and operation.depth_mm is not None:
            if kept.depth_m is None:
                return not self.job.plan.get("accept_unknown_services", False)
            return operation.depth_mm + 100.0 >= kept.depth_m * 1000.0
        return False

    def pieces(self, operation):
        """The connected pieces of what is named, each with what is left of it to work."""
        off = [kept.kept_clear for kept in self.blocking(operation)]
        return [(piece, less(piece, off)) for piece in connected(self.named(operation))]


def _span(x0, x1, y0, y1):
    return box(min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1))


def connected(shape):
    """Connected pieces: nearer than 1 mm is one, a neck under 1 mm does not connect."""
    half = JOIN_M / 2
    closed = shape.buffer(half, join_style="mitre").buffer(-2 * half, join_style="mitre")
    cores = polygons_of(closed)
    if len(cores) <= 1:
        return [shape] if not shape.is_empty else []
    groups = [[] for _ in cores]
    for part in polygons_of(shape):
        meets = [k for k, core in enumerate(cores) if core.intersects(part)]
        if len(meets) == 1:
            groups[meets[0]].append(part)
        else:
            for k in meets:
                groups[k].append(only_polygons(part.intersection(cores[k].buffer(half, join_style="mitre"))))
    return [only_polygons(union(group)) for group in groups if group]
