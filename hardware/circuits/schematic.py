#!/usr/bin/env python3
"""Draws the schematics of the input circuits from their netlists: `hardware/circuits/schematic.py [--check]`.

Parts, their values and what is connected to what come from the `.inc` files that the simulation runs; `LAYOUT` only
says where a part stands and which way a net's wires run. Before a picture is written its geometry is held against
the netlist: every part is drawn, every pin touches its own net and no other, nothing is left hanging, no two nets run
along each other. So a picture cannot differ from what was simulated. With `--check` nothing is written; it fails
where a picture is not what the netlist gives.
"""

import os
import re
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
UNIT = 22
RAILS = {"0", "v33", "v5"}

# Part: (x, y, way). Ways of parts with two pins, by where the first pin is: r(ight of it the second), l, d(own), u.
# Others: r, or f with the two inputs exchanged. Wider: from this x on, so much more room. Net: ("h", y) or ("v", x) for a trunk that the pins reach by the
# shortest way, or lists of corners. Port: (x, y, side).
LAYOUT = {
    "crank-vr": {
        "title": "Crank, variable reluctance",
        "wider": [(12, 1.5), (14.5, 1.5), (23, 3.3)],
        "parts": {
            "r3": (4.5, 4, "r"), "r4": (8.5, 4, "r"), "d1": (11, 2, "u"), "d2": (11, 6, "u"), "r7": (13, 6, "d"),
            "c2": (15, 6, "d"), "v1": (14, 10, "d"), "r5": (4.5, 14, "r"), "r6": (8.5, 14, "r"), "d3": (11, 12, "u"),
            "d4": (11, 16, "u"), "r8": (19, 14, "r"), "c3": (19, 16.5, "r"), "x5": (19, 5, "r"), "x1": (27, 3, "r"),
            "x2": (27, 9, "r"), "x3": (33, 9.5, "r"), "x4": (33, 3.5, "r"), "r9": (25.5, 14, "r"),
            "d5": (29.5, 14, "r"), "c5": (32, 16, "d"), "r13": (35, 16, "d"), "r14": (38.5, 14, "r"),
            "d6": (41, 12, "u"), "d7": (41, 16, "u"), "c6": (44, 16, "d"),
        },
        "nets": {
            "leadp": ("h", 4), "p1": ("h", 4), "inp": ("h", 4), "leadm": ("h", 14), "m1": ("h", 14),
            "inm": ("h", 14), "signal": ("v", 22), "crossed": ("h", 3), "armed": ("h", 9), "arming": ("h", 10),
            "mid": [[(13, 7.5), (13, 8), (15, 8), (15, 7.5)], [(14, 8), (14, 8.5)], [(24, 2), (25, 2)]],
            "notout": [[(35, 3.5), (36, 3.5), (36, 6), (30, 6), (30, 10), (31, 10)]],
            "out": [[(35, 9.5), (38, 9.5)], [(37, 9.5), (37, 7), (30.5, 7), (30.5, 4), (31, 4)]],
            "s1": ("h", 14), "held": ("h", 14), "amplitude": ("h", 14),
        },
        "ports": {"leadp": [(1.5, 4, "l")], "leadm": [(1.5, 14, "l")], "arming": [(24, 10, "l")],
                  "out": [(38, 9.5, "r")], "amplitude": [(46.5, 14, "r")], "mid": [(13, 8, "l"), (24, 2, "l")]},
    },
    "crank-hall": {
        "title": "Crank, Hall and optical",
        "wider": [(14.5, 1), (16, 1), (18, 1.5)],
        "parts": {
            "d1": (3, 2, "d"), "r1": (3, 5.5, "d"), "r2": (6.5, 8, "r"), "r3": (10.5, 8, "r"), "r4": (13, 10, "d"),
            "c1": (15, 10, "d"), "d2": (14, 6, "u"), "d3": (17, 10, "u"), "x1": (23, 9, "f"), "r5": (18.1, 12, "d"),
            "r6": (18.1, 15, "d"), "r7": (23.5, 13.5, "l"), "x2": (29, 9, "r"),
        },
        "nets": {
            "pull": ("v", 3), "lead": ("h", 8), "a": ("h", 8), "in": ("h", 8), "th": ("v", 20.5), "nout": ("v", 26),
            "out": ("h", 9),
        },
        "ports": {"lead": [(1.5, 8, "l")], "out": [(32.5, 9, "r")]},
    },
    "spark": {
        "title": "Spark clamp",
        "wider": [(14.5, 1.5)],
        "parts": {
            "r1": (3, 6, "d"), "r2": (5.5, 4, "r"), "d1": (8, 2, "u"), "d2": (8, 6, "u"), "d3": (10.5, 4, "r"),
            "c1": (13, 6, "d"), "r3": (15, 6, "d"), "d4": (14, 2, "u"), "x1": (22, 5, "f"), "r4": (17.6, 8, "d"),
            "r5": (17.6, 11, "d"), "r6": (22.5, 9.5, "l"), "x2": (28, 5, "r"),
        },
        "nets": {
            "hot": ("h", 4), "a": ("h", 4), "held": ("h", 4), "th": ("v", 19.5), "nout": ("v", 25), "out": ("h", 5),
        },
        "ports": {"hot": [(1.5, 4, "l")], "out": [(31.5, 5, "r")]},
    },
    "supply": {
        "title": "Supply, and the divider that measures it",
        "wider": [(12, 1), (19, 1)],
        "parts": {
            "rf": (4.5, 3, "r"), "c1": (7, 5, "d"), "d1": (9.5, 3, "r"), "v1": (12.5, 3, "r"), "m1": (16, 3, "r"),
            "r1": (18.5, 5, "l"), "d2": (16, 7, "u"), "c2": (22, 5, "d"), "r2": (4.5, 13, "r"), "r3": (8.5, 13, "r"),
            "r4": (11, 15, "d"), "d3": (13, 11, "u"), "d4": (13, 15, "u"), "r5": (15.5, 13, "r"),
            "c3": (18, 15, "d"), "d5": (20, 11, "u"), "d6": (20, 15, "u"),
        },
        "nets": {
            "clip": [[(1.5, 3), (3, 3)], [(1.5, 13), (3, 13)]], "fused": ("h", 3), "high": ("h", 3),
            "drain": ("h", 3), "gate": ("h", 5), "bulk": ("h", 3), "a": ("h", 13), "b": ("h", 13), "adc": ("h", 13),
        },
        "ports": {"clip": [(1.5, 3, "l"), (1.5, 13, "l")], "bulk": [(24, 3, "r")], "adc": [(22, 13, "r")]},
    },
}
WORDS = {"leadp": "lead +", "leadm": "lead −", "amplitude": "amplitude, GP27", "adc": "supply, GP26",
         "bulk": "converter", "clip": "clip +", "hot": "clamp", "mid": "1.65 V", "arming": "arming, PWM"}


def laid_out(name):
    """The layout of a circuit with its room made."""
    layout = LAYOUT[name]

    def moved(x):
        return x + sum(more for start, more in layout["wider"] if x > start)

    def way(net):
        if isinstance(net, list):
            return [[(moved(x), y) for x, y in corners] for corners in net]
        return (net[0], moved(net[1])) if net[0] == "v" else net

    return {
        "title": layout["title"],
        "parts": {part: (moved(x), y, turned) for part, (x, y, turned) in layout["parts"].items()},
        "nets": {net: way(wires) for net, wires in layout["nets"].items()},
        "ports": {net: [(moved(x), y, side) for x, y, side in ports] for net, ports in layout["ports"].items()},
    }


def netlist(name):
    """Parts of a sub-circuit: name to (kind, nets, value)."""
    parts = {}
    for line in open(os.path.join(HERE, f"{name}.inc")):
        words = line.split()
        if not words or words[0][0] in "*.":
            continue
        part, rest = words[0], [word for word in words[1:] if "=" not in word]
        kind = {"r": "resistor", "c": "capacitor", "d": "diode", "v": "source", "m": "transistor", "x": "x"}[part[0]]
        if kind == "x":
            kind, nets, value = rest[-1], rest[:-1], ""
        elif kind == "transistor":
            nets, value = rest[:3], rest[4]
        else:
            nets, value = rest[:2], rest[2]
        if kind == "source" and value == "0":
            kind = "ammeter"
        if kind == "diode" and value.startswith("zener"):
            kind, value = "zener", value[5:] + " V"
        parts[part] = (kind, nets, value)
    return parts


def pins(kind, place):
    x, y, way = place
    if kind in ("comparator", "amplifier", "nor"):
        apart = 0.5 if kind == "nor" else 1
        first, second = (-apart, apart) if way == "r" else (apart, -apart)
        return [(x - 2, y + first), (x - 2, y + second), (x + 2, y)]
    if kind == "transistor":
        return [(x - 1.5, y), (x, y + 2), (x + 1.5, y)]
    dx, dy = {"r": (1.5, 0), "l": (-1.5, 0), "d": (0, 1.5), "u": (0, -1.5)}[way]
    return [(x - dx, y - dy), (x + dx, y + dy)]


def wires(way, ends):
    """Segments of a net: to a trunk by the shortest way, or as given."""
    if isinstance(way, list):
        return [pair for line in way for pair in zip(line, line[1:])]
    axis, at = way
    along, across = (0, 1) if axis == "h" else (1, 0)
    found = []
    feet = []
    for end in ends:
        foot = list(end)
        foot[across] = at
        feet.append(tuple(foot))
        if tuple(foot) != end:
            found.append((end, tuple(foot)))
    feet.sort(key=lambda foot: foot[along])
    if feet[0] != feet[-1]:
        found.append((feet[0], feet[-1]))
    return found


def on(point, segment):
    (ax, ay), (bx, by) = segment
    x, y = point
    return min(ax, bx) - 1e-9 <= x <= max(ax, bx) + 1e-9 and min(ay, by) - 1e-9 <= y <= max(ay, by) + 1e-9 and (
        (ax == bx == x) or (ay == by == y))


def joined(segments, points):
    """Whether wires and points of a net hang together, in so many pieces."""
    items = [("s", segment) for segment in segments] + [("p", point) for point in points]
    groups = list(range(len(items)))

    def touch(a, b):
        (ka, va), (kb, vb) = a, b
        if ka == "p" and kb == "p":
            return va == vb
        if ka == "p":
            return on(va, vb)
        if kb == "p":
            return on(vb, va)
        return any(on(end, vb) for end in va) or any(on(end, va) for end in vb)

    for i in range(len(items)):
        for j in range(i):
            if groups[i] != groups[j] and touch(items[i], items[j]):
                old, new = groups[i], groups[j]
                groups = [new if group == old else group for group in groups]
    return len(set(groups))


def check(name, parts, layout, drawn, places):
    faults = []
    if set(parts) != set(layout["parts"]):
        faults.append(f"parts not alike: {set(parts) ^ set(layout['parts'])}")
    for net, segments in drawn.items():
        ports = [(x, y) for x, y, _ in layout["ports"].get(net, [])]
        pieces = joined(segments, places[net] + ports)
        if pieces > max(1, len(ports)):
            faults.append(f"net {net} is in {pieces} pieces")
        if len(places[net]) + len(ports) < 2:
            faults.append(f"net {net} goes nowhere")
        for other, lines in drawn.items():
            if other == net:
                continue
            for place in places[net] + ports:
                if any(on(place, line) for line in lines):
                    faults.append(f"a pin of {net} lies on {other}")
            for a in segments:
                for b in lines:
                    if any(on(end, b) for end in a):
                        faults.append(f"{net} touches {other} at {a}")
    for net, found in places.items():
        if net in RAILS:
            for place in found:
                for other, lines in drawn.items():
                    if any(on(place, line) for line in lines):
                        faults.append(f"a pin at {net} lies on {other}")
        elif net not in drawn:
            faults.append(f"net {net} is not drawn")
    return [f"{name}: {fault}" for fault in faults]


def line(points, extra=""):
    path = "M" + "L".join(f"{x * UNIT:g} {y * UNIT:g}" for x, y in points)
    return f'<path d="{path}" {extra}/>'


def text(x, y, words, anchor="start", size=11, extra=""):
    return f'<text x="{x * UNIT:g}" y="{y * UNIT:g}" text-anchor="{anchor}" font-size="{size}" {extra}>{words}</text>'


def value_words(kind, value):
    if kind in ("resistor", "capacitor"):
        value = value.replace("meg", "M")
        unit = "Ω" if kind == "resistor" else "F"
        value = value.replace("u", "µ")
        return re.sub(r"([0-9.]+)(.*)", lambda match: f"{match[1]} {match[2]}{unit}", value)
    return f"{value} V" if kind == "source" else value


def symbol(part, kind, value, place):
    x, y, way = place
    ends = pins(kind, place)
    out = []
    if kind in ("comparator", "amplifier"):
        out.append(line([(x - 1.4, y - 1.6), (x - 1.4, y + 1.6), (x + 1.4, y), (x - 1.4, y - 1.6)], 'fill="#f7f9fa"'))
        for (px, py), sign in zip(ends, "+−"):
            out += [line([(px, py), (x - 1.4, py)]), text(x - 1.2, py + 0.18, sign, size=13)]
        out += [line([ends[2], (x + 1.4, y)]), text(x - 0.7, y + 0.16, part), text(x, y + 2.1, kind, "middle", 9)]
        return out
    if kind == "nor":
        a, b = (x - 1.4) * UNIT, (x + 1.1) * UNIT
        top, low, middle = (y - 0.9) * UNIT, (y + 0.9) * UNIT, y * UNIT
        out.append(f'<path d="M{a:g} {top:g}Q{x * UNIT + 6:g} {top:g} {b:g} {middle:g}Q{x * UNIT + 6:g} {low:g} {a:g} {low:g}Q{a + 12:g} {middle:g} {a:g} {top:g}Z" fill="#f7f9fa"/>')
        out.append(f'<circle cx="{b + 4:g}" cy="{middle:g}" r="4" fill="white"/>')
        for px, py in ends[:2]:
            out.append(line([(px, py), (x - 1.2, py)]))
        out += [line([(x + 1.1 + 8 / UNIT, y), ends[2]]), text(x - 0.5, y + 0.16, part), text(x, y + 1.5, "neither-nor", "middle", 9)]
        return out
    if kind == "transistor":
        out += [line([ends[0], (x - 0.7, y), (x - 0.7, y + 0.7)]), line([ends[2], (x + 0.7, y), (x + 0.7, y + 0.7)]),
                line([(x - 1, y + 0.7), (x + 1, y + 0.7)], 'stroke-width="3"'), line([(x - 0.8, y + 1), (x + 0.8, y + 1)]),
                line([(x, y + 1), ends[1]]), text(x, y - 0.4, f"{part} {value}", "middle")]
        return out
    (ax, ay), (bx, by) = ends
    ux, uy = (bx - ax) / 3, (by - ay) / 3

    def at(along, aside):
        return (x + ux * along + uy * aside, y + uy * along - ux * aside)

    if kind == "resistor":
        body = [at(-0.8, 0.32), at(0.8, 0.32), at(0.8, -0.32), at(-0.8, -0.32), at(-0.8, 0.32)]
        out += [line([ends[0], at(-0.8, 0)]), line([at(0.8, 0), ends[1]]), line(body, 'fill="white"')]
    elif kind == "capacitor":
        out += [line([ends[0], at(-0.17, 0)]), line([at(0.17, 0), ends[1]]),
                line([at(-0.17, 0.6), at(-0.17, -0.6)], 'stroke-width="2.5"'), line([at(0.17, 0.6), at(0.17, -0.6)], 'stroke-width="2.5"')]
    elif kind in ("diode", "zener"):
        bar = [at(0.5, 0.5), at(0.5, -0.5)]
        if kind == "zener":
            bar = [at(0.75, 0.5), *bar, at(0.25, -0.5)]
        out += [line(ends), line([at(-0.5, 0.5), at(0.5, 0), at(-0.5, -0.5), at(-0.5, 0.5)], 'fill="#1b4f72"'), line(bar)]
    elif kind == "source":
        out += [line([ends[0], at(-0.7, 0)]), line([at(0.7, 0), ends[1]]),
                f'<circle cx="{x * UNIT:g}" cy="{y * UNIT:g}" r="{0.7 * UNIT:g}" fill="white"/>', text(x, y + 0.2, "+ −" if uy == 0 else "=", "middle")]
    else:
        out.append(line(ends))
        return out
    # Most diodes are the same small ones: README.
    words = "" if value == "schottky" else value_words(kind, value)
    if uy == 0:
        out += [text(x, y - 0.65, part, "middle"), text(x, y + 1.05, words, "middle", 10)]
    else:
        out += [text(x + 0.75, y - 0.1, part), text(x + 0.75, y + 0.45, words, size=10)]
    return out


def rail(net, point):
    x, y = point
    if net == "0":
        return [line([(x - 0.5, y), (x + 0.5, y)], 'stroke-width="2"'), line([(x - 0.3, y + 0.17), (x + 0.3, y + 0.17)]),
                line([(x - 0.12, y + 0.34), (x + 0.12, y + 0.34)])]
    return [line([(x - 0.45, y), (x + 0.45, y)], 'stroke-width="2"'),
            text(x, y - 0.2, {"v33": "3.3 V", "v5": "5 V"}[net], "middle", 10)]


def draw(name):
    layout, parts = laid_out(name), netlist(name)
    places = {}
    for part, (kind, nets, _) in parts.items():
        for net, pin in zip(nets, pins(kind, layout["parts"].get(part, (0, 0, "r")))):
            places.setdefault(net, []).append(pin)
    drawn = {}
    for net, way in layout["nets"].items():
        ports = [(x, y) for x, y, _ in layout["ports"].get(net, [])]
        drawn[net] = wires(way, places.get(net, []) + ports)
    faults = check(name, parts, layout, drawn, places)
    out = [text(0.6, -0.6, layout["title"], size=15, extra='font-weight="bold"')]
    for net, segments in drawn.items():
        out += [line(segment) for segment in segments]
        ends = [end for segment in segments for end in segment] + places[net]
        for point in set(ends):
            arms = sum(2 if point not in segment and on(point, segment) else point in segment for segment in segments)
            arms += places[net].count(point)
            if arms >= 3:
                out.append(f'<circle cx="{point[0] * UNIT:g}" cy="{point[1] * UNIT:g}" r="3.2" fill="#1b4f72"/>')
        for x, y, side in layout["ports"].get(net, []):
            anchor, shift = ("end", -0.35) if side == "l" else ("start", 0.35)
            out.append(f'<circle cx="{x * UNIT:g}" cy="{y * UNIT:g}" r="4" fill="white"/>')
            out.append(text(x + shift, y - 0.35, WORDS.get(net, net), anchor, 12, 'font-weight="bold"'))
    for part, (kind, nets, value) in parts.items():
        place = layout["parts"].get(part, (0, 0, "r"))
        out += symbol(part, kind, value, place)
        for net, pin in zip(nets, pins(kind, place)):
            if net in RAILS:
                out += rail(net, pin)
    xs = [x for found in places.values() for x, _ in found] + [x for ports in layout["ports"].values() for x, _, _ in ports]
    ys = [y for found in places.values() for _, y in found]
    left, top = min(xs) * UNIT - 70, min(min(ys) * UNIT - 30, -34)
    width, height = max(xs) * UNIT + 130 - left, max(ys) * UNIT + 30 - top
    return faults, (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left:g} {top:g} {width:g} {height:g}" '
        f'font-family="DejaVu Sans, sans-serif">\n<rect x="{left:g}" y="{top:g}" width="{width:g}" height="{height:g}" '
        f'fill="white"/>\n<g fill="none" stroke="#1b4f72" stroke-width="1.5">\n'
        + "\n".join(item for item in out if not item.startswith("<text")) + "\n</g>\n"
        + '<g fill="#17202a">\n' + "\n".join(item for item in out if item.startswith("<text")) + "\n</g>\n</svg>\n"
    )


def main():
    only_check = "--check" in sys.argv
    faults = []
    for name in LAYOUT:
        wrong, picture = draw(name)
        faults += wrong
        path = os.path.join(HERE, f"{name}.svg")
        if only_check:
            if not os.path.exists(path) or open(path).read() != picture:
                faults.append(f"{name}.svg is not what the netlist gives: run hardware/circuits/schematic.py")
        elif not wrong:
            with open(path, "w") as file:
                file.write(picture)
    print("\n".join(faults) or f"{len(LAYOUT)} schematics drawn as their netlists are")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
