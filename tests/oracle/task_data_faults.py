"""Faults to plant in `TASKDATA.XML`, each with the kinds of check that must notice it.

Each function takes the root element and changes it; `plant` writes the file anew.
"""

from copy import deepcopy
from xml.etree import ElementTree

from task_data import PATH


def second_line(root):
    """A guidance pattern has two line strings."""
    pattern = root.find(".//GPN")
    pattern.append(deepcopy(pattern.find("LSG")))


def no_line(root):
    """A guidance pattern has no line string."""
    pattern = root.find(".//GPN")
    pattern.remove(pattern.find("LSG"))


def one_point(root):
    """An A-B line has one point."""
    line = root.find(".//GPN/LSG")
    line.remove(line.findall("PNT")[1])


def empty_group(root):
    """A guidance group has no pattern."""
    group = root.findall(".//GGP")[-1]
    for pattern in group.findall("GPN"):
        group.remove(pattern)


def field_unknown(root):
    """A task names a field that is not there."""
    root.find("TSK").set("E", "PFD9")


def zone_unknown(root):
    """A task's default treatment zone is not there."""
    next(task for task in root.findall("TSK") if task.find("TZN") is not None).set("H", "7")


def id_twice(root):
    """Two patterns have one id."""
    one, other = root.findall(".//GPN")[:2]
    other.set("A", one.get("A"))


def name_twice(root):
    """Two lines have one name."""
    one, other = root.findall(".//GPN")[:2]
    other.set("B", one.get("B"))


def numbers_mixed_up(root):
    """Two lines have each other's numbers."""
    one, other = root.findall(".//GPN")[:2]
    first, second = one.get("B"), other.get("B")
    one.set("B", second)
    other.set("B", first)


def name_too_long(root):
    """A name has 33 letters."""
    root.find("PFD").set("C", "x" * 33)


def grid_heading(root):
    """A heading is that of a grid two degrees off north."""
    pattern = root.find(".//GPN")
    pattern.set("G", f"{(float(pattern.get('G')) + 2.2) % 360.0:.6f}")


def driven_backwards(root):
    """A heading points the other way."""
    pattern = root.find(".//GPN")
    pattern.set("G", f"{(float(pattern.get('G')) + 180.0) % 360.0:.6f}")


def point_moved(root):
    """A line ends 1e-8 degrees, about a millimetre, off."""
    point = root.findall(".//GPN/LSG/PNT")[1]
    point.set("C", f"{float(point.get('C')) + 1e-8:.9f}")


def latitude_first(root):
    """Latitude and longitude of a line are swapped."""
    for point in root.findall(".//GPN")[3].iter("PNT"):
        north, east = point.get("C"), point.get("D")
        point.set("C", east)
        point.set("D", north)


def line_forgotten(root):
    """A line is not written."""
    group = root.find(".//GGP")
    group.remove(group.findall("GPN")[2])


def obstacle_forgotten(root):
    """An obstacle is not written."""
    field = root.find("PFD")
    field.remove(next(one for one in field.findall("PLN") if one.get("A") == "6"))


def head_forgotten(root):
    """A sprinkler head is not written."""
    field = root.find("PFD")
    field.remove(next(one for one in field.findall("PNT") if one.get("B") == "head"))


def _point(root, name):
    return next(one for one in root.findall("PFD/PNT") if one.get("B") == name)


def entrance_moved(root):
    """The way in lies 1e-8 degrees, about a millimetre, off."""
    point = _point(root, "Entrance")
    point.set("C", f"{float(point.get('C')) + 1e-8:.9f}")


def wire_moved(root):
    """An obstacle that has no ground lies 1e-8 degrees off."""
    point = _point(root, "wire")
    point.set("D", f"{float(point.get('D')) + 2e-8:.9f}")


def head_twice(root):
    """Two sprinkler heads are written in one place."""
    one, other = [point for point in root.findall("PFD/PNT") if point.get("B") == "head"]
    for key in ("C", "D"):
        other.set(key, one.get(key))


def place_of_nothing(root):
    """A place is written that the job does not know."""
    field, point = root.find("PFD"), _point(root, "wire")
    field.insert(list(field).index(point), deepcopy(point))


def obstacle_twice(root):
    """An obstacle is written twice."""
    field = root.find("PFD")
    obstacle = next(one for one in field.findall("PLN") if one.get("A") == "6")
    field.insert(list(field).index(obstacle), deepcopy(obstacle))


def obstacle_renamed(root):
    """An obstacle has another name."""
    next(one for one in root.findall("PFD/PLN") if one.get("A") == "6").set("B", "lamp")


def zone_in_the_field(root):
    """Ground is written in the field that is neither its outline nor kept clear."""
    next(one for one in root.findall("PFD/PLN") if one.get("A") == "6").set("A", "2")


def second_field(root):
    """A field is written that the job does not know."""
    field = deepcopy(root.find("PFD"))
    field.set("A", "PFD2")
    for child in [one for one in field if one.tag == "GGP"]:
        field.remove(child)
    root.insert(1, field)


def product_of_nobody(root):
    """A product is written that no operation names."""
    root.insert(1, ElementTree.Element("PDT", {"A": "PDT9", "B": "salt"}))


def ring_open(root):
    """The field's ring is not closed."""
    ring = root.find("PFD/PLN/LSG")
    ring.remove(ring.findall("PNT")[-1])


def area_off(root):
    """The field's area is off by a square metre."""
    field = root.find("PFD")
    field.set("D", str(int(field.get("D")) + 1))


def out_of_order(root):
    """Places stand after the guidance groups."""
    field = root.find("PFD")
    point = field.find("PNT")
    field.remove(point)
    field.append(point)


def rate_tenfold(root):
    """A rate is ten times what was asked."""
    value = root.find(".//PDV")
    value.set("B", str(10 * int(value.get("B"))))


def version_mixed_up(root):
    """A file with guidance groups says version 3."""
    root.set("VersionMajor", "3")


FAULTS = [(second_line, {"task data lines"}), (no_line, {"task data lines"}), (one_point, {"task data lines"}),
          (empty_group, {"task data groups"}), (field_unknown, {"task data references"}), (zone_unknown, {"task data references"}),
          (id_twice, {"task data ids"}), (name_twice, {"task data names"}), (numbers_mixed_up, {"task data names"}),
          (name_too_long, {"task data form"}), (grid_heading, {"task data azimuth (deg)"}),
          (driven_backwards, {"task data azimuth (deg)"}), (point_moved, {"task data places (deg)"}),
          (latitude_first, {"task data places (deg)"}), (line_forgotten, {"task data lines"}),
          (obstacle_forgotten, {"task data obstacles"}), (head_forgotten, {"task data points"}),
          (entrance_moved, {"task data points (m)"}), (wire_moved, {"task data points (m)"}), (head_twice, {"task data points (m)"}),
          (place_of_nothing, {"task data points"}), (obstacle_twice, {"task data obstacles"}),
          (obstacle_renamed, {"task data obstacles"}), (zone_in_the_field, {"task data field"}), (second_field, {"task data field"}),
          (product_of_nobody, {"task data rates"}), (ring_open, {"task data polygons"}),
          (area_off, {"task data field area (m2)"}), (out_of_order, {"task data form"}),
          (rate_tenfold, {"task data rates (mg/m2)"}), (version_mixed_up, {"task data form"})]


def plant(fault, folder):
    """Writes the task data of a folder with a fault in it."""
    file = folder / PATH
    tree = ElementTree.parse(file)
    fault(tree.getroot())
    tree.write(file, encoding="UTF-8", xml_declaration=True)
