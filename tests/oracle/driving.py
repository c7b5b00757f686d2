"""What a machine drives, from the points of its legs alone: headings, lengths, bends, and the
ground that its body and its tool lie on. Plain arithmetic and shapely (GEOS)."""

import math
from dataclasses import dataclass

import numpy as np
import shapely

from ground import SOLID, Ground

STEPS = 4  # places looked at within a chord
JOIN_M, JOIN_RAD = 1e-3, math.radians(0.01)
SLACK_M = 1e-6
TRIM_M = 0.001  # a strip runs along what is kept clear with this much over
OVERHANG_M = 6.0  # so near an entrance the body may hang over the edge
KM_H = 1 / 3.6
BODY = {"width_m": 1.5, "ahead_m": 2.4, "behind_m": 0.9}  # the job file's defaults
CHANGE_S, ON_PITCH = 4.0, 3.0


@dataclass
class Machine:
    """The machine of an operation, and what its turns cost."""

    left_m: float
    right_m: float
    body: dict
    tool_m: float
    reach_m: float
    can_reverse: bool
    on_pitch: float
    turn_m_s: float
    change_s: float

    @property
    def change_m(self):
        """A change of direction in metres of driving."""
        return self.change_s * self.turn_m_s


def machine_of(job, operation):
    """The machine of an operation of a job file; None where it is moved by hand."""
    raw = next(one for one in job.toml["operation"] if one["id"] == operation)
    implement = job.toml["implement"][raw["implement"]]
    if "tractor" not in implement:
        return None
    tractor = job.toml["tractor"][implement["tractor"]]
    radius = tractor["turn_radius_m"]
    left_m, right_m = (radius["left"], radius["right"]) if isinstance(radius, dict) else (radius, radius)
    return Machine(left_m, right_m, BODY | tractor.get("body", {}), implement["working_width_m"], implement.get("reach_m", 0.0),
                   implement.get("can_reverse", False), raw.get("turn_on_pitch_cost", ON_PITCH),
                   tractor.get("turn_speed_km_h", implement["speed_km_h"]) * KM_H, tractor.get("change_s", CHANGE_S))


def polygons(shape):
    """The ground of a dump as a shape."""
    return shapely.union_all([shapely.Polygon(rings[0], rings[1:]) for rings in shape])


def entrances(job, dump):
    """The places of a job's entrances, or the nearest on allowed ground."""
    allowed = polygons(dump["allowed"])
    return [shapely.shortest_line(allowed, place).interpolate(0.0) for place in Ground(job).entrances()]


def body_ground(job, dump):
    """Where body and tool may be in turns: allowed ground, and about an entrance a little more,
    but for what stands there; with a hair's slack."""
    ground = polygons(dump["allowed"])
    about = [place.buffer(OVERHANG_M, quad_segs=64) for place in entrances(job, dump)]
    if about:
        stands = [polygons(kept["kept_clear"]) for kept in dump["kept"] if kept["role"] in SOLID]
        ground = ground.union(shapely.union_all(about).difference(shapely.union_all(stands)))
    return ground.buffer(SLACK_M, join_style="mitre")


def metres_within(poses, shape):
    """How much of a way lies within a shape, metres: at least and at most, for what runs along its
    edge may be counted or not."""
    run = shapely.LineString(poses[:, :2])
    return np.array([run.intersection(shape.buffer(off_m, join_style="mitre")).length for off_m in (-SLACK_M, SLACK_M)])


def folded(angle):
    """An angle in (-pi, pi]."""
    return math.pi - (math.pi - angle) % (2 * math.pi)


def rectangles(poses, back_m, front_m, half_m):
    """Rectangles about poses (x, y, heading), as polygons."""
    corners = np.array([(back_m, -half_m), (front_m, -half_m), (front_m, half_m), (back_m, half_m)])
    cos, sin = np.cos(poses[:, 2]), np.sin(poses[:, 2])
    x = poses[:, 0, None] + cos[:, None] * corners[:, 0] - sin[:, None] * corners[:, 1]
    y = poses[:, 1, None] + sin[:, None] * corners[:, 0] + cos[:, None] * corners[:, 1]
    return shapely.polygons(np.stack([x, y], axis=2))


def shapes_at(machine, poses):
    """Body and tool at poses, as polygons, by name."""
    body, behind_m = machine.body, machine.reach_m
    return {
        "body": rectangles(poses, -body["behind_m"], body["ahead_m"], body["width_m"] / 2),
        "tool": rectangles(poses, -behind_m - 1e-9, -behind_m, machine.tool_m / 2 - TRIM_M),
    }


def off_ground(machine, poses, ground):
    """How much of body and of tool is off the ground at worst, m2, by name."""
    found = {}
    for what, shapes in shapes_at(machine, poses).items():
        off = ~shapely.covers(ground, shapes)
        found[what] = max((shapely.difference(shape, ground).area for shape in shapes[off]), default=0.0)
    return found


def driven_again(leg, machine, steps=STEPS):
    """Places along a leg with the nose's heading, from its points and its first heading alone.

    A chord from heading t in direction c belongs to an arc that turns by 2 (c - t): so the
    headings follow one after another, and none is stated but the first. Returns the poses, the
    last heading, the arcs' lengths and by how much a chord is too short for its turn, metres.
    """
    sense = math.pi if leg["reverse"] else 0.0
    x, y, heading = leg["start"]
    way = heading + sense  # the direction of travel
    poses, lengths, tightest = [(x, y, heading)], [], 0.0
    points = leg["line"]
    for (x0, y0), (x1, y1) in zip(points, points[1:]):
        chord_m = math.hypot(x1 - x0, y1 - y0)
        half = folded(math.atan2(y1 - y0, x1 - x0) - way)
        # In reverse the nose turns left on the circle to the right.
        radius_m = machine.left_m if (half > 0) != leg["reverse"] else machine.right_m
        # An arc of the least radius that turns as much has this chord: none may be shorter.
        tightest = max(tightest, 2 * radius_m * abs(math.sin(half)) - chord_m)
        length_m = chord_m if abs(half) < 1e-9 else chord_m * half / math.sin(half)
        for step in range(1, steps + 1):
            turned = 2 * half * step / steps
            far_m = length_m * step / steps
            part_m = far_m if abs(turned) < 1e-9 else far_m * math.sin(turned / 2) / (turned / 2)
            towards = way + turned / 2
            poses.append((x0 + part_m * math.cos(towards), y0 + part_m * math.sin(towards), way + turned - sense))
        way += 2 * half
        lengths.append(length_m)
    return np.array(poses), way - sense, sum(lengths), tightest
