"""What the supply input does with the pulses of ISO 7637-2 and ISO 16750-2, reversed clips and a coil.

Levels and times are from memory: the severest of each standard's tables for 12 V and 24 V systems.
"""

from bench import integral, simulate, span

# A double exponential as those standards draw it: rises in `rise`, falls to a tenth in `fall`.
PULSE = "{rest}+{size}*(1-exp(-max(time-{at},0)*2.3/{rise}))*exp(-max(time-{at},0)*2.3/{fall})"
# The converter with the instrument behind it: 0.3 W while it has 3.6 V, from there down less.
LOAD = "bload bulk 0 i = 0.3/max(v(bulk),3.6)/(1+exp(-(v(bulk)-3.3)*20))\n"
# Lowest voltage at which the converter still gives 3.3 V.
LEAST = 3.6


def simulate_supply(name, source, step, stop, start):
    """Clip voltage, converter input, ADC pin, limiter's voltage, current; from a charged reservoir."""
    body = f".param bulk0={start}\n{source}\nx clip bulk adc v33 supply\n{LOAD}.ic v(bulk)={start}\n"
    nodes = ["v(clip)", "v(bulk)", "v(adc)", "v(x.drain)", "i(v.x.v1)"]
    return simulate(name, body, step, stop, nodes, initial=True)


def pulse(name, rest, peak, ohms, rise, fall, stop):
    """One pulse on top of a supply at `rest` volts."""
    at = stop / 20
    # The product of the two exponentials stays below one: made up for, so that `peak` is reached.
    ratio = fall / rise
    highest = ratio / (1 + ratio) * (1 + ratio) ** (-1 / ratio)
    shape = PULSE.format(rest=rest, size=(peak - rest) / highest, at=at, rise=rise, fall=fall)
    source = f"bs s 0 v = {shape}\nrs s clip {ohms}"
    rows = simulate_supply(name, source, stop / 4000, stop, max(rest - 1, 0))
    joules = integral([[row[0], (row[4] - row[2]) * row[5]] for row in rows], 1)
    current = max(abs(row[5]) for row in rows)
    return name, *span(rows, 1), *span(rows, 2), *span(rows, 3), current, joules


def pulses():
    """Every pulse: name, clip lowest and highest, converter the same, ADC pin the same, A, J in the limiter."""
    ring = "388*exp(-max(time-20u,0)/400u)*cos(62832*max(time-20u,0))*(time>20u)"
    coil = simulate_supply("coil", f"bs s 0 v = 12+{ring}\nrs s clip 100", 5e-7, 2e-3, 11)
    joules = integral([[row[0], (row[4] - row[2]) * row[5]] for row in coil], 1)
    current = max(abs(row[5]) for row in coil)
    return [
        pulse("7637-2 pulse 1, 12 V", 13.5, -150, 10, 1e-6, 2e-3, 5e-3),
        pulse("7637-2 pulse 1, 24 V", 27, -600, 50, 3e-6, 1e-3, 5e-3),
        pulse("7637-2 pulse 2a", 13.5, 13.5 + 112, 2, 1e-6, 50e-6, 5e-4),
        pulse("7637-2 pulse 2b", 0.01, 10, 0.05, 1e-3, 2.0, 2.5),
        pulse("7637-2 pulse 3a, 12 V", 13.5, 13.5 - 220, 50, 5e-9, 150e-9, 4e-6),
        pulse("7637-2 pulse 3b, 12 V", 13.5, 13.5 + 150, 50, 5e-9, 150e-9, 4e-6),
        pulse("7637-2 pulse 3a, 24 V", 27, 27 - 300, 50, 5e-9, 150e-9, 4e-6),
        pulse("7637-2 pulse 3b, 24 V", 27, 27 + 300, 50, 5e-9, 150e-9, 4e-6),
        pulse("16750-2 load dump A, 12 V", 13.5, 101, 0.5, 10e-3, 0.4, 0.8),
        pulse("16750-2 load dump A, 24 V", 27, 202, 1, 10e-3, 0.35, 0.8),
        pulse("jump start, 36 V for 0.5 s", 13.5, 36, 0.1, 1e-3, 50.0, 0.5),
        pulse("reversed, -32 V", 0, -32, 0.01, 1e-3, 500.0, 0.2),
        ("on a coil primary, +400 V", *span(coil, 1), *span(coil, 2), *span(coil, 3), current, joules),
    ]


def cranking(name, first, second):
    """The starting profile: down in 5 ms, 15 ms at the lowest, 50 ms up to the second, 2 s there with 2 Hz."""
    times = "0 12 50m 12 55m {0} 70m {0} 120m {1} 2.12 {1} 2.2 12 2.4 12".format(first, second)
    source = f"vs s1 0 pwl({times})\nvr s s1 sin(0 0.5 2 0.12)\nrs s clip 0.01"
    rows = simulate_supply(name, source, 1e-3, 2.4, 11)
    return name, first, second, *span(rows, 2)


def starts():
    """Levels I, II, IV and III of the profile: lowest and steady voltage, converter lowest and highest."""
    return [
        cranking("level I", 8, 9.5),
        cranking("level IV", 6, 6.5),
        cranking("level II", 4.5, 6.5),
        cranking("level III", 3, 5),
    ]


def divider():
    """ADC voltage times eleven beside the clips' voltage, from 6 to 32 V."""
    found = []
    for volts in (6, 12, 14, 24, 32):
        rows = simulate_supply("divider", f"vs clip 0 {volts}", 1e-4, 5e-3, volts - 1)
        found.append((volts, rows[-1][3] * 11))
    return found
