"""Rebuilds every straight pass from the dump's pieces, blocked places and allowed ground by
the rules of spacing, ends and numbering, and compares lines, ends and numbers.

Only the shapes are the dump's; lines, ends and numbers are worked out here from the job's
own words.
"""

import math
from dataclasses import dataclass, field

import numpy as np
from shapely.geometry import MultiPolygon

import spans as sp
from reading import angle_deg
from shapes import from_multi, inset, mended, only_polygons, turned, unit

POSITION_M = 1e-6
HOLD_M = 0.02
CLEAR_M = 0.001
CLOSE_M = 0.01


@dataclass
class Piece:
    """A piece in the frame of the direction."""

    index: int
    zones: object
    target: object

    @property
    def low(self):
        """Its least offset to the left of the heading."""
        return self.zones.bounds[1]

    @property
    def high(self):
        """Its greatest offset."""
        return self.zones.bounds[3]


@dataclass
class Line:
    """A line with its parts: offset and intervals of t."""

    piece: Piece
    offset: float
    parts: list


@dataclass
class Setting:
    """What one direction of an operation works with, in its own frame."""

    operation: object
    angle_deg: float
    pieces: list
    blocked: list
    allowed: object
    fell_back: list = field(default_factory=list)


def line_count(extent, width, overlap):
    """How many lines cover an extent."""
    return max(1, math.ceil((extent - overlap) / (width - overlap) - 1e-9))


def evenly(low, high, n, width, side):
    """Offsets of n lines whose outer strip edges lie on the extent."""
    if n == 1:
        return [{"low": low + width / 2, "high": high - width / 2}.get(side, (low + high) / 2)], None
    spacing = (high - low - width) / (n - 1)
    return [low + width / 2 + k * spacing for k in range(n)], spacing


def in_full(low, high, n, width, overlap, side):
    """Offsets of n lines at the asked spacing; the surplus shared, or at the far side."""
    spacing = width - overlap
    if n == 1:
        return evenly(low, high, n, width, side)
    surplus = n * spacing + overlap - (high - low)
    first = low - {"low": 0.0, "high": surplus}.get(side, surplus / 2) + width / 2
    return [first + k * spacing for k in range(n)], spacing


def in_phase(low, high, width, overlap, at):
    """Offsets at the asked spacing, one of them (if prolonged) at `at`, until all is covered."""
    spacing = width - overlap
    first = math.floor((low + width / 2 - at) / spacing + 1e-9)
    last = max(first, math.ceil((high - width / 2 - at) / spacing - 1e-9))
    return [at + k * spacing for k in range(first, last + 1)], spacing if last > first else None


def start_side(start, lie, angle):
    """Towards which side of the heading a named line lies: `low`, `high` or None."""
    if not (isinstance(start, dict) and "from" in start):
        return None
    out = lie.outward(start["from"].split()[0])
    cos, sin = unit(angle)
    return "high" if -sin * out[0] + cos * out[1] > 0 else "low"


def start_phase(operation, angle):
    """The offset of a `line` start, where it is parallel to this direction."""
    start = operation.start
    if not (isinstance(start, dict) and "line" in start):
        return None
    cos, sin = unit(angle)
    (x0, y0), (x1, y1) = start["line"]
    step = (x1 - x0, y1 - y0)
    lean = math.degrees(math.asin((-sin * step[0] + cos * step[1]) / math.hypot(*step)))
    if abs(lean) > 0.01:
        return None
    at = -sin * (x0 + x1) / 2 + cos * (y0 + y1) / 2
    return at + (operation.width_m - operation.overlap_m) / 2 if start.get("between") else at


def taken_out(setting, offset, with_allowed=True):
    """The stretches where the strip would enter what is kept clear or leave allowed ground."""
    half = setting.operation.width_m / 2 - CLEAR_M
    low, high = offset - half, offset + half
    strip = sp.strip_box(low, high)
    taken = []
    for shape in setting.blocked:
        if shape.bounds[1] < high and shape.bounds[3] > low:
            taken.extend(sp.met(shape.intersection(strip)))
    if with_allowed:
        taken.extend(sp.met(strip.difference(setting.allowed)))
    return sp.merged(taken)


def base_stretches(setting, piece, offset):
    """Where the rule for ends has the tool down, before anything is taken out."""
    operation, half = setting.operation, setting.operation.width_m / 2
    if operation.ends == "on_line":
        found = sp.along_line(piece.target, offset)
    elif operation.ends == "run_over":
        found = sp.met(piece.target.intersection(sp.strip_box(offset - half, offset + half)))
    else:
        strip = sp.strip_box(offset - half + HOLD_M, offset + half - HOLD_M)
        found = sp.minus([(-sp.FAR_M, sp.FAR_M)], sp.met(strip.difference(piece.target)))
    closed = []
    for start, stop in found:
        if closed and start - closed[-1][1] < CLOSE_M:
            closed[-1] = (closed[-1][0], max(stop, closed[-1][1]))
        else:
            closed.append((start, stop))
    return closed


def parts_of_line(setting, piece, offset, with_allowed=True):
    """The parts of a line: stretches worked, in order along the heading."""
    base = base_stretches(setting, piece, offset)
    if not base:
        return []
    taken = taken_out(setting, offset, with_allowed)
    parts = sp.minus(base, taken)
    over = setting.operation.over_m
    if parts and over > 0:
        start, stop = parts[0][0], parts[-1][1]
        before = max([high for _, high in taken if high <= start + 1e-9], default=-math.inf)
        after = min([low for low, _ in taken if low >= stop - 1e-9], default=math.inf)
        parts[0] = (max(start - over, min(before, start)), parts[0][1])
        parts[-1] = (parts[-1][0], min(stop + over, max(after, stop)))
    return [part for part in parts if part[1] - part[0] >= setting.operation.min_pass_m]


def offsets_of(setting, piece, lie):
    """The offsets and the spacing of a piece's lines."""
    operation = setting.operation
    width, overlap = operation.width_m, operation.overlap_m
    phase = start_phase(operation, setting.angle_deg)
    if phase is not None:
        return in_phase(piece.low, piece.high, width, overlap, phase)
    side = start_side(operation.start, lie, setting.angle_deg)
    n = line_count(piece.high - piece.low, width, overlap)
    if operation.remainder == "even":
        return evenly(piece.low, piece.high, n, width, side)
    found = in_full(piece.low, piece.high, n, width, overlap, side)
    outer = {found[0][0], found[0][-1]}
    if any(not parts_of_line(setting, piece, at) and parts_of_line(setting, piece, at, with_allowed=False) for at in outer):
        setting.fell_back.append(piece.index)
        return evenly(piece.low, piece.high, n, width, side)
    return found


def setting_of(operation, dumped, dump, angle):
    """The dump's shapes in the frame of a direction; after rounds the pieces are drawn in,
    and each connected part that is left is a piece of its own."""
    pieces = []
    drawn_in = operation.rounds * (operation.width_m - operation.overlap_m)
    for piece in dumped["pieces"]:
        zones, target = mended(from_multi(piece["zones"])), mended(from_multi(piece["target"]))
        parts = [MultiPolygon([part]) for part in inset(zones, drawn_in).geoms] if drawn_in > 0 else [zones]
        for part in parts:
            mine = only_polygons(target.intersection(part)) if drawn_in > 0 else target
            pieces.append(Piece(len(pieces) + 1, turned(part, angle), turned(mine, angle)))
    blocked = [turned(mended(from_multi(one)), angle) for one in dumped["blocked"] if one]
    return Setting(operation, angle, pieces, blocked, turned(mended(from_multi(dump["allowed"])), angle))


def rebuilt_lines(setting, lie):
    """All lines that have a part, in the order of their numbers, and the widest spacing."""
    lines, widest = [], None
    order = sorted(setting.pieces, key=lambda piece: (round(piece.low * 100.0), piece.zones.bounds[0]))
    for piece in order:
        offsets, spacing = offsets_of(setting, piece, lie)
        if spacing is not None:
            widest = spacing if widest is None else max(widest, spacing)
        for offset in offsets:
            parts = parts_of_line(setting, piece, offset)
            if parts:
                lines.append(Line(piece, offset, parts))
    return lines, widest


def compare_lines(checks, ground, operation, dumped, dump):
    """Compares all straight directions of an operation."""
    straights = [direction for direction in dumped["directions"] if direction["angle_deg"] is not None]
    for given, direction in zip(operation.directions, straights):
        lie = ground.lie
        place = f"{operation.id} {direction['name']}"
        angle = angle_deg(given, dump["bearing_deg"], dump["pitch"]["length_m"], dump["pitch"]["width_m"])
        setting = setting_of(operation, dumped, dump, angle)
        lines, spacing = rebuilt_lines(setting, lie)
        if setting.fell_back:
            checks.note("`full` fell back to `even`")
        checks.near("spacing (m)", place, direction["spacing_m"], spacing, POSITION_M)
        _compare_parts(checks, place, operation, lines, direction["parts"], angle)


def _compare_parts(checks, place, operation, lines, parts, angle):
    want = [(number, index, line, part) for number, line in enumerate(lines, start=1)
            for index, part in enumerate(line.parts, start=1)]
    got_numbers = [(part["pass"], part["part"]) for part in parts]
    if not checks.same("pass and part numbers", place, got_numbers, [(number, index) for number, index, _, _ in want]):
        return
    cos, sin = unit(angle)
    pieces = {}
    for (number, index, line, (start, stop)), part in zip(want, parts):
        spot = f"{place} pass {number} part {index}"
        ends = np.asarray(part["line"], dtype=float)
        checks.near("strip width (m)", spot, part["width_m"], operation.width_m, 1e-12)
        if not checks.same("two ends", spot, len(ends), 2):
            continue
        expected = np.array([(start * cos - line.offset * sin, start * sin + line.offset * cos),
                             (stop * cos - line.offset * sin, stop * sin + line.offset * cos)])
        off = float(np.hypot(*(ends - expected).T).max())
        checks.small("end of a part (m)", spot, off, POSITION_M, f"{ends.tolist()} where {expected.tolist()} was expected;")
        pieces.setdefault(part["piece"], set()).add(line.piece.index)
    checks.true("piece of a pass", place, all(len(found) == 1 for found in pieces.values())
                and len({tuple(found) for found in pieces.values()}) == len(pieces), f"{pieces}")
