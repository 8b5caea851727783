"""Curves over time or over a number, as SVG. Standard library only."""

import math

WIDTH, HEIGHT, LEFT, TOP, RIGHT, BOTTOM = 760, 240, 70, 34, 20, 46
COLOURS = ["#1b4f72", "#b03a2e", "#1e8449", "#7d6608"]


def ticks(low, high, logarithmic):
    """Round places on an axis."""
    if logarithmic:
        return [10.0**power for power in range(math.ceil(low), math.floor(high) + 1)]
    step = 10 ** math.floor(math.log10((high - low) / 4))
    step = next(step * factor for factor in (1, 2, 5, 10) if (high - low) / (step * factor) <= 6)
    first = math.ceil(low / step)
    return [place * step for place in range(first, math.floor(high / step) + 1)]


def plain(number):
    """A number without needless zeros."""
    return f"{number:.10g}"


def chart(title, across, up, curves, top, logarithmic=False):
    """One chart as SVG elements, from `top` down: curves are (name, [(x, y)])."""
    turn = math.log10 if logarithmic else (lambda number: number)
    xs = [turn(x) for _, points in curves for x, _ in points]
    ys = [y for _, points in curves for _, y in points]
    x0, x1 = min(xs), max(xs)
    y0, y1 = min(ys), max(ys)
    margin = 0.06 * (y1 - y0) or 1.0
    y0, y1 = y0 - margin, y1 + margin
    width, height = WIDTH - LEFT - RIGHT, HEIGHT - TOP - BOTTOM

    def place(x, y):
        return LEFT + (turn(x) - x0) / (x1 - x0) * width, top + TOP + (y1 - y) / (y1 - y0) * height

    parts = [
        f'<text x="{LEFT}" y="{top + 20}" font-size="14" font-weight="bold">{title}</text>',
        f'<rect x="{LEFT}" y="{top + TOP}" width="{width}" height="{height}" fill="none" stroke="#888"/>',
        f'<text x="{LEFT + width / 2}" y="{top + HEIGHT - 8}" text-anchor="middle">{across}</text>',
        f'<text x="14" y="{top + TOP + height / 2}" text-anchor="middle" '
        f'transform="rotate(-90 14 {top + TOP + height / 2})">{up}</text>',
    ]
    for tick in ticks(x0, x1, logarithmic):
        x, _ = place(tick, y0)
        parts.append(f'<path d="M{x:.1f} {top + TOP}v{height}" stroke="#ddd"/>')
        parts.append(f'<text x="{x:.1f}" y="{top + TOP + height + 15}" text-anchor="middle">{plain(tick)}</text>')
    for tick in ticks(y0, y1, False):
        y = top + TOP + (y1 - tick) / (y1 - y0) * height
        parts.append(f'<path d="M{LEFT} {y:.1f}h{width}" stroke="#ddd"/>')
        parts.append(f'<text x="{LEFT - 5}" y="{y + 4:.1f}" text-anchor="end">{plain(tick)}</text>')
    for (name, points), colour, number in zip(curves, COLOURS, range(4)):
        # As many points as there are pixels are enough; the ends of a jump are kept.
        step = max(1, len(points) // 1500)
        line = " ".join(f"{x:.1f},{y:.1f}" for x, y in (place(*point) for point in points[::step]))
        parts.append(f'<polyline points="{line}" fill="none" stroke="{colour}" stroke-width="1.5"/>')
        # Names stand at the right of the title, one after the other.
        x = WIDTH - RIGHT - 110 * (len(curves) - number)
        parts.append(f'<path d="M{x} {top + 16}h18" stroke="{colour}" stroke-width="3"/>')
        parts.append(f'<text x="{x + 24}" y="{top + 20}">{name}</text>')
    return parts


def save(path, charts):
    """Charts below one another: each a tuple as `chart` takes it, without `top`."""
    parts = []
    for number, (title, across, up, curves, *rest) in enumerate(charts):
        parts += chart(title, across, up, curves, number * HEIGHT, *rest)
    height = HEIGHT * len(charts)
    with open(path, "w") as file:
        file.write(
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" '
            f'font-family="DejaVu Sans, sans-serif" font-size="11">\n'
            f'<rect width="{WIDTH}" height="{height}" fill="white"/>\n' + "\n".join(parts) + "\n</svg>\n"
        )
