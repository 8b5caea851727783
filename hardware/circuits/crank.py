"""What the two crank inputs do: threshold, delay, hysteresis, and what a wrong clip does to them."""

import math

from bench import crossings, simulate, span

# Lowest and highest voltage that a 3.3 V input may see (absolute limits of such parts: 0.3 V beyond the supply).
LOW, HIGH = -0.3, 3.6
# Arming voltage at the filter: 1.65 V is half the supply.
ARMING = 1.85
# A 400 V coil primary, ringing: what a clip on the coil's terminal meets.
COIL = "{sign}*400*exp(-max(time-20u,0)/400u)*cos(62832*max(time-20u,0))*(time>20u)"


def vr(amplitude, hertz, arming=ARMING, offset=0, periods=3):
    """A sensor of 900 ohm that gives a sine; lead voltage, logic, amplitude pin, amplifier inputs, signal."""
    body = f"""varm arming 0 {arming}
vemf e lm sin(0 {amplitude} {hertz})
rs e lp 900
rg lm 0 10meg
x lp lm out ampl arming v33 crank_vr offset={offset}
"""
    nodes = ["v(lp)", "v(lm)", "v(out)", "v(ampl)", "v(x.inp)", "v(x.inm)", "v(x.signal)"]
    rows = simulate("crank_vr", body, 1 / hertz / 2000, periods / hertz, nodes)
    return [[row[0], row[1] - row[2], *row[3:]] for row in rows]


def vr_delay(amplitude, hertz, offset=0):
    """Seconds from the lead's zero crossing to the logic's edge; `None` where there is no edge."""
    rows = vr(amplitude, hertz, offset=offset)
    zeros = crossings(rows, 1, 0, False, 0.3 / hertz)
    edges = crossings(rows, 2, 1.65, True, 0.3 / hertz)
    if not edges:
        return None
    # The edge belongs to the crossing next to it; an early one (offset) stands before it.
    delays = [min((edge - zero for zero in zeros), key=abs) for edge in edges]
    return delays[-1]


def vr_table():
    """Rows of the delay: amplitude, frequency, slew in V/s, delay, delay with the offset either way."""
    table = []
    for amplitude, hertz in [
        (0.25, 60), (0.25, 200), (0.5, 200), (0.5, 700), (1, 700), (2, 700), (5, 700), (5, 2000),
        (20, 2000), (20, 6000), (60, 6000), (100, 9000),
    ]:
        delays = [vr_delay(amplitude, hertz, offset) for offset in (0, 0.001, -0.001)]
        table.append((amplitude, hertz, 2 * math.pi * amplitude * hertz, *delays))
    return table


def vr_threshold(arming):
    """Least amplitude, V, that gives edges at this arming voltage."""
    low, high = 0.02, 2.0
    for _ in range(9):
        middle = math.sqrt(low * high)
        # The first period settles the latch.
        edges = crossings(vr(middle, 500, arming, periods=3), 2, 1.65, True, 0.0025)
        low, high = (low, middle) if edges else (middle, high)
    return math.sqrt(low * high)


def hall(drive, step, stop, v5=True):
    """Lead voltage, logic, comparator input of the Hall input with this drive."""
    body = f"v5 v5 0 {5 if v5 else 0}\n{drive}\nx lead out v33 v5 crank_hall\n"
    return simulate("crank_hall", body, step, stop, ["v(lead)", "v(out)", "v(x.in)", "i(v5)"])


def hall_thresholds():
    """Lead voltages at which the logic rises and falls."""
    rows = hall("vl lead 0 pulse(0 5 0 10m 10m 1n 20m)", 1e-5, 20e-3)
    (up,), (down,) = crossings(rows, 2, 1.65, True), crossings(rows, 2, 1.65, False)
    return 5 * up / 10e-3, 5 * (2 - down / 10e-3)


def hall_delays(volts):
    """Delays of the rising and the falling edge of a driven lead, from half its swing."""
    rows = hall(f"vl lead 0 pulse(0 {volts} 100u 1u 1u 300u 600u)", 1e-6, 1.9e-3)
    delays = []
    for rising in (True, False):
        leads, edges = crossings(rows, 1, volts / 2, rising), crossings(rows, 2, 1.65, rising)
        delays.append(edges[-1] - leads[-1])
    return delays


def wrong_clips():
    """Each wrong clip: what, lowest and highest voltage at a chip's input, highest current in the lead, A."""
    found = []
    for sign in (1, -1):
        coil = COIL.format(sign=sign)
        body = f"""varm arming 0 {ARMING}
bcoil c 0 v = {coil}
rc c lp 100
vm lm 0 0
x lp lm out ampl arming v33 crank_vr
"""
        nodes = ["v(x.inp)", "v(x.inm)", "v(ampl)", "i(vm)", "v(c)", "v(lp)"]
        rows = simulate("crank_vr on a coil", body, 5e-7, 2e-3, nodes)
        spans = [span(rows, column) for column in (1, 2, 3)]
        current = max(abs(row[5] - row[6]) / 100 for row in rows)
        name = f"crank (variable reluctance) on a coil primary, {sign * 400:+} V"
        found.append((name, min(s[0] for s in spans), max(s[1] for s in spans), current))
        drive = f"bcoil c 0 v = {coil}\nrc c lead 100"
        rows = simulate(
            "crank_hall on a coil", f"v5 v5 0 5\n{drive}\nx lead out v33 v5 crank_hall\n", 5e-7, 2e-3,
            ["v(x.in)", "v(c)", "v(lead)"],
        )
        current = max(abs(row[2] - row[3]) / 100 for row in rows)
        found.append((f"crank (Hall) on a coil primary, {sign * 400:+} V", *span(rows, 1), current))
    for volts in (32, -32):
        body = f"varm arming 0 {ARMING}\nvb lp 0 pwl(0 0 1u {volts})\nvm lm 0 0\nx lp lm out ampl arming v33 crank_vr\n"
        rows = simulate("crank_vr on a battery", body, 1e-5, 5e-3, ["v(x.inp)", "v(x.inm)", "v(ampl)", "i(vb)"])
        spans = [span(rows, column) for column in (1, 2, 3)]
        current = max(abs(row[4]) for row in rows)
        name = f"crank (variable reluctance) on a battery, {volts:+} V"
        found.append((name, min(s[0] for s in spans), max(s[1] for s in spans), current))
        rows = hall(f"vl lead 0 pwl(0 0 1u {volts})", 1e-5, 5e-3)
        found.append((f"crank (Hall) on a battery, {volts:+} V", *span(rows, 3), max(abs(row[4]) for row in rows)))
    return found
