"""What the spark clamp's input does: threshold, delay against the current of the front, either way round."""

from bench import crossings, simulate, span


def spark(amperes, hertz=4e6, decay="300n"):
    """The front of a spark as a damped ring; secondary, logic, clamped input, held peak, threshold."""
    body = f"""bi 0 lead i = {amperes}*sin(6.28318*{hertz}*max(time-2u,0))*exp(-max(time-2u,0)/{decay})
l1 lead 0 1u
l2 hot 0 400u
k1 l1 l2 0.95
x hot out v33 spark
"""
    return simulate("spark", body, 5e-9, 100e-6, ["v(hot)", "v(out)", "v(x.a)", "v(x.held)", "v(x.th)"])


def delay_and_length(amperes):
    """Seconds from the front to the logic's edge, and how long it stays; `None` where there is none."""
    rows = spark(amperes)
    edges = crossings(rows, 2, 1.65, True)
    if not edges:
        return None
    ends = crossings(rows, 2, 1.65, False)
    return edges[0] - 2e-6, ends[0] - edges[0], len(edges), span(rows, 4)


def threshold(sign):
    """Least current of the front, A, that is seen."""
    low, high = 0.3, 30.0
    for _ in range(9):
        middle = (low * high) ** 0.5
        low, high = (low, middle) if delay_and_length(sign * middle) else (middle, high)
    return (low * high) ** 0.5


def thresholds():
    """Held voltages at which the logic rises and falls, V."""
    rows = spark(20.0)
    rise = crossings(rows, 2, 1.65, True)[0]
    before = [row[5] for row in rows if row[0] < rise][0]
    return before, min(row[5] for row in rows)
