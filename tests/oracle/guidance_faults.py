"""Faults planted in guidance files, each with the checks that must notice it: KML and GPX, the
shapefiles, the tape file. Each takes the folder of a plan and changes a file."""

import re
import struct


def _rewrite(folder, name, pattern, change):
    """Changes the first place of a text file that a pattern fits."""
    file = folder / "guidance" / name
    text, changed = re.subn(pattern, change, file.read_text(encoding="utf-8"), count=1, flags=re.DOTALL)
    if not changed:
        raise LookupError(f"{name}: nothing fits {pattern}")
    file.write_text(text, encoding="utf-8")


def _shifted(found):
    return f"{found[1]}{float(found[2]) + 2e-8:.9f}"


def kml_pass_moved(folder):
    """A pass in the KML file lies 2e-8 degrees, about two millimetres, off."""
    _rewrite(folder, "passes.kml", r"(<coordinates>[-0-9.]+,)([-0-9.]+)", _shifted)


def kml_pass_dropped(folder):
    """A pass is left out of the KML file."""
    _rewrite(folder, "passes.kml", r"<Placemark>.*?</Placemark>", "")


def kml_ring_opened(folder):
    """A ring in the KML file does not end where it begins."""
    _rewrite(folder, "passes.kml", r"\n[-0-9.,]+(</coordinates>\s*</LinearRing>)", r"\1")


def kml_ring_turned(folder):
    """A polygon in the KML file runs clockwise."""

    def turned(found):
        return "<LinearRing>\n<coordinates>" + "\n".join(reversed(found[1].split())) + "</coordinates>"

    _rewrite(folder, "passes.kml", r"<LinearRing>\s*<coordinates>([^<]*)</coordinates>", turned)


def kml_colour_as_in_html(folder):
    """A colour in the KML file is written as in a web page."""
    _rewrite(folder, "passes.kml", r"<color>[0-9a-f]{8}</color>", "<color>#00ff00</color>")


def kml_hole_beside_hole(folder):
    """A boundary in the KML file has two rings, as a library writes holes."""
    _rewrite(folder, "passes.kml", r"(<LinearRing>.*?</LinearRing>)", r"\1\1")


def caution_forgotten(folder):
    """The KML file does not say where to check a terminal."""
    _rewrite(folder, "passes.kml", r"park on the SE peg", "drive")


def gpx_point_moved(folder):
    """A point of a track lies 2e-8 degrees off."""
    _rewrite(folder, "route.gpx", r'(<trkpt lat=")([-0-9.]+)', _shifted)


def gpx_segment_dropped(folder):
    """A line is left out of a track."""
    _rewrite(folder, "route.gpx", r"<trkseg>.*?</trkseg>", "")


def gpx_waypoint_last(folder):
    """A waypoint stands after the tracks."""
    _rewrite(folder, "route.gpx", r"(<wpt .*?</wpt>)(.*)(</gpx>)", r"\2\1\3")


def gpx_longitude_180(folder):
    """A longitude is 180 degrees."""
    _rewrite(folder, "route.gpx", r'(<wpt lat="[-0-9.]+" lon=")[-0-9.]+', r"\g<1>180")


def _edit_tape(folder, change):
    file = folder / "guidance" / "tape.csv"
    rows = [line.split(",") for line in file.read_text(encoding="utf-8").splitlines()]
    change(rows)
    file.write_text("".join(",".join(row) + "\n" for row in rows), encoding="utf-8")


def tape_chained(folder):
    """A figure of the tape is off by a centimetre."""

    def change(rows):
        rows[12][7] = f"{float(rows[12][7]) + 0.01:.2f}"

    _edit_tape(folder, change)


def tape_edge_of_the_other_side(folder):
    """The edge that rides the string is that away from the flag."""

    def change(rows):
        rows[9][8] = f"{2.0 * float(rows[9][7]) - float(rows[9][8]):.2f}"

    _edit_tape(folder, change)


def tape_from_two_flags(folder):
    """One pass is measured from the line's other flag."""

    def change(rows):
        row = rows[15]
        others = {one[6] for one in rows[1:] if one[5] != row[5]} | {"ne", "se", "sw", "nw"}
        kind = row[5][0]
        row[6] = next(flag for flag in sorted(others) if kind in flag and flag != row[6])

    _edit_tape(folder, change)


def tape_lifted_on_the_slant(folder):
    """How far beyond a line a diagonal is lifted is measured along the pass."""

    def change(rows):
        row = next(row for row in rows[1:] if abs(float(row[9])) > 0.1)
        row[9] = f"{float(row[9]) * 2.0 ** 0.5:.2f}"

    _edit_tape(folder, change)


def tape_ends_swapped(folder):
    """A pass starts where it should stop."""

    def change(rows):
        rows[21][5:10], rows[22][5:10] = rows[22][5:10], rows[21][5:10]

    _edit_tape(folder, change)


def tape_row_missing(folder):
    """A row of the tape is missing."""
    _edit_tape(folder, lambda rows: rows.pop(30))


def shapefile_moved(folder):
    """A pass in the shapefile lies 3e-8 degrees off."""
    file = folder / "guidance" / "passes.shp"
    content = bytearray(file.read_bytes())
    # Header 100; head 8, type 4, box 32, two counts, one part's start: the first place, its latitude.
    at = 100 + 8 + 4 + 32 + 8 + 4 + 8
    content[at:at + 8] = struct.pack("<d", struct.unpack("<d", content[at:at + 8])[0] + 3e-8)
    file.write_bytes(content)


def shapefile_renumbered(folder):
    """A pass in the shapefile's table has another number."""
    file = folder / "guidance" / "passes.dbf"
    content = bytearray(file.read_bytes())
    # The first record: its mark, the operation's column as wide as it says, direction, pass.
    last_digit = int.from_bytes(content[8:10], "little") + 1 + content[32 + 16] + 9 + 9 - 1
    content[last_digit] = ord("9") if content[last_digit] != ord("9") else ord("8")
    file.write_bytes(content)


def _moved_place(name):
    """What finds the latitude of a place of that kind, for a shift."""
    return rf"(<name>{name}</name>(?:(?!</Placemark>).)*?<coordinates>\s*[-0-9.]+,)([-0-9.]+)"


def kml_peg_moved(folder):
    """The peg in the KML file lies 2e-8 degrees, about two millimetres, off."""
    _rewrite(folder, "passes.kml", _moved_place("peg SE"), _shifted)


def kml_entrance_moved(folder):
    """The entrance in the KML file lies 2e-8 degrees off."""
    _rewrite(folder, "passes.kml", _moved_place("entrance"), _shifted)


def gpx_peg_moved(folder):
    """The peg in the GPX file lies 2e-8 degrees off."""
    _rewrite(folder, "route.gpx", r'(<wpt lat=")([-0-9.]+)', _shifted)


def _figure(key, kind):
    """A fault in a figure for programs of the KML file."""

    def fault(folder):
        def change(found):
            return f"{found[1]}{float(found[2]) + 2e-6:.6f}"

        _rewrite(folder, "passes.kml", rf'(<Data name="kind">\s*<value>{kind}</value>(?:(?!</Placemark>).)*?'
                                       rf'<Data name="{key}">\s*<value>)([0-9.]+)', change)

    fault.__doc__ = f"`{key}` of a {kind} in the KML file is off by 2e-6."
    fault.__name__ = f"kml_{kind}_{key}_off"
    return fault


def kml_kept_clear_of_another(folder):
    """Ground in the KML file is kept clear of another thing."""
    _rewrite(folder, "passes.kml", r'(<Data name="of">\s*<value>)[a-z]+', r"\1stockpile")


KML_FIGURES = [_figure(key, kind) for key, kind in (("heading_deg", "pass"), ("width_m", "pass"), ("length_m", "pass"),
                                                    ("area_m2", "zone"), ("wear", "zone"), ("clearance_m", "obstacle"))]

IN_KML_GPX = [(kml_pass_moved, {"KML pass (deg)"}), (kml_pass_dropped, {"KML passes"}), (kml_ring_opened, {"KML and GPX form"}),
              (kml_ring_turned, {"KML and GPX form"}), (kml_colour_as_in_html, {"KML and GPX form"}),
              (kml_hole_beside_hole, {"KML and GPX form"}), (caution_forgotten, {"KML and GPX sentences"}),
              (gpx_point_moved, {"GPX line (deg)"}), (gpx_segment_dropped, {"GPX segments"}),
              (gpx_waypoint_last, {"KML and GPX form"}), (gpx_longitude_180, {"KML and GPX form"}),
              (kml_peg_moved, {"KML place (deg)"}), (kml_entrance_moved, {"KML place (deg)"}),
              (gpx_peg_moved, {"GPX waypoint (deg)"}), (kml_kept_clear_of_another, {"KML figures"}),
              *((fault, {"KML figures"}) for fault in KML_FIGURES)]
IN_SHAPEFILES = [(shapefile_moved, {"passes by GDAL (deg)"}), (shapefile_renumbered, {"passes by GDAL"})]
IN_TAPE = [(tape_chained, {"tape: centre (m)"}), (tape_edge_of_the_other_side, {"tape: edge (m)"}),
            (tape_from_two_flags, {"tape: one flag a line"}), (tape_lifted_on_the_slant, {"tape: beyond (m)"}),
            (tape_ends_swapped, {"tape: nearest line (m)", "tape: beyond (m)"}), (tape_row_missing, {"tape.csv"})]
