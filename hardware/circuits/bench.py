"""Runs ngspice on the circuits and measures what came out. Standard library only."""

import os
import subprocess
import tempfile

HERE = os.path.dirname(os.path.abspath(__file__))
RAILS = "v33 v33 0 3.3\n"


def simulate(name, body, step, stop, nodes, initial=False):
    """The voltages (or currents) of `nodes` over time, as a list of rows that begin with the time."""
    files = ["parts", "crank-vr", "crank-hall", "spark", "supply"]
    includes = "".join(f".include {HERE}/{file}.inc\n" for file in files)
    start = "uic" if initial else ""
    with tempfile.TemporaryDirectory() as folder:
        deck = (
            f"* {name}\n.param bulk0=0\n{includes}{RAILS}{body}\n"
            ".options method=gear reltol=1e-3 abstol=1e-9 vntol=1e-6 itl4=200\n"
            f".tran {step} {stop} 0 {step} {start}\n"
            f".control\nset wr_singlescale\nset wr_vecnames\nrun\nwrdata {folder}/out {' '.join(nodes)}\nquit\n.endc\n.end\n"
        )
        with open(f"{folder}/deck.cir", "w") as file:
            file.write(deck)
        done = subprocess.run(
            ["ngspice", "-b", f"{folder}/deck.cir"], capture_output=True, text=True, timeout=300, cwd=folder
        )
        try:
            with open(f"{folder}/out") as file:
                next(file)
                rows = [[float(word) for word in line.split()] for line in file]
        except (FileNotFoundError, StopIteration):
            raise SystemExit(f"{name}: ngspice gave nothing\n{done.stdout[-2000:]}{done.stderr[-2000:]}")
    if rows[-1][0] < 0.99 * seconds(stop):
        raise SystemExit(f"{name}: ngspice stopped at {rows[-1][0]} s\n{done.stderr[-2000:]}")
    return rows


def seconds(text):
    """A time as ngspice writes it, in seconds."""
    if isinstance(text, (int, float)):
        return float(text)
    units = {"n": 1e-9, "u": 1e-6, "m": 1e-3}
    return float(text[:-1]) * units[text[-1]] if text[-1] in units else float(text)


def crossings(rows, column, level, rising, after=0.0):
    """Times at which a column passes a level, between samples by a straight line."""
    found = []
    for (before, now) in zip(rows, rows[1:]):
        a, b = before[column] - level, now[column] - level
        if now[0] < after or not (a < 0 <= b if rising else a > 0 >= b):
            continue
        found.append(before[0] + (now[0] - before[0]) * a / (a - b))
    return found


def span(rows, column, after=0.0):
    """Lowest and highest value of a column."""
    values = [row[column] for row in rows if row[0] >= after]
    return min(values), max(values)


def integral(rows, column):
    """Integral of a column over time."""
    return sum((b[0] - a[0]) * (a[column] + b[column]) / 2 for a, b in zip(rows, rows[1:]))
