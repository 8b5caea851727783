"""How the crank turns: speed from the energy over the angle, a pressure for each firing scaled from cycle to cycle."""
import math

import numpy as np

STEP = 0.5  # crank degrees between two points of the speed curve

ENGINES = {
    # cylinders: firing order, firing intervals over one cycle
    "one": (1, [1], [720]),
    "two-even": (2, [1, 2], [360, 360]),
    "three": (3, [1, 3, 2], [240] * 3),
    "four": (4, [1, 3, 4, 2], [180] * 4),
    "four-other": (4, [1, 2, 4, 3], [180] * 4),
    "five": (5, [1, 2, 4, 5, 3], [144] * 5),
    "six": (6, [1, 5, 3, 6, 2, 4], [120] * 6),
    "six-vee": (6, [1, 6, 5, 4, 3, 2], [120] * 6),
    "six-odd": (6, [1, 6, 5, 4, 3, 2], [150, 90] * 3),
    "eight": (8, [1, 8, 4, 3, 6, 5, 7, 2], [90] * 8),
    "eight-other": (8, [1, 5, 4, 2, 6, 3, 7, 8], [90] * 8),
}


def torque_template(kind):
    """Torque of one cylinder over 720 degrees from its firing top dead centre at 360: motored, and of the burn."""
    angle = np.arange(0, 720, STEP)
    theta = np.radians(angle - 360)
    ratio, rod = 9.0, 3.4
    x = (1 - np.cos(theta)) / 2 * 1.0 + (rod - np.sqrt(rod**2 - np.sin(theta) ** 2)) / 2
    volume = 1 / (ratio - 1) + x
    manifold = 0.35
    top = 1 / (ratio - 1) + 1
    closed = (angle >= 180) & (angle < 500)
    pressure = np.where(closed, manifold * (top / volume) ** 1.32, np.where(angle < 180, manifold, 1.0))
    slope = np.gradient(volume, np.radians(STEP))
    motored = (pressure - 1.0) * slope
    # Heat: a Wiebe share, each bit raising the pressure along the expansion that follows.
    start, length = 345 + kind * 3, 50 + kind * 8
    share = np.where(angle < start, 0, 1 - np.exp(-5 * np.clip((angle - start) / length, 0, None) ** 3))
    burn = np.zeros_like(angle)
    rate = np.diff(share, prepend=0)
    for i in np.nonzero(rate > 1e-7)[0]:
        burn[i:] += rate[i] / volume[i] * (volume[i] / volume[i:]) ** 1.3
    burn = np.where(closed, burn, 0.0) * slope
    return motored, burn


class Engine:
    def __init__(self, rng, name, strokes=4):
        self.rng = rng
        self.count, self.order, self.intervals = ENGINES[name]
        self.cycle = 720
        self.firing = np.cumsum([0] + self.intervals[:-1])  # of firing_order[i], from cylinder one's firing
        self.motored, self.burn = torque_template(rng.uniform(0, 1))
        self.work = self.burn.sum() * math.radians(STEP)
        self.loss = -self.motored.sum() * math.radians(STEP)
        # Inertia so that the idle speed swings by about what such engines do.
        self.swing = {1: 0.30, 2: 0.22, 3: 0.12, 4: 0.075, 5: 0.06, 6: 0.045, 8: 0.025}[self.count] * rng.uniform(0.3, 1.4)
        self.uneven = rng.normal(0, 0.05, self.count)

    def run(self, profile, seconds, dead=None, hunt=0.0):
        """Angle grid and the time at each point of it. `profile(t)` is the wanted rpm; angle 0 is TDC one firing."""
        rng = self.rng
        omega = profile(0.0) * math.tau / 60
        idle = omega
        # Inertia from one cycle's ripple at unit burn.
        per = (self.count + self.loss * self.count) / (self.count * self.work)
        base = self.shape(np.full(self.count, per))
        base = base - base.mean()
        energy = np.cumsum(base) * math.radians(STEP)
        inertia = (energy.max() - energy.min()) / (self.swing * idle**2)
        t, times, speeds = 0.0, [0.0], [omega]
        memory = np.zeros(self.count)
        wander = 0.0
        spread = rng.uniform(0.02, 0.09)
        e = 0.5 * inertia * omega**2
        while t < seconds:
            want = profile(t)
            now = omega * 60 / math.tau
            wander = 0.9 * wander + rng.normal(0, 3.0 + hunt)
            error = (want + wander - now) * math.tau / 60
            demand = inertia * omega * error * 0.3 + self.count
            memory = 0.3 * memory + rng.normal(0, spread, self.count)
            burn = (demand + self.loss * self.count) / (self.count * self.work) * (1 + memory + self.uneven)
            burn = np.clip(burn, 0, per * 12)
            if dead is not None:
                burn[self.order.index(dead)] = 0.0
                burn *= self.count / max(1, self.count - 1)
            torque = self.shape(burn) - self.count / (2 * math.tau)
            steps = e + np.cumsum(torque) * math.radians(STEP)
            steps = np.maximum(steps, 0.5 * inertia * (idle * 0.25) ** 2)
            w = np.sqrt(2 * steps / inertia)
            before = np.concatenate(([omega], w[:-1]))
            dt = math.radians(STEP) / ((before + w) / 2)
            clock = t + np.cumsum(dt)
            times.extend(clock.tolist())
            speeds.extend(w.tolist())
            t, omega, e = float(clock[-1]), float(w[-1]), float(steps[-1])
        angle = np.arange(len(times)) * STEP
        return angle, np.array(times), np.array(speeds) * 60 / math.tau

    def shape(self, burn):
        """Torque over the 720 degrees that begin with cylinder one's firing top dead centre."""
        n = int(720 / STEP)
        total = np.zeros(n)
        half = int(360 / STEP)
        for i in range(self.count):
            offset = int(round(self.firing[i] / STEP))
            roll = offset - half
            total += np.roll(self.motored, roll)
            total += np.roll(self.burn, roll) * burn[i]
        return total


def blip_profile(rng, idle, blips, top):
    starts = []
    t = rng.uniform(3.0, 4.5)
    for _ in range(blips):
        starts.append((t, rng.uniform(0.5, 0.9), rng.uniform(0.2, 0.8), rng.uniform(1.0, 1.8)))
        t += rng.uniform(4.5, 5.5)

    def profile(t):
        rpm = idle
        for start, rise, hold, fall in starts:
            if start <= t < start + rise:
                rpm = max(rpm, idle + (top - idle) * (t - start) / rise)
            elif start + rise <= t < start + rise + hold:
                rpm = top
            elif start + rise + hold <= t < start + rise + hold + fall:
                rpm = max(rpm, top - (top - idle) * (t - start - rise - hold) / fall)
        return rpm

    return profile, t + rng.uniform(1.0, 2.0)
