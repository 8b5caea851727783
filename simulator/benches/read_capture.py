"""The same sums as `keyway read`, written plainly with numpy and vcdvcd, to time the two side by side.

    python read_capture.py CAPTURE.vcd TEETH MISSING FIRST_EDGE_BTDC

Edges of the wheel, sync by the gap, each spark's angle by linear interpolation between the teeth beside
it, median. No verdict, no doubt, no refusal: the least that gives a number.
"""

import sys

import numpy
from vcdvcd import VCDVCD


def rising(dump, name):
    """Times at which a signal rises, in the file's unit."""
    signal = next(code for full, code in dump.references_to_ids.items() if full.split(".")[-1] == name)
    changes = dump.data[signal].tv
    times = numpy.array([time for time, _ in changes], dtype=numpy.int64)
    levels = numpy.array([value == "1" for _, value in changes])
    return times[1:][levels[1:] & ~levels[:-1]]


def main():
    capture, teeth, missing, first_edge = sys.argv[1], *map(float, sys.argv[2:5])
    dump = VCDVCD(capture, store_tvs=True)
    crank, sparks = rising(dump, "crank"), rising(dump, "spark1")
    steps = numpy.diff(crank)
    gap = steps[1:] > (1 + missing / 2) * steps[:-1]
    first = numpy.flatnonzero(gap) + 2
    # Angle of each tooth after the gap's end, counted on over the whole capture.
    present = int(teeth - missing)
    index = numpy.arange(first[0], first[-1])
    turn, tooth = numpy.divmod(index - first[0], present)
    angles = turn * 360.0 + tooth * (360.0 / teeth)
    inside = (sparks >= crank[first[0]]) & (sparks < crank[first[-1] - 1])
    at = numpy.interp(sparks[inside], crank[index], angles)
    advance = (first_edge - at + 180.0) % 360.0 - 180.0
    turns = turn[-1]
    scale = float(dump.timescale["timescale"])
    rpm = 60.0 * turns / ((crank[first[-1]] - crank[first[0]]) * scale)
    print(f"{numpy.median(advance):.3f} {rpm:.1f} {len(advance)}")


main()
