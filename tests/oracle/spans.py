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
    runs = [np.array(ring.coords) for ring in [polygon.exterior, *polygon.interiors]]
    a = np.vstack([run[:-1] for run in runs])
    b = np.vstack([run[1:] for run in runs])
    cuts = np.unique(np.concatenate([a[:, 0], b[:, 0]]))
    swap = a[:, 0] > b[:, 0]
    left, right = np.where(swap[:, None], b, a), np.where(swap[:, None], a, b)
    steep = right[:, 0] > left[:, 0]
    left, right = left[steep], right[steep]
    slope = (right[:, 1] - left[:, 1]) / (right[:, 0] - left[:, 0])
    if len(cuts) == 2 and len(left) == 2:  # one slab
        return [(low_u, high_u)]
    spans = []
    for start, stop in zip(cuts[:-1], cuts[1:]):
        middle = 0.5 * (start + stop)
        here = (left[:, 0] <= middle) & (right[:, 0] > middle)
        base, lean, origin = left[here, 1], slope[here], left[here, 0]
        order = np.argsort(base + lean * (middle - origin))
        thick = 0.0
        for t in (start, stop):
            v = (base + lean * (t - origin))[order]
            thick = max(thick, float(np.sum(v[1::2] - v[0::2]))) if len(v) % 2 == 0 else hair
        if thick >= hair:
            spans.append((start, stop))
    return merged(spans)


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
