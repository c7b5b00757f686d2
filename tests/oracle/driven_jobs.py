"""Random jobs that are to be driven: a small pitch, a machine, one operation."""

import json

from carried import NOTHING, make_load
from frame import Frame

LAT, LON = 55.3121, -3.7204  # where a job lies that has things on its ground: +x is north


def make_job(chance, **cast):
    """A random job, its settings, some of them given; its text is that of `text_of`."""
    job = {
        "length_m": chance.choice([32.0, 45.5, 60.0]),
        "width_m": chance.choice([20.0, 27.5, 34.0]),
        "run_off_m": chance.choice([2.5, 3.0, 4.0, 6.0, 12.0]),
        "radius_m": chance.choice([1.8, 2.4, 2.9]),
        "body": (chance.choice([1.2, 1.5]), chance.choice([1.6, 2.4]), chance.choice([0.6, 0.9])),
        "tool_m": chance.choice([1.5, 1.8, 2.4]),
        "reach_m": chance.choice([0.0, 1.0, 1.6]),
        "can_reverse": chance.random() < 0.4,
        "directions": chance.sample(["along", "across", "diagonal_left", "corner_right"], chance.choice([1, 1, 2])),
        "order": chance.choice(["shortest", "shortest", "neighbour", "lands"]),
        "on_pitch": chance.choice([1.0, 3.0]),
        "change_s": chance.choice([2.0, 4.0]),
        "effort": chance.choice(["quick", "normal"]),
        "entrance": chance.random() < 0.4,
    }
    job["carry"] = make_load(chance, job)
    job["radius_right_m"] = job["radius_m"]
    job["things"] = []
    return job | cast


def with_things(job, chance):
    """The job with goals, a tree and some posts on its ground."""
    half_x, half_y = job["length_m"] / 2, job["width_m"] / 2
    things = [
        ("goal", [(end * half_x, -3.66), (end * (half_x + 1.5), -3.66), (end * (half_x + 1.5), 3.66), (end * half_x, 3.66)])
        for end in (-1.0, 1.0)
    ]
    at = [(chance.uniform(-half_x, half_x), chance.choice([-1.0, 1.0]) * (half_y + 1.5)) for _ in range(2)]
    at += [(chance.uniform(-0.4, 0.4) * half_x, chance.uniform(-0.8, 0.8) * half_y)]
    return job | {"things": things + [("obstacle", [place]) for place in at]}


def before_a_change(job, chance):
    """A job of which this one is a change: of its width, its angles, its reach or its ground."""
    others = {
        "tool_m": job["tool_m"] + chance.choice([-0.13, 0.07, 0.2]),
        "directions": [*job["directions"][:-1], next(name for name in ("diagonal_right", "across") if name not in job["directions"])],
        "reach_m": job["reach_m"] + 0.3,
        "run_off_m": job["run_off_m"] + 0.5,
        "radius_m": job["radius_m"] + 0.2,
        "entrance": not job["entrance"],
        "things": [] if job["things"] else [("obstacle", [(0.2 * job["length_m"], 0.25 * job["width_m"])])],
    }
    key = chance.choice(sorted(others))
    return job | {key: others[key]}


def text_of(job):
    """The job file."""
    places = []
    if job["entrance"]:
        places.append('entrance = { at = "se", along_m = 4.0, out_m = 2.0 }')
    places += job["carry"]["places"]
    places = "[places]\n" + "\n".join(places) + "\n" if places else ""
    lies = f"centre = {{ lat_deg = {LAT}, lon_deg = {LON} }}\nbearing_deg = 0.0\n" if job["things"] else ""
    ground = '[ground]\nfile = "ground.geojson"\n' if job["things"] else ""
    width, ahead, behind = job["body"]
    return f"""name = "driven again"
[pitch]
length_m = {job["length_m"]}
width_m = {job["width_m"]}
run_off_m = {{ touch = {job["run_off_m"]}, goal = {job["run_off_m"]} }}
{lies}{ground}{places}[tractor.t]
turn_radius_m = {{ left = {job["radius_m"]}, right = {job["radius_right_m"]} }}
body = {{ width_m = {width}, ahead_m = {ahead}, behind_m = {behind} }}
change_s = {job["change_s"]}
[implement.i]
tractor = "t"
working_width_m = {job["tool_m"]}
speed_km_h = 6.0
reach_m = {job["reach_m"]}
can_reverse = {str(job["can_reverse"]).lower()}
{job["carry"]["implement"]}
[plan]
effort = "{job["effort"]}"
[[operation]]
id = "o"
task = "brush"
implement = "i"
directions = {json.dumps(job["directions"])}
order = "{job["order"]}"
turn_on_pitch_cost = {job["on_pitch"]}
{job["carry"]["operation"]}
"""


def write_job(job, folder):
    """Writes the job and its ground into a folder."""
    folder.mkdir()
    (folder / "job.toml").write_text(text_of(job), encoding="utf-8")
    if job["things"]:
        frame = Frame(LAT, LON, 0.0)
        features = []
        for role, places in job["things"]:
            lonlat = [[float(lon), float(lat)] for lon, lat in frame.to_globe(places)]
            shape = {"type": "Point", "coordinates": lonlat[0]}
            if len(lonlat) > 1:
                shape = {"type": "Polygon", "coordinates": [[*lonlat, lonlat[0]]]}
            features.append({"type": "Feature", "properties": {"role": role}, "geometry": shape})
        text = json.dumps({"type": "FeatureCollection", "features": features})
        (folder / "ground.geojson").write_text(text, encoding="utf-8")
    return folder
