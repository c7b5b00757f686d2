"""What a job file alone determines, rebuilt and compared with the dump: frame, fit, names,
outline, grass, allowed ground, kept-clear places, zones, targets and pieces.

Shapes may differ by 1e-7 m x the sum of both boundary lengths.
"""

import math

import numpy as np

from ground import Ground
from reading import angle_deg, heading_deg
from shapes import boundary_m, difference_area, from_multi, from_poly, mended, union

WITHIN_M = 1e-7
POSITION_M = 1e-6
ANGLE_DEG = 1e-8


def compare_ground(checks, job, dump):
    """Compares all that stands before the first pass; returns the ground as rebuilt."""
    ground = Ground(job)
    _compare_lie(checks, ground.lie, job, dump)
    for word, want in (("outline", ground.outline), ("grass", ground.grass), ("allowed", ground.allowed)):
        got = from_poly(dump[word]) if word == "outline" else from_multi(dump[word])
        same_shape(checks, f"{word} shape", word, got, want)
    _compare_kept(checks, ground, dump)
    _compare_zones(checks, ground, dump)
    checks.same("operations", "ids", [op["id"] for op in dump["operations"]], [op.id for op in job.operations])
    for operation, dumped in zip(job.operations, dump["operations"]):
        _compare_operation(checks, ground, operation, dumped)
    return ground


def same_shape(checks, kind, place, got, want):
    """Checks that two shapes differ by no more than 1e-7 m x boundary length."""
    got, want = mended(got, checks, kind), mended(want)
    allowed = WITHIN_M * boundary_m(got, want)
    return checks.small(kind, place, difference_area(got, want), allowed,
                        f"area {got.area:.6f} where {want.area:.6f} was expected")


def turn_between(one_deg, other_deg, full=360.0):
    """The least difference of two angles."""
    off = (one_deg - other_deg) % full
    return min(off, full - off)


def _compare_lie(checks, lie, job, dump):
    frame, pitch = dump["frame"], dump["pitch"]
    checks.same("position", "frame", frame is None, lie.frame is None)
    if lie.frame is not None and frame is not None:
        at = lie.frame.to_pitch([(frame["origin_lon_deg"], frame["origin_lat_deg"])])[0]
        checks.small("frame origin (m)", "frame", float(np.hypot(*at)), POSITION_M)
        checks.small("bearing (deg)", "frame", turn_between(frame["bearing_deg"], lie.bearing_deg), ANGLE_DEG)
        checks.same("crs", "frame", frame["crs"], job.crs)
        accuracy = frame["crs_accuracy_m"]
        if job.crs is None:
            checks.same("crs accuracy", "frame", accuracy, None)
        else:
            checks.true("crs accuracy", "frame", accuracy is None or accuracy >= 0.0, f"{accuracy} m")
    checks.small("bearing (deg)", "dump", turn_between(dump["bearing_deg"], lie.bearing_deg), ANGLE_DEG)
    checks.near("fit (m)", "length_m", pitch["length_m"], lie.length_m, POSITION_M)
    checks.near("fit (m)", "width_m", pitch["width_m"], lie.width_m, POSITION_M)
    checks.near("fit (m)", "misfit_m", pitch["misfit_m"], lie.misfit_m, POSITION_M)
    checks.same("end names", "plus_x", pitch["plus_x"], lie.plus_x)
    checks.same("end names", "plus_y", pitch["plus_y"], lie.plus_y)


def _compare_kept(checks, ground, dump):
    left = [(kept, from_multi(kept["kept_clear"])) for kept in dump["kept"]]
    if ground.job.goals_out:
        left = [(kept, shape) for kept, shape in left if kept["role"] != "goal"]
    checks.same("kept-clear count", "kept", len(left), len(ground.kept))
    for number, want in enumerate(ground.kept, start=1):
        like = [entry for entry in left if want.role == "hole" or entry[0]["role"] == want.role]
        place = f"{want.role} {number} of those kept clear"
        if not checks.true("kept-clear count", place, bool(like), "not in the dump"):
            continue
        nearest = min(like, key=lambda entry: difference_area(mended(entry[1]), want.kept_clear))
        left.remove(nearest)
        same_shape(checks, "kept-clear shape", place, nearest[1], want.kept_clear)
        checks.near("clearance (m)", place, nearest[0]["clearance_m"], want.clearance_m, 1e-12)


def _compare_zones(checks, ground, dump):
    dumped = {zone["name"]: zone for zone in dump["zones"]}
    checks.same("zone names", "zones", sorted(dumped), sorted(zone.name for zone in ground.zones))
    checks.same("zone names", "repeated", len(dumped), len(dump["zones"]))
    for want in ground.zones:
        got = dumped.get(want.name)
        if got is None:
            continue
        shape = from_multi(got["shape"])
        same_shape(checks, "zone shape", want.name, shape, want.shape)
        checks.same("zone kind and wear", want.name, (got["kind"], got["wear"]), (want.kind, want.wear))
        checks.near("zone area (m2)", want.name, got["area_m2"], shape.area, 1e-8)
    outline = from_poly(dump["outline"])
    shapes = [from_multi(zone["shape"]) for zone in dump["zones"]]
    checks.near("zones sum to the pitch", "zones", sum(zone["area_m2"] for zone in dump["zones"]), outline.area,
                WITHIN_M * boundary_m(*shapes))


def _compare_operation(checks, ground, operation, dumped):
    place = operation.id
    for key, want in (("task", operation.task), ("ends", operation.ends), ("remainder", operation.remainder),
                      ("perimeter_rounds", operation.rounds)):
        checks.same("operation as read", f"{place} {key}", dumped[key], want)
    for key, want in (("working_width_m", operation.width_m), ("overlap_m", operation.overlap_m),
                      ("over_m", operation.over_m), ("min_pass_m", operation.min_pass_m)):
        checks.near("operation as read", f"{place} {key}", dumped[key], want, 1e-12)
    named = ground.named(operation)
    pieces = ground.pieces(operation)
    target = union([part for _, part in pieces])
    got_target = from_multi(dumped["target"])
    same_shape(checks, "target shape", place, got_target, target)
    slack = WITHIN_M * (boundary_m(got_target, target) + named.length)
    checks.near("target area (m2)", place, dumped["target_area_m2"], got_target.area, 1e-8)
    checks.near("kept clear area (m2)", place, dumped["kept_clear_m2"], named.area - target.area, slack)
    blocked = union([kept.kept_clear for kept in ground.blocking(operation)])
    same_shape(checks, "blocked shape", place, union([mended(from_multi(one)) for one in dumped["blocked"]]), blocked)
    _compare_pieces(checks, place, pieces, dumped["pieces"])
    _compare_directions(checks, ground.lie, operation, dumped)


def _compare_pieces(checks, place, pieces, dumped):
    checks.same("pieces", place, len(dumped), len(pieces))
    left = [(from_multi(piece["zones"]), from_multi(piece["target"])) for piece in dumped]
    for number, (zones, target) in enumerate(pieces, start=1):
        if not left:
            return
        nearest = min(left, key=lambda piece: difference_area(mended(piece[0]), zones))
        left.remove(nearest)
        same_shape(checks, "piece shape", f"{place} piece {number}", nearest[0], zones)
        same_shape(checks, "piece target shape", f"{place} piece {number}", nearest[1], target)


def _compare_directions(checks, lie, operation, dumped):
    words = [direction_name(direction) for direction in operation.directions]
    rounds = ["rounds"] if operation.rounds else []
    got = [direction["name"] for direction in dumped["directions"]]
    if not checks.same("directions", f"{operation.id} count", len(got), len(words) + len(rounds)):
        return
    for name, want in zip(got, rounds + words):
        if want is not None:
            checks.same("directions", operation.id, name, want)
    straights = dumped["directions"][len(rounds):]
    for direction in dumped["directions"][:len(rounds)]:
        checks.same("directions", f"{operation.id} rounds", (direction["angle_deg"], direction["heading_deg"]), (None, None))
    for direction, given in zip(straights, operation.directions):
        place = f"{operation.id} {direction['name']}"
        angle = angle_deg(given, lie.bearing_deg, lie.length_m, lie.width_m)
        heading = heading_deg(given, lie.bearing_deg, lie.length_m, lie.width_m)
        checks.small("angle (deg)", place, turn_between(direction["angle_deg"], angle), ANGLE_DEG)
        checks.small("heading (deg)", place, turn_between(direction["heading_deg"], heading), ANGLE_DEG)
        checks.true("heading (deg)", place, 0.0 <= direction["heading_deg"] < 360.0, f"{direction['heading_deg']}")


def direction_name(direction):
    """The name of a direction, or None where nothing says it."""
    if isinstance(direction, str):
        return direction
    turn = direction.get("angle_deg")
    return f"angle_{turn:g}" if turn is not None and turn == math.floor(turn) and turn >= 0 else None
