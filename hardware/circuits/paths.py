#!/usr/bin/env python3
"""Draws the way of each signal from the lead to the chip, as blocks with their parts: paths.svg."""

import os

PATHS = [
    ("Crank, variable reluctance", [
        ("two leads", "sensor floats"), ("2 × 47 k each", "clamps to 3.3 V, 0"), ("difference ×1.06", "33 pF, hangs at 1.65 V"),
        ("crossing, arming", "two comparators"), ("latch", "two gates"), ("2 : 1 switch", "by GP17"), ("GP2", "crank"),
    ]),
    ("Crank, Hall and optical", [
        ("lead", "4.7 k to 5 V by diode"), ("2 × 47 k, 68 k", "clamps to 3.3 V, 0"), ("comparator", "2.9 V up, 2.5 V down"),
        ("gate", "upright again"), ("2 : 1 switch", "by GP17"), ("GP2", "crank"),
    ]),
    ("Spark clamp", [
        ("split ring", "20 turns"), ("10 ohm", "burden"), ("680 ohm", "clamps to 3.3 V, 0"), ("peak held", "220 pF, 100 k"),
        ("comparator", "0.42 V up, 0.35 down"), ("gate", "upright again"), ("GP3", "spark"),
    ]),
    ("Supply", [
        ("clips", "6 to 32 V"), ("fuse, 22 nF", "0.5 A"), ("rectifier", "1000 V"), ("limiter", "32 V at most"),
        ("470 uF", "50 V"), ("converter", "3.6 to 36 V in"), ("3.3 V", "all chips"),
    ]),
    ("Supply as measured", [
        ("clips", "before the rectifier"), ("100 k, 10 k", "1 : 11"), ("clamps", "to 3.3 V, 0"), ("4.7 k, 10 nF", "clamps again"),
        ("GP26", "ADC 0"),
    ]),
]
WIDE, HIGH, GAP, ROW = 124, 44, 18, 84

parts = []
for row, (title, blocks) in enumerate(PATHS):
    top = 14 + row * ROW
    parts.append(f'<text x="12" y="{top + 10}" font-size="13" font-weight="bold">{title}</text>')
    for place, (name, value) in enumerate(blocks):
        x, y = 12 + place * (WIDE + GAP), top + 18
        parts.append(f'<rect x="{x}" y="{y}" width="{WIDE}" height="{HIGH}" rx="4" fill="#f4f6f7" stroke="#1b4f72"/>')
        parts.append(f'<text x="{x + WIDE / 2}" y="{y + 19}" text-anchor="middle" font-weight="bold">{name}</text>')
        parts.append(f'<text x="{x + WIDE / 2}" y="{y + 35}" text-anchor="middle">{value}</text>')
        if place:
            parts.append(f'<path d="M{x - GAP} {y + HIGH / 2}h{GAP - 6}l-5 -4m5 4l-5 4" fill="none" stroke="#1b4f72"/>')
width, height = 24 + 7 * (WIDE + GAP) - GAP, 20 + len(PATHS) * ROW
with open(os.path.join(os.path.dirname(os.path.abspath(__file__)), "paths.svg"), "w") as file:
    file.write(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" '
        f'font-family="DejaVu Sans, sans-serif" font-size="10.5">\n<rect width="{width}" height="{height}" fill="white"/>\n'
        + "\n".join(parts) + "\n</svg>\n"
    )
