"""Checks hand work: lattices rebuilt hole by hole, coincident pairs by a k-d tree,
the assignment of turf blocks by another solver, lanes and leftovers as grounds."""

import json
import math

import numpy as np
import shapely
from scipy.optimize import linear_sum_assignment
from scipy.spatial import cKDTree
from shapely.geometry import Polygon

from shapes import difference_area, from_multi, from_poly, less, only_polygons, union
from written import Features, compare_form

EDGE_M = 1e-7
PLACE_M = 1e-6
AREA_M2 = 1e-6
REGIONS = ("all", "pitch", "grass", "run_off")
BY_HAND = {"dig": 10, "deep_tine": 10, "slit": 10, "core": 15, "strip": 20, "level": 20, "vertical_cut": 30, "spike": 30,
           "drill": 30, "other": 30, "clean": 60, "sand": 60, "lute": 60, "brush": 100, "broadcast": 150, "roll": 150,
           "mow": 150, "feed": 200, "spray": 200}
GOAL_AREA_WIDTH_M = 18.32


class Tool:
    """What keeps a fork or spade out, as for a task that cuts."""

    cuts = True

    def __init__(self, depth_mm):
        self.depth_mm = depth_mm


def compare_hand(checks, job, ground, dump, out_folder):
    """All checks of the hand work of one job."""
    asked = job.toml.get("hand", [])
    checks.same("hand work", "ids", [one["id"] for one in dump["hand"]], [one["id"] for one in asked])
    summary = json.loads((out_folder / "summary.json").read_text(encoding="utf-8"))
    crew = job.toml.get("crew", {})
    person_s = 0.0
    for raw, got, told in zip(asked, dump["hand"], summary["hand"]):
        people = raw.get("people", crew.get("people", 1))
        place = f"hand {raw['id']}"
        checks.same("hand work", f"{place} kind, people", (got["kind"], got["people"]), (raw["kind"], people))
        compare = {"board": _board, "blocks": _blocks, "lanes": _lanes, "rest": _rest}[raw["kind"]]
        time_s = compare(checks, job, ground, dump, raw, got["detail"], told, people, place)
        checks.near("hand time (s)", place, got["time_s"], time_s, 1e-6 * max(1.0, time_s))
        checks.near("hand time (s)", f"{place} written", told["time_s"], got["time_s"], 1e-6)
        person_s += got["time_s"] * people
    if asked:
        _totals(checks, crew, summary, person_s)
    _files(checks, dump, asked, out_folder)


def _totals(checks, crew, summary, hand_person_s):
    machines = sum(op["time"]["total_s"] * op["time"]["people"] for op in summary["operations"])
    want = machines + hand_person_s
    totals = summary["totals"]
    checks.near("hand totals", "person_s", totals["person_s"], want, 1e-5 * max(1.0, len(summary["operations"])))
    checks.near("hand totals", "cost", totals["cost"], want * crew.get("price_per_h", 0.0) / 3600.0, 1e-5)
    checks.near("hand totals", "total_s", totals["total_s"], sum(op["time"]["total_s"] for op in summary["operations"]), 1e-5)


# Grounds ---------------------------------------------------------------------------------------


def _grounds(ground, word):
    """The grounds of a zone word with their names: a region, a zone, or each zone of a kind."""
    region = ground.region(word)
    if region is not None:
        return [(word, region)]
    return [(zone.name, zone.shape) for zone in ground.zones if word in (zone.name, zone.kind)]


def _kept_out(ground, dump, depth_mm):
    """What no tine may enter, as the dump has it (which other checks hold against the job)."""
    tool = Tool(depth_mm)
    return [from_multi(dumped["kept_clear"]) for kept, dumped in zip(_in_file_order(ground, dump), dump["kept"])
            if kept is not None and ground._blocks(kept, tool)]


def _in_file_order(ground, dump):
    """For each kept thing of the dump the rebuilt one: that of its role which fits it best."""
    left = list(ground.kept)
    found = []
    for dumped in dump["kept"]:
        shape = from_multi(dumped["kept_clear"])
        role = "hole" if dumped["label"].startswith("hole in ") else dumped["role"]
        fitting = [(difference_area(kept.kept_clear, shape), index) for index, kept in enumerate(left) if kept.role == role]
        found.append(left.pop(min(fitting)[1]) if fitting else None)
    return found


def _same_ground(checks, kind, place, got, want):
    checks.small(kind, place, difference_area(got, want), 1e-7 * (got.length + want.length) + 1e-9)


# The board -------------------------------------------------------------------------------------


def _board(checks, job, ground, dump, raw, got, told, people, place):
    fork, width = raw["fork"], raw["board"]["width_m"]
    kept = _kept_out(ground, dump, fork["depth_mm"])
    # By name: a kind names its zones in no order that is told.
    grounds = sorted(((name, shape) for name, shape in _grounds(ground, raw["zone"]) if shape.area > 0), key=lambda one: one[0])
    got = {**got, "grounds": sorted(got["grounds"], key=lambda one: one["name"])}
    checks.same("board grounds", place, [one["name"] for one in got["grounds"]], [name for name, _ in grounds])
    stages = int(raw.get("stages", 2))
    holes, kept_off, forkings, coincident, second, area = 0, 0, 0, 0, 0, 0.0
    for (name, want), one in zip(grounds, got["grounds"]):
        shape = from_multi(one["ground"])
        _same_ground(checks, "board ground", f"{place} {name}", shape, want)
        checks.same("board stages", f"{place} {name}", [stage["name"] for stage in one["stages"]], ["along", "across"][:stages])
        area += shape.area
        along, ahead = _axes(shape, raw.get("angle_deg", 90.0))
        axes = [(along, ahead), (ahead, np.array([ahead[1], -ahead[0]]))]
        found = []
        for stage, (along, ahead) in zip(one["stages"], axes):
            spot = f"{place} {name} {stage['name']}"
            found.append(_stage(checks, spot, stage, shape, kept, along, ahead, fork, width, people, raw["board"]["length_m"]))
            row_holes = [len(row["holes"]) for row in stage["rows"]]
            holes += sum(row_holes)
            kept_off += sum(len(row["kept_off"]) for row in stage["rows"])
            forkings += sum(math.ceil(count / fork["tines"]) for count in row_holes)
        if stages == 2 and all(len(one) for one in found):
            second += len(found[1])
            coincident += _pairs(found[0], found[1], raw.get("coincident_tines", 1.5) * fork["tine_diameter_mm"] / 1000.0)
    checks.same("coincident holes", place, got["coincident"], coincident)
    checks.same("forkings", place, got["forkings"], forkings)
    checks.same("summary hand", f"{place} counts", (told["holes"], told["kept_off"], told["coincident"]), (holes, kept_off, coincident))
    checks.near("summary hand", f"{place} area", told["area_m2"], area, 1e-5)
    if area > 0:
        per_m2, hole_m2 = holes / area, math.pi / 4 * (fork["tine_diameter_mm"] / 1000.0) ** 2
        checks.near("summary hand", f"{place} holes a square metre", told["holes_per_m2"], per_m2, 1e-5 * max(1.0, per_m2))
        checks.near("summary hand", f"{place} open area", told["open_area_pct"], 100 * per_m2 * hole_m2, 2e-6)
    limit, share = raw.get("coincident_share", 0.1), coincident / max(1, second)
    checks.true("another step", place, share > limit or got["other_step_mm"] is None, "named though none is needed")
    if got["other_step_mm"] is not None:
        _other_step(checks, place, raw, got, kept, limit)
    return forkings * raw.get("s_per_forking", 12.0) / people


def _axes(shape, angle_deg):
    """The way of the rows and the way the board moves on: from the ground's own end inwards."""
    quarter = angle_deg % 360.0
    exact = {0.0: (1, 0), 90.0: (0, 1), 180.0: (-1, 0), 270.0: (0, -1)}
    turned = math.radians(quarter)
    unit = np.array(exact.get(quarter, (math.cos(turned), math.sin(turned))), dtype=float)
    ahead = np.array([-unit[1], unit[0]])
    low_x, low_y, high_x, high_y = shape.bounds
    middle = (low_x + high_x, low_y + high_y)
    axis = 0 if abs(ahead[0]) > 1e-9 else 1
    if (ahead[axis] > 0) == (middle[axis] >= 0):
        ahead = -ahead
    return np.array([ahead[1], -ahead[0]]), ahead


def _ladder(low, high, spacing, edge):
    """Centred ordinates: floor((L - 2 edge) / spacing) + 1 of them."""
    edge = spacing / 2 if edge is None else edge
    count = max(0, math.floor((high - low - 2 * edge) / spacing + 1e-9) + 1)
    return (low + high) / 2 + spacing * (np.arange(count) - (count - 1) / 2)


def _lattice(shape, along, ahead, fork, step_mm):
    """All places of the lattice of a ground's extents, by row: coordinates along, and ahead."""
    at = shapely.get_coordinates(shape)
    edge = None if "edge_mm" not in fork else fork["edge_mm"] / 1000.0
    u, v = at @ along, at @ ahead
    columns = _ladder(u.min(), u.max(), fork["tine_spacing_mm"] / 1000.0, edge)
    rows = _ladder(v.min(), v.max(), step_mm / 1000.0, edge)
    return columns, rows, (u.min(), u.max(), v.min(), v.max())


def _sorted_out(shape, kept, places):
    """Which places are holes and which are kept off; those too near a boundary to say are `None`."""
    points = shapely.points(places)
    inside, edge = shapely.intersects(shape, points), shapely.distance(shape.boundary, points)
    is_in = np.where(edge <= EDGE_M, 2, inside.astype(int))
    is_off = np.zeros(len(points), dtype=int)
    for one in kept:
        touched, edge = shapely.intersects(one, points), shapely.distance(one.boundary, points)
        is_off = np.maximum(is_off, np.where(touched & (edge > EDGE_M), 3, np.where(edge <= EDGE_M, 2, 0)))
    return is_in, is_off


def _stage(checks, spot, stage, shape, kept, along, ahead, fork, width, people, length):
    columns, rows, (u0, u1, v0, v1) = _lattice(shape, along, ahead, fork, fork["step_mm"])
    checks.same("rows of a lattice", spot, len(stage["rows"]), len(rows))
    boards = max(0, math.ceil((v1 - v0) / width - 1e-9))
    checks.same("board places", spot, (len(stage["boards"]), stage["lengths"]),
                (boards, max(0, math.ceil((u1 - u0) / length - 1e-9))))
    for number, board in enumerate(stage["boards"]):
        at = np.array(board[0])
        got = sorted([(at @ ahead).min(), (at @ ahead).max()]) + sorted([(at @ along).min(), (at @ along).max()])
        want = [v0 + (number - 1) * width, v0 + number * width, u0, u1]
        checks.small("board (m)", f"{spot} place {number + 1}", max(abs(a - b) for a, b in zip(got, want)), 1e-9)
    if stage["boards"]:
        first = from_poly(stage["boards"][0]).buffer(1e-9)
        checks.same("people on the board", spot, len(stage["starts"]), people)
        for start in stage["starts"]:
            checks.true("people on the board", spot, first.intersects(shapely.Point(start)), f"{start} lies beside it")
    allowed = shape.buffer(1e-8)
    holes = []
    for number, (ahead_m, row) in enumerate(zip(rows, stage["rows"])):
        places = columns[:, None] * along + ahead_m * ahead
        is_in, is_off = _sorted_out(shape, kept, places)
        got = {_near(columns, np.array(at) @ along): (1, at) for at in row["holes"]}
        got |= {_near(columns, np.array(at) @ along): (0, at) for at in row["kept_off"]}
        checks.same("holes of a row", f"{spot} row {number + 1} each in one place", len(got), len(row["holes"]) + len(row["kept_off"]))
        for index in range(len(columns)):
            found, at = got.get(index, (None, None))
            if is_in[index] == 2 or (is_in[index] == 1 and is_off[index] == 2):
                checks.note("a hole as good as on a boundary: either way is right")
            else:
                want = None if is_in[index] == 0 else 0 if is_off[index] == 3 else 1
                checks.same("holes of a row", f"{spot} row {number + 1} hole {index + 1}", found, want)
            if at is not None:
                checks.small("place of a hole (m)", f"{spot} row {number + 1}", float(np.hypot(*(np.array(at) - places[index]))), PLACE_M)
        distance = (ahead_m - v0) / width
        if abs(distance - round(distance)) > 1e-6:
            checks.same("board of a row", f"{spot} row {number + 1}", row["board"], min(boards, max(1, math.ceil(distance))))
        else:
            checks.true("board of a row", f"{spot} row {number + 1}", 1 <= row["board"] <= boards, "no place of the board")
        holes.extend(row["holes"])
    if holes:
        points = shapely.points(holes)
        checks.true("holes inside", spot, bool(np.all(shapely.intersects(allowed, points))), "a hole lies outside")
        for one in kept:
            checks.true("holes off what is kept clear", spot, not np.any(shapely.intersects(one.buffer(-1e-8), points)), "a hole lies within")
    return np.array(holes)


def _near(columns, at):
    return int(np.abs(columns - at).argmin()) if len(columns) else -1


def _pairs(one, other, within_m):
    """Pairs nearer than a distance; a pair at that very distance (to 1e-9 m) is none."""
    return int(cKDTree(one).count_neighbors(cKDTree(other), within_m - 1e-9)) if within_m > 1e-9 else 0


def _other_step(checks, place, raw, got, kept, limit):
    """The step that is named must keep its promise, hole by hole."""
    fork, step_mm = raw["fork"], got["other_step_mm"]
    pairs, second = 0, 0
    for one in got["grounds"]:
        shape = from_multi(one["ground"])
        along, ahead = _axes(shape, raw.get("angle_deg", 90.0))
        stages = []
        for u, v in ((along, ahead), (ahead, np.array([ahead[1], -ahead[0]]))):
            columns, rows, _ = _lattice(shape, u, v, fork, step_mm)
            places = (rows[:, None, None] * v + columns[None, :, None] * u).reshape(-1, 2)
            is_in, is_off = _sorted_out(shape, kept, places) if len(places) else (np.zeros(0), np.zeros(0))
            stages.append(places[(is_in > 0) & (is_off < 3)])
        if all(len(stage) for stage in stages):
            pairs += _pairs(stages[0], stages[1], raw.get("coincident_tines", 1.5) * fork["tine_diameter_mm"] / 1000.0)
        second += len(stages[1])
    checks.true("another step", place, pairs / max(1, second) <= limit + 5.0 / max(1, second), f"{step_mm} mm leaves {pairs} of {second}")
    checks.true("another step", f"{place} near", abs(step_mm - fork["step_mm"]) <= fork["step_mm"] / 4, f"{step_mm} mm")


# Turf blocks -----------------------------------------------------------------------------------


def _blocks(checks, job, ground, dump, raw, got, told, people, place):
    block = raw["block"]
    side, depth = block["side_m"], block["depth_mm"]
    kept = _kept_out(ground, dump, depth)
    worn = [from_poly(swap["worn"]) for swap in got["swaps"]]
    donors = [from_poly(swap["donor"]) for swap in got["swaps"]]
    without = [from_poly(one) for one in got["without_donor"]]
    kept_off = [from_poly(one) for one in got["kept_off"]]
    every = worn + donors + without + kept_off
    for one in every:
        checks.near("block area (m2)", place, one.area, side * side, 1e-9)
    for point in block.get("worn", []):
        held = sum(one.buffer(1e-9).intersects(shapely.Point(point)) for one in worn + without + kept_off)
        checks.true("worn places covered", f"{place} {point}", held >= 1, "no block holds it")
    if "worn_area" in block:
        drawn = Polygon(block["worn_area"])
        left = drawn.difference(union(worn + without + kept_off)).area
        checks.small("worn places covered", f"{place} outline", left, 1e-7 * drawn.length)
    tree = shapely.STRtree(every) if every else None
    for index, one in enumerate(every):
        near = [other for other in tree.query(one) if other != index]
        shared = sum(one.intersection(every[other]).area for other in near)
        checks.small("blocks apart (m2)", place, shared, 1e-9)
        if not got["donors_touch"] and one in donors:
            gap = min((one.distance(other) for other in donors if other is not one), default=math.inf)
            checks.true("donors do not touch", place, gap > side * 0.9, f"{gap} m apart")
    for one in worn + donors + without:
        meets = sum(one.intersection(thing).area for thing in kept if one.intersects(thing))
        checks.small("blocks off what is kept clear", place, meets, 1e-9)
    for one in kept_off:
        checks.true("blocks off what is kept clear", f"{place} kept off", any(one.intersects(thing) for thing in kept), "for no reason")
    strip = from_multi(got["donor_ground"])
    _same_ground(checks, "donor ground", place, strip, _strip(ground, block))
    for one in donors:
        checks.small("donors on their ground", place, one.difference(strip.buffer(1e-8)).area, 1e-9)
    carry = _assignment(checks, place, got, strip, [*kept, *kept_off], worn, without, donors, side)
    checks.near("block volume (m3)", place, got["volume_m3"], sum(one.area for one in worn) * depth / 1000.0, 1e-9)
    checks.near("block volume (m3)", f"{place} donors", sum(one.area for one in donors), sum(one.area for one in worn), 1e-9)
    checks.same("summary hand", f"{place} blocks", (told["blocks"], told["without_donor"], told["kept_off"]),
                (len(worn), len(without), len(kept_off)))
    checks.near("summary hand", f"{place} carry", told["carry_m"], carry, 1e-6 * max(1, len(worn)))
    load = max(1, math.floor(block.get("barrow_kg", 60.0) / (side * side * depth / 1000.0 * 1900.0) + 1e-9))
    trips = math.ceil(len(worn) / load)
    checks.same("barrow trips", place, got["trips"], trips)
    return (len(worn) * raw.get("s_per_block", 240.0) + 2 * trips * carry / max(1, len(worn))) / people


def _strip(ground, block):
    """Where donors come from: the named ground, or the run-off behind the nearest goal."""
    if "donors" in block:
        return union([shape for _, shape in _grounds(ground, block["donors"])])
    x = sum(at[0] for at in [*block.get("worn", []), *block.get("worn_area", [])])
    sign, half = (1.0 if x >= 0 else -1.0), GOAL_AREA_WIDTH_M / 2
    line = sign * ground.lie.length_m / 2
    behind = shapely.box(min(line, sign * 1e3), -half, max(line, sign * 1e3), half)
    return only_polygons(only_polygons(ground.grass.intersection(behind)).difference(ground.outline))


def _candidates(strip, kept, worn, side, gap):
    """All squares of the lattice on the strip that may give."""
    if strip.is_empty:
        return []
    low_x, low_y, high_x, high_y = strip.bounds
    step = gap * side
    count = [max(0, math.floor((length - side) / step + 1e-9) + 1) for length in (high_x - low_x, high_y - low_y)]
    first = [low + ((length - side) - step * (n - 1)) / 2
             for low, length, n in zip((low_x, low_y), (high_x - low_x, high_y - low_y), count)]
    inner = strip.buffer(1e-8)
    found = []
    for i in range(count[0]):
        for j in range(count[1]):
            at = (first[0] + step * i, first[1] + step * j)
            one = shapely.box(*at, at[0] + side, at[1] + side)
            if inner.contains(one) and not any(one.intersection(other).area > 1e-8 for other in [*kept, *worn] if one.intersects(other)):
                found.append(one)
    return found


def _assignment(checks, place, got, strip, kept, worn, without, donors, side):
    all_worn = worn + without
    candidates = _candidates(strip, kept, all_worn, side, 2.0)
    if len(candidates) < len(all_worn):
        dense = _candidates(strip, kept, all_worn, side, 1.0)
        if len(dense) > len(candidates):
            candidates = dense
    middle = [np.array(one.centroid.coords[0]) for one in worn]
    ways = [float(np.hypot(*(a - np.array(b.centroid.coords[0])))) for a, b in zip(middle, donors)]
    for swap, way in zip(got["swaps"], ways):
        checks.near("carrying (m)", place, swap["carry_m"], way, 1e-9)
    least = 0.0
    if all_worn and candidates:
        a = np.array([one.centroid.coords[0] for one in all_worn])
        b = np.array([one.centroid.coords[0] for one in candidates])
        costs = np.hypot(*(a[:, None, :] - b[None, :, :]).transpose(2, 0, 1))
        least = float(costs[linear_sum_assignment(costs)].sum())
    checks.same("blocks swapped", place, len(worn), min(len(all_worn), len(candidates)))
    checks.near("least carrying (m)", place, got["carry_m"], least, 1e-6 * max(1, len(worn)))
    return sum(ways)


# Lanes -----------------------------------------------------------------------------------------


def _things(ground):
    """Obstacles, no-go places, holes and goals themselves."""
    return [only_polygons(kept.shape) for kept in ground.kept if kept.role in ("obstacle", "no_go", "goal", "hole")]


def _lanes(checks, job, ground, dump, raw, got, told, people, place):
    lane = raw.get("lane", {})
    want = less(union([shape for _, shape in _grounds(ground, raw["zone"])]), _things(ground))
    shape = from_multi(got["ground"])
    _same_ground(checks, "lanes ground", place, shape, want)
    shapes = [from_multi(one["shape"]) for one in got["lanes"]]
    sum_m2 = sum(one.area for one in shapes)
    tolerance = 1e-7 * (shape.length + sum(one.length for one in shapes)) + 1e-9
    checks.near("lanes make up the ground (m2)", place, sum_m2, shape.area, tolerance)
    if shapes:
        checks.small("lanes make up the ground (m2)", f"{place} united", difference_area(union(shapes), shape), tolerance)
    angle = math.radians(raw.get("angle_deg", 0.0))
    right = np.array([math.sin(angle), -math.cos(angle)])
    width = lane.get("width_m", 2.5)
    total_s = shape.area / raw.get("m2_per_person_h", 700.0) * 3600.0
    loads = [0.0] * people
    weighed = [(1.0, shape)]
    if lane.get("balance", "damage") == "damage":
        weighed = [(zone["wear"], from_multi(zone["shape"])) for zone in dump["zones"]]
        weighed.append((1.0, only_polygons(shape.difference(ground.outline))))
    whole = sum(weight * one.intersection(shape).area for weight, one in weighed)
    for number, (one, lane_shape) in enumerate(zip(got["lanes"], shapes), start=1):
        checks.same("lane numbers", place, one["lane"], number)
        checks.near("lane area (m2)", f"{place} {number}", one["area_m2"], lane_shape.area, 1e-9)
        across = shapely.get_coordinates(lane_shape) @ right
        checks.true("lane width", f"{place} {number}", np.ptp(across) <= width + 1e-6, f"{np.ptp(across)} m")
        load = sum(weight * part.intersection(lane_shape).area for weight, part in weighed) / whole
        checks.near("lane load (share)", f"{place} {number}", one["load_share"], load, 1e-8)
        checks.near("lane time (s)", f"{place} {number}", one["time_s"], one["load_share"] * total_s, 1e-6 * total_s)
        loads[one["person"] - 1] += one["load_share"]
    if shapes:
        for load in loads:
            checks.near("equal shares", place, load, 1.0 / people, 1e-7)
    minutes = lane.get("minutes")
    waits = sum(one["area_m2"] for one in got["lanes"] if one["day"] is None)
    checks.near("lanes that wait (m2)", place, got["waits_m2"], waits, 1e-9)
    if minutes is None:
        checks.same("lanes that wait (m2)", place, waits, 0.0 if waits == 0 else None)
    else:
        for person in range(1, people + 1):
            own = [one for one in got["lanes"] if one["person"] == person]
            used = [sum(one["time_s"] for one in own if one["day"] == day) for day in range(1, lane.get("days", 1) + 1)]
            checks.true("lanes fit the minutes", f"{place} person {person}", max(used) <= minutes * 60 * (1 + 1e-6), f"{used}")
            for one in own:
                if one["day"] is None:
                    room = minutes * 60 - min(used)
                    checks.true("no lane waits that fits", f"{place} person {person}", one["time_s"] > room * (1 - 1e-6) - 1e-6, f"{room} s are left")
    checks.same("summary hand", f"{place} lanes", told["lanes"], len(shapes))
    checks.near("summary hand", f"{place} area", told["area_m2"], shape.area, 1e-5)
    return total_s / people


# What a machine leaves -------------------------------------------------------------------------


def _rest(checks, job, ground, dump, raw, got, told, people, place):
    index = [one.id for one in job.operations].index(raw["operation"])
    operation, dumped = job.operations[index], dump["operations"][index]
    zones = union([from_multi(piece["zones"]) for piece in dumped["pieces"]])
    target = from_multi(dumped["target"])
    kept = less(only_polygons(zones.difference(target)), _things(ground))
    tolerance = 1e-7 * (zones.length + target.length) + AREA_M2
    checks.near("kept-clear grass (m2)", place, got["kept_clear_m2"], kept.area, tolerance)
    checks.near("missed by all (m2)", place, got["missed_m2"], max(0.0, dumped["worked_times_m2"][0]), 1e-9)
    want_m2 = dumped["worked_times_m2"][0] + dumped["kept_clear_m2"] - sum_of_things(zones, ground)
    checks.near("left by hand (m2)", place, told["area_m2"], want_m2, tolerance)
    shapes = {"missed": [], "kept_clear": []}
    for one in got["places"]:
        shape = from_multi(one["shape"])
        if not shape.is_valid:
            # Outlines of united places may cross themselves by the hair that a boolean is good to.
            sound = only_polygons(shapely.make_valid(shape))
            checks.small("places are sound but for hairs (m2)", place, abs(sound.area - shape.area), 1e-7 * shape.length)
            shape = sound
        shapes[one["why"]].append(shape)
    _same_ground(checks, "kept-clear grass shape", place, union(shapes["kept_clear"]), kept)
    strips = [strip for direction in dumped["directions"] for strip in _strips(direction)]
    worked = union([only_polygons(strip.intersection(target)) for strip in strips if strip.intersects(target)])
    missed = union(shapes["missed"])
    shared = worked.intersection(missed).area
    checks.small("worked and left are apart (m2)", place, shared, 1e-7 * (missed.length + 1.0))
    crumbs = got["missed_m2"] - missed.area
    length = target.length + missed.length + (shapely.length(strips).sum() if strips else 0.0)
    checks.near("worked + left = target (m2)", place, worked.area + missed.area + crumbs, target.area, 1e-8 * length + AREA_M2)
    rate = raw.get("m2_per_person_h", BY_HAND[operation.task])
    return (got["missed_m2"] + got["kept_clear_m2"]) / rate * 3600.0 / people


def sum_of_things(zones, ground):
    """The area of the things themselves within the zones."""
    things = union(_things(ground))
    return zones.intersection(things).area if not things.is_empty else 0.0


def _strips(direction):
    """The strips of a direction: a rectangle a part, a round widened with mitred joins."""
    strips = []
    for part in direction["parts"]:
        line, half = shapely.LineString(part["line"]), part["width_m"] / 2
        if len(part["line"]) == 2:
            (x0, y0), (x1, y1) = part["line"]
            length = math.hypot(x1 - x0, y1 - y0)
            aside = np.array([-(y1 - y0), x1 - x0]) / length * half
            strips.append(Polygon([np.array(at) + sign * aside for at, sign in
                                   (((x0, y0), 1), ((x1, y1), 1), ((x1, y1), -1), ((x0, y0), -1))]))
        else:
            closed = part["line"][0] == part["line"][-1]
            widened = shapely.Polygon(part["line"]).exterior if closed else line
            strips.append(only_polygons(widened.buffer(half, cap_style="flat", join_style="mitre", mitre_limit=100.0)))
    return strips


# The file --------------------------------------------------------------------------------------


def _files(checks, dump, asked, out_folder):
    """`hand.geojson` holds what the dump holds, in its order."""
    file = out_folder / "hand.geojson"
    wanted = bool(asked) and dump["frame"] is not None
    if not checks.same("hand file", "there", file.is_file(), wanted) or not wanted:
        return
    features = Features(file)
    compare_form(checks, "hand.geojson", features)
    count = {}
    for properties, shape, _ in features.features:
        key = (properties["hand"], properties["kind"], properties.get("stage"))
        got = len(shape.geoms) if properties["kind"] == "board" else 1
        count[key] = count.get(key, 0) + got
    for one in dump["hand"]:
        detail, kind = one["detail"], one["kind"]
        if kind == "board":
            for index in range(max((len(ground["stages"]) for ground in detail["grounds"]), default=0)):
                holes = sum(len(row["holes"]) for ground in detail["grounds"] for row in ground["stages"][index]["rows"])
                checks.same("hand file", f"{one['id']} stage {index + 1}", count.get((one["id"], kind, index + 1), 0), holes)
        elif kind == "blocks":
            blocks = 2 * len(detail["swaps"]) + len(detail["without_donor"]) + len(detail["kept_off"])
            checks.same("hand file", one["id"], count.get((one["id"], kind, None), 0), blocks)
        elif kind == "lanes":
            checks.same("hand file", one["id"], count.get((one["id"], kind, None), 0),
                        sum(lane["area_m2"] >= 2e-4 for lane in detail["lanes"]))
