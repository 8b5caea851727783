"""Captures, job files and truth of a second engine, written apart from the simulator, so that nothing is tuned to one
model alone.

    python3 make.py FOLDER FIRST COUNT [--kind KIND]

writes COUNT cases from number FIRST on; KIND is a cause id, or wh: and a reason for withholding. Needs numpy.
"""
import json
import os
import sys

from case import Case
from pickups import dump


def main():
    out, first, count = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    kind = sys.argv[sys.argv.index("--kind") + 1] if "--kind" in sys.argv else None
    os.makedirs(out, exist_ok=True)
    for seed in range(first, first + count):
        case = Case(seed, kind)
        try:
            events, _ = case.make()
        except ValueError:  # too short to hold a spark
            continue
        stem = os.path.join(out, f"{seed:05d}")
        dump(stem + ".vcd", events)
        with open(stem + ".job.toml", "w") as file:
            file.write(case.job())
        with open(stem + ".truth.json", "w") as file:
            json.dump(case.truth(), file)


if __name__ == "__main__":
    main()
