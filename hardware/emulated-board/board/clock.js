// Time on the emulated board: whole processor cycles, with the alarms of the peripherals on the same scale.
//
// The emulator's peripherals ask for `nanos` and for alarms in nanoseconds; its own clock adds nanoseconds up in
// floating point. Here the cycle is the only thing counted, so that an edge of a capture falls on a known cycle.

class Alarm {
  constructor(clock, callback) {
    this.clock = clock;
    this.callback = callback;
    this.nanos = 0;
    this.next = null;
    this.scheduled = false;
  }

  schedule(delta) {
    if (this.scheduled) this.clock.unlink(this);
    this.clock.link(this, delta);
  }

  cancel() {
    if (this.scheduled) this.clock.unlink(this);
  }
}

export class CycleClock {
  constructor(hertz) {
    this.cycle = 0;
    this.hertz = hertz;
    this.baseCycle = 0;
    this.baseNanos = 0;
    this.head = null;
    /** The cycle at which `fire` has something to do. */
    this.nextCycle = Infinity;
    // While an alarm's callback runs, time is the alarm's own: what it schedules next does not drift.
    this.held = -1;
  }

  get nanos() {
    return this.held >= 0 ? this.held : this.nanosAt(this.cycle);
  }

  get micros() {
    return this.nanos / 1000;
  }

  nanosAt(cycle) {
    return this.baseNanos + ((cycle - this.baseCycle) * 1e9) / this.hertz;
  }

  cycleAt(nanos) {
    return this.baseCycle + Math.ceil(((nanos - this.baseNanos) * this.hertz) / 1e9 - 1e-6);
  }

  /** The processor's clock changes from now on. */
  setFrequency(hertz) {
    this.baseNanos = this.nanosAt(this.cycle);
    this.baseCycle = this.cycle;
    this.hertz = hertz;
    this.headChanged();
  }

  createAlarm(callback) {
    return new Alarm(this, callback);
  }

  link(alarm, delta) {
    alarm.nanos = this.nanos + delta;
    alarm.scheduled = true;
    let before = null;
    let after = this.head;
    while (after && after.nanos <= alarm.nanos) {
      before = after;
      after = after.next;
    }
    alarm.next = after;
    if (before) before.next = alarm;
    else {
      this.head = alarm;
      this.headChanged();
    }
  }

  unlink(alarm) {
    alarm.scheduled = false;
    if (this.head === alarm) {
      this.head = alarm.next;
      this.headChanged();
      return;
    }
    let item = this.head;
    while (item && item.next !== alarm) item = item.next;
    if (item) item.next = alarm.next;
  }

  headChanged() {
    this.nextCycle = this.head ? this.cycleAt(this.head.nanos) : Infinity;
  }

  /** Runs every alarm that is due. */
  fire() {
    while (this.nextCycle <= this.cycle) {
      const alarm = this.head;
      this.unlink(alarm);
      this.held = alarm.nanos;
      alarm.callback();
      this.held = -1;
    }
  }
}
