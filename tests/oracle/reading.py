"""Reads a job folder as `docs/job-file.md` describes it, with the defaults
that it states. Nothing is checked here: the oracle only reads jobs that are
meant to be right."""

import json
import math
import tomllib
from dataclasses import dataclass
from pathlib import Path

import shapely
from shapely.geometry import shape as from_geojson

# The rest lift on the line.
RUN_OVER_TASKS = {"clean", "brush", "lute", "level", "sand", "drill", "broadcast", "feed", "roll", "mow"}
OVER_M = {"strip": 1.0, "vertical_cut": 1.0, "core": 0.5, "deep_tine": 0.5, "spike": 0.5}
CUTTING_TASKS = {"strip", "vertical_cut", "dig", "core", "deep_tine", "slit", "spike", "drill"}
WORD_ANGLES = {"along": 0.0, "across": 90.0, "diagonal_left": 45.0, "diagonal_right": -45.0}
CLEARANCE_M = {"obstacle": 0.5, "no_go": 0.5, "goal": 0.5, "stockpile": 0.5, "head": 0.75, "socket": 0.75, "lid": 0.75,
               "service": 1.0}


@dataclass
class Feature:
    """A feature of the ground file, in file coordinates."""

    number: int
    role: str
    properties: dict
    shape: object

    @property
    def clearance_m(self):
        """How far it is kept clear of."""
        if self.role == "service":
            return CLEARANCE_M["service"]
        return float(self.properties.get("clearance_m", CLEARANCE_M.get(self.role, 0.0)))


@dataclass
class Operation:
    """An operation with its implement and its defaults filled in."""

    id: str
    task: str
    width_m: float
    overlap_m: float
    speed_km_h: float
    corner_radius_m: float
    zones: list
    wear: list | None
    directions: list
    ends: str
    over_m: float
    start: object
    remainder: str
    rounds: int
    min_pass_m: float
    depth_mm: float | None
    people: int

    @property
    def cuts(self):
        """Whether the tool goes into the ground."""
        return self.task in CUTTING_TASKS


class Job:
    """A job folder as read."""

    def __init__(self, folder):
        folder = Path(folder)
        self.folder = folder if folder.is_dir() else folder.parent
        file = folder / "job.toml" if folder.is_dir() else folder
        self.toml = tomllib.loads(file.read_text(encoding="utf-8"))
        self.pitch = self.toml["pitch"]
        self.plan = self.toml.get("plan", {})
        self.ground = self.toml.get("ground", {})
        self.places = self.toml.get("places", {})
        self.crs = self.ground.get("crs")
        self.features = self._features()
        self.operations = [self._operation(raw) for raw in self.toml.get("operation", [])]

    def of_role(self, *roles):
        """The features of these roles, in the order of the file."""
        return [feature for feature in self.features if feature.role in roles]

    @property
    def goals_out(self):
        """Whether the goals are away."""
        return bool(self.plan.get("goals_out", False))

    @property
    def stops_share(self):
        """What is added for stops."""
        return float(self.plan.get("stops_share", 0.25))

    def _features(self):
        if "file" not in self.ground:
            return []
        text = (self.folder / self.ground["file"]).read_text(encoding="utf-8")
        features = []
        for number, raw in enumerate(json.loads(text)["features"], start=1):
            properties = raw.get("properties") or {}
            shape = shapely.force_2d(from_geojson(raw["geometry"]))
            features.append(Feature(number, properties.get("role"), properties, shape))
        return features

    def _operation(self, raw):
        implement = self.toml["implement"][raw["implement"]]
        task = raw["task"]
        ends = raw.get("ends", "run_over" if task in RUN_OVER_TASKS else "on_line")
        over_m = raw.get("over_m", 0.0 if ends == "run_over" else OVER_M.get(task, 0.0))
        crew = self.toml.get("crew", {})
        depth = raw.get("depth_mm")
        return Operation(
            id=raw["id"], task=task, ends=ends, over_m=float(over_m),
            width_m=float(implement["working_width_m"]), overlap_m=float(implement.get("overlap_m", 0.0)),
            speed_km_h=float(implement["speed_km_h"]), corner_radius_m=self._radius(implement),
            zones=raw.get("zones", ["all"]), wear=raw.get("wear"), directions=raw.get("directions", ["along"]),
            start=raw.get("start", "centred"), remainder=raw.get("remainder", "even"),
            rounds=int(raw.get("perimeter_rounds", 0)), min_pass_m=float(raw.get("min_pass_m", 0.05)),
            depth_mm=None if depth is None else float(depth), people=raw.get("people", crew.get("people", 1)))

    def _radius(self, implement):
        if "tractor" not in implement:
            return 0.0
        radius = self.toml["tractor"][implement["tractor"]]["turn_radius_m"]
        return float(max(radius.values()) if isinstance(radius, dict) else radius)


def angle_deg(direction, bearing_deg, length_m, width_m):
    """The angle of a direction, anticlockwise from +x."""
    if isinstance(direction, dict):
        return float(direction["angle_deg"]) if "angle_deg" in direction else bearing_deg - float(direction["heading_deg"])
    corner = math.degrees(math.atan2(width_m, length_m))
    return {**WORD_ANGLES, "corner_left": corner, "corner_right": -corner}[direction]


def heading_deg(direction, bearing_deg, length_m, width_m):
    """Its true heading at the pitch's centre, 0 to 360."""
    return (bearing_deg - angle_deg(direction, bearing_deg, length_m, width_m)) % 360.0
