"""What the two pickups see of crank and sparks, and the files that are written of it."""
import numpy as np

WHEELS = [(60, 2), (36, 1), (36, 2), (24, 1), (24, 2), (12, 1)]


class Pickups:
    """The part of a case that makes edges: needs its random numbers, its wheel or marks, its kind."""

    def crank_edges(self, angle, times):
        """(time, level) of the crank signal; the active edge is a rise, turned over at writing where it is a fall."""
        rng = self.rng
        edges = []
        last = angle[-1]
        if self.marks is not None:
            jitter = rng.uniform(0.5, 3e0) * 1e-6
            width = rng.uniform(2, 6)
            turns = np.arange(0, last, 360)
            for m in self.marks:
                at = turns - m
                at = at[(at > 0) & (at < last - 8)]
                up = np.interp(at, angle, times) + rng.normal(0, jitter, len(at))
                down = np.interp(at + width, angle, times) + rng.normal(0, jitter, len(at))
                edges += [(float(a), 1) for a in up] + [(float(b), 0) for b in down]
        else:
            teeth, missing = self.teeth, self.missing
            if self.kind == "wh:pattern-mismatch":
                other = [w for w in WHEELS + [(30, 1), (58, 2), (48, 2)] if w != (teeth, missing)]
                teeth, missing = other[int(rng.integers(len(other)))]
                self.real_wheel = (teeth, missing)
            pitch = 360 / teeth
            reluctor = rng.random() < 0.5
            error = rng.normal(0, rng.choice([0.005, 0.02, 0.05]), teeth)
            if reluctor:  # the neighbours of the gap lie off
                error[0] += rng.uniform(-0.25, 0.25) * pitch / 6
                error[teeth - missing - 1] += rng.uniform(-0.25, 0.25) * pitch / 6
            jitter = float(rng.choice([0.2, 1.0, 3.0, 6.0])) * 1e-6
            width = pitch * rng.uniform(0.35, 0.6)
            turns = np.arange(0, last, 360)
            for tooth in range(teeth - missing):
                at = turns - self.first + tooth * pitch + error[tooth]
                at = at[(at > 0) & (at < last - 2 * pitch)]
                up = np.interp(at, angle, times) + rng.normal(0, jitter, len(at))
                # The other edge of a variable-reluctance signal lies halfway to the next tooth, in the gap too.
                wide = width if self.kind != "wh:wrong-edge" else pitch / 2 * (missing + 1 if tooth == teeth - missing - 1 else 1)
                down = np.interp(at + wide, angle, times) + rng.normal(0, jitter, len(at))
                edges += [(float(a), 1) for a in up] + [(float(b), 0) for b in down]
        edges.sort()
        return edges

    def pickups(self, angle, times, sparks):
        rng, k = self.rng, self.kind
        noisy = rng.random() < 0.4
        crank = self.crank_edges(angle, times)
        end = crank[-1][0] if crank else times[-1]
        sensor_delay = float(rng.choice([0, 0, 20, 45])) * 1e-6
        spark_delay = float(rng.choice([0, 0, 10, 25])) * 1e-6
        # Lost teeth and false pulses.
        if noisy and self.marks is None:
            lost = set(np.nonzero(rng.random(len(crank) // 2) < 0.0006)[0].tolist())
            kept, i = [], 0
            for e in crank:
                if e[1] == 1:
                    i += 1
                if i in lost:
                    continue
                kept.append(e)
            crank = kept
        pulses = []
        if noisy:
            for t, _ in sparks:
                if rng.random() < 0.08:
                    a = t + rng.uniform(2e-6, 40e-6)
                    pulses.append((a, a + rng.uniform(1e-6, 8e-6)))
            for _ in range(int(end * 2)):
                a = rng.uniform(0, end)
                pulses.append((a, a + rng.uniform(1e-6, 20e-6)))
        if k == "wh:interference":
            rate = 1200 if rng.random() < 0.5 else 2500
            for a in np.cumsum(rng.exponential(1 / rate, int(end * rate))):
                if a < end:
                    pulses.append((float(a), float(a) + rng.uniform(20e-6, 150e-6)))
        if k == "wh:no-crank":
            crank = []
        crank_levels = overlay(crank, pulses if crank else [])
        spark_levels = []
        strikes = 3 if rng.random() < 0.25 else 1
        width = rng.uniform(60e-6, 900e-6)
        ringing = rng.random() < 0.4
        for t, _ in sparks:
            if noisy and rng.random() < 0.01:
                continue  # not seen
            t = t + rng.normal(0, 0.5e-6)
            spark_levels.append((t, t + width))
            if ringing:
                a = t + width
                for _ in range(int(rng.integers(1, 4))):
                    a += rng.uniform(8e-6, 60e-6)
                    b = a + rng.uniform(4e-6, 40e-6)
                    spark_levels.append((a, b))
                    a = b
            for s in range(1, strikes):
                a = t + s * rng.uniform(1.3e-3, 1.6e-3)
                spark_levels.append((a, a + width / 2))
        if noisy and k != "wh:no-spark":
            for _ in range(int(end * 0.5)):
                a = rng.uniform(0, end)
                spark_levels.append((a, a + rng.uniform(1e-6, 3e-6)))
        spark_levels = overlay([], spark_levels)
        return self.write_up(crank_levels, spark_levels, sensor_delay, spark_delay, end)

    def write_up(self, crank, spark, sensor_delay, spark_delay, end):
        rng, k = self.rng, self.kind
        active = {"crank": str(rng.choice(["rising", "falling"])), "spark1": str(rng.choice(["rising", "falling"]))}
        real = dict(active)
        if k == "wh:wrong-edge":
            real["crank"] = "falling" if active["crank"] == "rising" else "rising"
        signals = {"crank": [(t + sensor_delay, v) for t, v in crank], "spark1": [(t + spark_delay, v) for t, v in spark]}
        if k == "wh:pickups-swapped":
            signals = {"crank": signals["spark1"], "spark1": signals["crank"]}
        events = []
        for name, level in signals.items():
            for t, v in level:
                events.append((t, name, v if real[name] == "rising" else 1 - v))
        for name in signals:
            events.append((1e-7, name, 0 if real[name] == "rising" else 1))
        weak = k == "weak-supply"
        volts = rng.uniform(11.6, 12.8) if weak else rng.uniform(13.6, 14.4)
        self.volts = volts
        if rng.random() < 0.85 or weak:
            for t in np.arange(0.003, end, 0.02):
                events.append((float(t), "battery_v", round(float(volts + rng.normal(0, 0.05)), 2)))
        events.sort(key=lambda e: e[0])
        start = float(rng.uniform(0, 0.15))
        events = [e for e in events if e[0] < 1e-6 or e[0] > start]
        self.sensor_us, self.spark_us = sensor_delay * 1e6, spark_delay * 1e6
        self.active = active
        return events, end


def overlay(levels, pulses):
    """One signal from its levels and pulses over them (a pulse turns the level over while it lasts)."""
    changes = {}
    for t, v in levels:
        changes[t] = changes.get(t, 0) + (1 if v else -1)
    for a, b in pulses:
        changes[a] = changes.get(a, 0) + 1
        changes[b] = changes.get(b, 0) - 1
    out, depth, last = [], 0, 0
    for t in sorted(changes):
        depth += changes[t]
        v = 1 if depth > 0 else 0
        if v != last:
            out.append((t, v))
            last = v
    return out


def dump(path, events):
    ids = {"crank": "c", "spark1": "s", "battery_v": "b"}
    with open(path, "w") as f:
        f.write("$timescale 100 ns $end\n$scope module well $end\n$var wire 1 c crank $end\n$var wire 1 s spark1 $end\n"
                "$var real 64 b battery_v $end\n$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\nxc\nxs\n$end\n")
        before = 0
        for t, name, v in events:
            tick = int(round(t * 1e7))
            if tick != before:
                f.write(f"#{tick}\n")
                before = tick
            f.write(f"r{v} b\n" if name == "battery_v" else f"{v}{ids[name]}\n")
