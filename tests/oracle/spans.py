"""Where along a heading a strip meets a shape: intervals of t, by clipping.

All shapes here are in the frame of the direction (u along, v to the left), so a strip is
a box between two values of v. A place where the shape is thinner than a hair (1e-6 m,
measured across) for a whole stretch is not met: an edge lying on the strip's edge. The
ends of stretches that are met are not moved by this.
"""

import numpy as np
import shapely

from shapes import polygons_of

HAIR_M = 1e-6
FAR_M = 5000.0


def strip_box(low, high, far=FAR_M):
    """The strip between two offsets, long beyond everything."""
    return shapely.box(-far, low, far, high)


def merged(spans, gap=0.0):
    """Intervals in order, those united that overlap or lie no further than `gap` apart."""
    out = []
    for start, stop in sorted(spans):
        if out and start - out[-1][1] <= gap:
            out[-1][1] = max(out[-1][1], stop)
        else:
            out.append([start, stop])
    return [(start, stop) for start, stop in out]


def minus(spans, taken):
    """Intervals less others."""
    out = []
    for start, stop in spans:
        for low, high in taken:
            if high <= start or low >= stop:
                continue
            if low > start:
                out.append((start, low))
            start = max(start, high)
            if start >= stop:
                break
        if start < stop:
            out.append((start, stop))
    return out


def met(shape, hair=HAIR_M):
    """The stretches of u over which an (already clipped) shape has more than a hair."""
    spans = []
    for polygon in polygons_of(shape):
        low_u, low_v, high_u, high_v = polygon.bounds
        if high_v - low_v >= hair:
            spans.extend(_thick_stretches(polygon, low_u, high_u, hair))
    return merged(spans)


def _thick_stretches(polygon, low_u, high_u, hair):
    """Between neighbouring vertices the thickness is linear: it is the sum of the upper
    edges' v less that of the lower ones, at either end of the slab."""
    polygon = shapely.orient_polygons(polygon)
    runs = [np.array(ring.coords) for ring in [polygon.exterior, *polygon.interiors]]
    a, b = np.vstack([run[:-1] for run in runs]), np.vstack([run[1:] for run in runs])
    cuts = np.unique(a[:, 0])
    if len(cuts) == 2:  # one slab, already known to be more than a hair
        return [(low_u, high_u)]
    step = b - a
    steep = step[:, 0] != 0.0
    a, b, step = a[steep], b[steep], step[steep]
    sign = np.where(step[:, 0] > 0, -1.0, 1.0)  # the ground lies to the left: above what runs forwards
    low, high = np.minimum(a[:, 0], b[:, 0]), np.maximum(a[:, 0], b[:, 0])
    start, stop = cuts[:-1], cuts[1:]
    crosses = sign[:, None] * ((low[:, None] <= start) & (high[:, None] >= stop))
    slope = step[:, 1] / step[:, 0]
    at_start = a[:, 1:] + slope[:, None] * (start - a[:, :1])
    at_stop = a[:, 1:] + slope[:, None] * (stop - a[:, :1])
    thick = np.maximum((crosses * at_start).sum(axis=0), (crosses * at_stop).sum(axis=0))
    return merged(zip(start[thick >= hair].tolist(), stop[thick >= hair].tolist()))


def along_line(shape, offset, far=FAR_M):
    """The stretches of u over which the line at an offset lies in a shape."""
    cut = shapely.LineString([(-far, offset), (far, offset)]).intersection(shape)
    spans = []
    for part in shapely.get_parts([cut]):
        for line in getattr(part, "geoms", [part]):
            if line.geom_type == "LineString" and not line.is_empty:
                us = shapely.get_coordinates(line)[:, 0]
                spans.append((float(us.min()), float(us.max())))
    return merged(spans)
