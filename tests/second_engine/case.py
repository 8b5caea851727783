"""One engine, one job, one fault: what the ignition does, and what is then true."""
import math

import numpy as np

from crank import ENGINES, Engine, blip_profile
from pickups import WHEELS, Pickups

CAUSES = [
    "none", "off-target", "set-after-tdc", "set-out-of-base-mode", "not-in-base-mode", "clamp-on-other-lead",
    "drive-tooth-off", "fixed-delay", "mechanism-advancing", "worn-drive", "weak-supply", "dead-cylinder",
    "clamp-on-coil-lead", "dwell-start-seen",
]
REASONS = [
    "no-crank", "no-spark", "pattern-mismatch", "unsteady", "too-few-sparks", "interference", "pickups-swapped",
    "wrong-edge", "spark-rate", "outside-idle-band", "setting-moved",
]


class Case(Pickups):
    """One engine, one job, one fault: `advance(i)` of each firing of cylinder one, pickups, files."""

    def __init__(self, seed, kind=None):
        rng = self.rng = np.random.default_rng(seed + 770_000)
        self.seed = seed
        self.kind = kind or self.draw_kind()
        k = self.kind
        pool = list(ENGINES)
        self.control = rng.choice(["computer", "computer", "computer", "commanded", "mechanical"])
        if k in ("set-out-of-base-mode", "not-in-base-mode"):
            self.control = "computer"
        if k == "mechanism-advancing":
            self.control = "mechanical"
        if k == "fixed-delay" and self.control == "mechanical":
            self.control = "commanded"
        if k in ("dead-cylinder",):
            pool = ["four", "four-other", "five", "six", "six-vee", "eight", "eight-other", "three"]
        if k in ("clamp-on-other-lead", "clamp-on-coil-lead"):
            pool = ["three", "four", "four-other", "five", "six", "six-vee", "six-odd", "eight", "eight-other"]
        self.name = str(rng.choice(pool))
        self.spark = "distributor" if rng.random() < 0.7 or self.control == "mechanical" else str(rng.choice(["paired", "single"]))
        if k in ("drive-tooth-off", "worn-drive", "clamp-on-coil-lead", "set-after-tdc", "off-target", "setting-moved",
                 "set-out-of-base-mode"):
            self.spark = "distributor"
        if ENGINES[self.name][0] in (1, 3, 5) and self.spark == "paired":
            self.spark = "single"
        if self.name == "six-odd" and self.spark == "paired":
            self.spark = "single"
        self.engine = Engine(rng, self.name)
        self.wheel()
        self.target_and_band()

    def draw_kind(self):
        r = self.rng.random()
        if r < 0.2:
            return "none"
        if r < 0.85:
            return str(self.rng.choice(CAUSES[1:]))
        return "wh:" + str(self.rng.choice(REASONS))

    def wheel(self):
        rng = self.rng
        self.marks = None
        needs_wheel = self.kind in ("dead-cylinder", "wh:wrong-edge", "wh:pattern-mismatch", "wh:interference")
        if rng.random() < 0.25 and not needs_wheel:
            n = int(rng.choice([1, 1, 2, 3]))
            near = float(rng.choice([0.0, 5.0, 10.0, 60.0, 84.0]))
            gaps = {1: [360.0], 2: [150.0, 210.0], 3: [90.0, 110.0, 160.0]}[n]
            self.marks = sorted([(near + sum(gaps[:i])) for i in range(n)])
            self.marks = [m if m < 360 else m - 360 for m in self.marks]
        else:
            self.teeth, self.missing = WHEELS[int(rng.choice(len(WHEELS), p=[0.3, 0.25, 0.1, 0.15, 0.1, 0.1]))]
            if self.kind == "dead-cylinder":
                need = 4 * self.engine.count / 2 + 3
                fitting = [w for w in WHEELS[:5] if w[0] - w[1] >= max(12, need)]
                self.teeth, self.missing = fitting[int(rng.integers(len(fitting)))]
            self.first = float(np.round(rng.uniform(0, 359.9), 1))

    def target_and_band(self):
        rng = self.rng
        self.base = float(rng.choice([4, 5, 6, 8, 10, 10, 12, 14, 15]))
        self.extra = float(rng.choice([0, 0, 0, 2, 3])) if self.control == "computer" else 0.0
        self.offset = float(rng.choice([6, 8, 10, 12])) if self.control != "mechanical" else 0.0
        self.commanded = float(rng.choice([10, 12, 15, 18]))
        self.target = self.commanded if self.control == "commanded" else self.base + self.extra
        self.idle = float(rng.uniform(640, 860))
        self.band = [int(round(self.idle - 140, -1)), int(round(self.idle + 150, -1))]
        if abs(2 * self.target - self.offset) < 2:  # a true tie of two causes: no case to count
            self.offset += 4
        self.gear = int(rng.choice([11, 12, 13, 14, 15]))

    # ---- what the ignition does
    def advances(self, angle, times, rpm):
        """Advance of each firing of cylinder one (angle 0, 720, ...), degrees, and the extra time of each spark."""
        rng, k = self.rng, self.kind
        firings = np.arange(720, angle[-1] - 720, 720)
        at = np.interp(firings, angle, times)
        window = 720
        mean = 2 * window / (np.interp(firings + window, angle, times) - np.interp(firings - window, angle, times)) / 6
        n = len(firings)
        if n < 3:
            raise ValueError("too short")
        self.mean_rpm, self.firings, self.at = mean, firings, at
        slope = np.gradient(mean, at)
        scatter = rng.uniform(0.05, 0.25)
        setting = self.target + rng.normal(0, 0.25)
        clean = np.zeros(n)
        delay = np.zeros(n)
        if k == "off-target":
            away = self.away()
            setting = self.target + away
        elif k == "set-after-tdc":
            setting = -self.target + rng.normal(0, 0.3)
        elif k == "set-out-of-base-mode":
            setting = self.target - self.offset + rng.normal(0, 0.5)
        elif k == "drive-tooth-off":
            setting = self.target + float(rng.choice([-1, 1])) * 720 / self.gear + rng.normal(0, 0.3)
        elif k == "not-in-base-mode":
            if rng.random() < 0.4:
                setting = self.target - self.offset + rng.normal(0, 0.4)
            clean = self.offset + np.clip((mean - self.idle) * rng.uniform(6, 12) / 1000, -3, 16)
            steer = -rng.uniform(0.03, 0.10) * (mean - self.idle)
            clean = np.where(np.abs(mean - self.idle) < 120, self.offset + np.clip(steer, -4, 4), clean)
        elif k == "mechanism-advancing":
            if rng.random() < 0.6:  # weights already out
                start = self.idle - rng.uniform(120, 250)
                clean = np.clip((mean - start) * rng.uniform(10, 18) / 1000, 0, 20)
                setting = self.target + rng.normal(0, 0.3)
            else:  # manifold vacuum
                load = np.clip(slope / 600, 0, 1)
                smooth = np.zeros(n)
                s = 1.0
                for i in range(n):
                    s += (1 - load[i] * 1.2 - s) * 0.35
                    smooth[i] = max(0, s)
                clean = smooth * rng.uniform(7, 12)
        elif k == "fixed-delay":
            self.delay_us = float(rng.uniform(150, 500))
            delay += self.delay_us * 1e-6
        elif k == "dwell-start-seen":
            delay -= rng.uniform(2.0, 4.5) * 1e-3
        if self.control == "mechanical" and k != "mechanism-advancing":
            clean = clean + np.clip((mean - (self.band[1] + 100)) * 0.012, 0, 20)
        if k == "worn-drive":
            wear = np.zeros(n)
            s = 0.0
            size = rng.uniform(1.0, 1.8)
            for i in range(n):
                s = 0.2 * s + rng.normal(0, size)
                wear[i] = s
            clean = clean + wear + 1.2 * np.sign(slope) * (np.abs(slope) > 300)
        if k == "wh:setting-moved":
            mid = at[-1] * rng.uniform(0.35, 0.65)
            clean = clean + np.clip((at - mid) * rng.uniform(3, 6), 0, rng.uniform(6, 12))
        noise = rng.normal(0, scatter, n)
        return setting + clean + noise, delay

    def away(self):
        """An amount off that lies 2 degrees from every other signature."""
        for _ in range(1000):
            a = self.rng.uniform(-12, 12)
            others = [0, -2 * self.target, -self.offset, self.offset, 720 / self.gear, -720 / self.gear]
            if min(abs(a - o) for o in others) > 2.6 and abs(a) > 2.5:
                return float(a)
        return 4.0

    def steady(self):
        mean, at = self.mean_rpm, self.at
        rate = np.gradient(mean, at)
        level = np.convolve(np.abs(np.gradient(np.convolve(np.pad(mean, 2, mode="edge"), np.ones(5) / 5, "valid"), at)), np.ones(3) / 3, "same")[: len(mean)]
        return (mean > self.band[0]) & (mean < self.band[1]) & (level < 90)

    # ---- what the pickups see
    def make(self):
        rng, k = self.rng, self.kind
        blips = int(rng.choice([1, 1, 2]))
        top = float(rng.uniform(1600, 2400))
        profile, seconds = blip_profile(rng, self.idle, blips, top)
        if k == "wh:outside-idle-band":
            away = self.idle * float(rng.choice([1.35, 1.5]))
            profile, seconds = (lambda t: away), 9.0
        if k == "wh:unsteady":
            rate, depth = rng.uniform(0.3, 0.8), rng.uniform(0.2, 0.45)
            profile, seconds = (lambda t: self.idle * (1 + depth * math.sin(math.tau * rate * t))), 10.0
        if k == "wh:too-few-sparks":
            profile, seconds = (lambda t: self.idle), float(rng.uniform(0.9, 1.0))
        dead = None
        if k == "dead-cylinder":
            dead = self.dead = int(rng.integers(1, self.engine.count + 1))
        angle, times, rpm = self.engine.run(profile, seconds, dead)
        first_angle = rng.uniform(0, 720)
        advance, delay = self.advances(angle, times, rpm)
        self.truth_advance = None
        ok = self.steady()
        spark_angle = self.firings - advance
        spark_time = np.interp(spark_angle, angle, times) + delay
        true_angle = np.interp(spark_time, times, angle)
        if k == "dwell-start-seen":
            true_angle = np.interp(spark_time, times, angle)
        seen = self.firings - true_angle
        sparks = [(t, True) for t in spark_time]
        count = self.engine.count
        if k == "clamp-on-other-lead":
            others = [i for i in range(1, count) if self.engine.firing[i] % 360 != 0]
            lead = int(rng.choice(others))
            move = self.engine.firing[lead]
            self.lead = self.engine.order[lead]
            base = spark_angle + move
            sparks = [(t, True) for t in np.interp(base, angle, times)]
            seen = seen - move
        if k == "clamp-on-coil-lead":
            everything = []
            for i in range(count):
                everything += np.interp(spark_angle + self.engine.firing[i], angle, times).tolist()
            sparks = [(t, True) for t in sorted(everything)]
        elif self.spark == "paired":
            waste = np.interp(spark_angle + 360, angle, times) + delay
            sparks = sorted([(t, True) for t in spark_time] + [(t, False) for t in waste]) if k != "clamp-on-other-lead" else \
                sorted(sparks + [(t, True) for t in np.interp(base + 360, angle, times)])
        if k == "wh:spark-rate":
            mode = rng.choice(["half", "many"])
            if mode == "half":
                sparks = sparks[::2] if self.spark != "paired" else sparks[::4]
            else:
                extra = [(float(np.interp(s + a, angle, times)), True) for s in spark_angle for a in (240, 480)]
                sparks = sorted(sparks + extra)
        if k == "wh:no-spark":
            sparks = []
        seen = ((seen + 180) % 360) - 180
        self.scatter = None
        if ok.sum() >= 3 and k not in ("clamp-on-coil-lead",):
            a = seen[ok]
            self.truth_advance = float(np.median(a))
            self.scatter = float(np.median(np.abs(a - np.median(a))) * 1.4826)
        self.rpm = float(np.median(self.mean_rpm[ok])) if ok.any() else None
        return self.pickups(angle, times, sparks)

    def job(self):
        e = self.engine
        lines = [f'name = "Sluice engine {self.seed}"', "", "[engine]", f"cylinders = {e.count}",
                 f"firing_order = {e.order}", f"firing_intervals = {e.intervals}", f'spark = "{self.spark}"']
        if self.spark == "distributor":
            lines += [f'rotor = "{self.rng.choice(["clockwise", "counterclockwise"])}"', "housing_diameter_mm = 70"]
            if self.kind == "drive-tooth-off" or self.rng.random() < 0.6:
                lines.append(f"drive_gear_teeth = {self.gear}")
        lines += ["", "[timing]", f'control = "{self.control}"', f"base_btdc = {self.base}", 'calibration = "stock"',
                  f"extra = {self.extra}", "tolerance = 1.0", f"harness_offset = {self.offset}",
                  f"idle_rpm = {self.band}", "supply_min_v = 13.2"]
        if self.control == "commanded":
            lines.append(f"commanded_btdc = {self.commanded}")
        lines += ["", "[crank]"]
        if self.marks is not None:
            lines.append(f"marks_btdc = {[float(m) for m in self.marks]}")
        else:
            lines += [f"teeth = {self.teeth}", f"missing = {self.missing}", f"first_edge_btdc = {self.first}"]
        lines += [f'active_edge = "{self.active["crank"]}"', f"sensor_delay_us = {self.sensor_us:.1f}", "", "[spark_pickup]",
                  f'active_edge = "{self.active["spark1"]}"', f"delay_us = {self.spark_us:.1f}"]
        if self.rng.random() < 0.3 and self.kind != "not-in-base-mode" and self.control == "computer":
            lines += ["", "[context]", "base_mode = true"]
        return "\n".join(lines) + "\n"

    def truth(self):
        wheel = f"marks{len(self.marks)}" if self.marks is not None else f"{self.teeth}-{self.missing}"
        withheld = self.kind[3:] if self.kind.startswith("wh:") else None
        return {"seed": self.seed, "advance": self.truth_advance, "cause": "none" if withheld else self.kind,
                "withheld": withheld, "target": self.target, "rpm": self.rpm, "scatter": self.scatter, "wheel": wheel,
                "engine": self.name, "spark": self.spark, "control": self.control, "dead": getattr(self, "dead", None),
                "lead": getattr(self, "lead", None), "delay_us": getattr(self, "delay_us", None),
                "offset": self.offset}
