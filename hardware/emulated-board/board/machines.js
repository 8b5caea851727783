// The programmable input and output blocks, stepped to the cycle, and skipped over where nothing can happen.
//
// *Due*: the cycle at which a state machine executes its next instruction. The emulator executes one instruction
// per step, ignores delays and clock dividers and also steps machines that are switched off; here each machine
// has its own due cycle, so all three hold.
//
// *Resting*: a machine that counts in a loop until its pin changes, or waits for a word. While its pin does not
// change the loop only counts a register down, so any number of rounds can be taken at once; the machine is left
// where it is and brought up to date (`catchUp`) when a pin moves, or when the processor looks at it. This
// makes a job of minutes affordable: between two edges there is nothing to step. That it is equal to plain stepping is
// tested (`test/machines.test.js`), by running the same program both ways.

const LONGEST_LOOP = 32;
const WAIT_PIN = 1;

export class Machines {
  /** `plain`: never skip, for the proof that skipping changes nothing. */
  constructor(mcu, clock, { plain = false } = {}) {
    this.mcu = mcu;
    this.clock = clock;
    this.plain = plain;
    /** The earliest cycle at which anything is to be done here. */
    this.nextCycle = Infinity;
    this.stepped = 0;
    this.skipped = 0;
    this.at = 0;
    this.stepping = false;
    this.all = [];
    for (const block of mcu.pio) this.adopt(block);
  }

  adopt(block) {
    block.run = () => {};
    const states = block.machines.map((machine) => ({
      machine,
      block,
      due: 0,
      fraction: 0,
      resting: false,
      loop: null,
      enabled: false,
      join: 0,
    }));
    this.all.push(...states);
    const { readUint32, writeUint32 } = block;
    block.readUint32 = (offset) => {
      this.catchUp();
      return readUint32.call(block, offset);
    };
    block.writeUint32 = (offset, value) => {
      this.catchUp();
      writeUint32.call(block, offset, value);
      block.checkChangedPins();
      this.afterWrite(states);
    };
    for (const state of states) {
      const { machine } = state;
      machine.clkDivRestart = () => {
        state.due = this.clock.cycle + 1;
        state.fraction = 0;
      };
      const { restart } = machine;
      machine.restart = () => {
        restart.call(machine);
        machine.clkDivRestart();
      };
    }
  }

  afterWrite(states) {
    for (const state of states) {
      const { machine } = state;
      if (machine.enabled && !state.enabled) state.due = Math.max(state.due, this.clock.cycle + 1);
      state.enabled = machine.enabled;
      this.joinQueues(state);
      state.resting = false;
    }
    this.settle();
  }

  /** Joined queues are eight words deep in one direction and gone in the other. */
  joinQueues(state) {
    const { machine } = state;
    const join = machine.shiftCtrl >>> 30;
    if (join === state.join) return;
    state.join = join;
    const Queue = machine.rxFIFO.constructor;
    machine.rxFIFO = new Queue(join & 2 ? 8 : join & 1 ? 0 : 4);
    machine.txFIFO = new Queue(join & 1 ? 8 : join & 2 ? 0 : 4);
    machine.updateDMARx();
    machine.updateDMATx();
  }

  /** A register is looked at or a pin is about to change: everything up to now is executed. */
  catchUp() {
    // A machine that is being stepped has moved the pin itself: now is its cycle, perhaps behind the processor's.
    const now = this.stepping ? this.at : this.clock.cycle;
    while (!this.stepping && this.nextCycle <= now) this.stepDue();
    for (const state of this.all) if (state.enabled && state.resting) this.skip(state, now);
    if (!this.stepping) this.settle();
  }

  /** A pin has changed: no machine rests any more. */
  wake() {
    for (const state of this.all) state.resting = false;
    if (!this.stepping) this.settle();
  }

  /** Executes everything that is due at the current cycle. */
  run() {
    const now = this.clock.cycle;
    while (this.nextCycle <= now) this.stepDue();
  }

  stepDue() {
    const at = this.nextCycle;
    this.at = at;
    this.stepping = true;
    for (const state of this.all) {
      if (!state.enabled) continue;
      if (state.resting && state.end <= at) this.skip(state, at - 1);
      if (!state.resting && state.due <= at) this.step(state);
    }
    for (const block of this.mcu.pio) block.checkChangedPins();
    this.stepping = false;
    this.settle();
  }

  step(state) {
    const { machine } = state;
    const before = machine.cycles;
    machine.step();
    this.stepped++;
    const ticks = Math.max(1, machine.cycles - before);
    this.advance(state, ticks);
  }

  advance(state, ticks) {
    const { machine } = state;
    const whole = machine.clockDivInt || 65536;
    if (machine.clockDivFrac === 0) {
      state.due += ticks * whole;
      return;
    }
    const parts = state.fraction + ticks * (whole * 256 + machine.clockDivFrac);
    state.due += Math.floor(parts / 256);
    state.fraction = parts % 256;
  }

  /** Sees which machines can rest, and when the next one has to be stepped. */
  settle() {
    let next = Infinity;
    for (const state of this.all) {
      if (!state.enabled) continue;
      if (!state.resting && !this.plain) this.tryToRest(state);
      next = Math.min(next, state.resting ? state.end : state.due);
    }
    this.nextCycle = next;
  }

  tryToRest(state) {
    const { machine } = state;
    if (machine.waiting) {
      if (machine.waitType === WAIT_PIN && machine.rp2040.gpio[machine.waitIndex]?.inputValue === machine.waitPolarity) return;
      state.resting = true;
      state.loop = null;
      state.end = Infinity;
      return;
    }
    if (machine.clockDivFrac !== 0) return;
    const loop = restingLoop(machine);
    if (!loop) return;
    const rounds = Math.min(
      loop.x ? Math.floor(machine.x / loop.x) - 1 : Infinity,
      loop.y ? Math.floor(machine.y / loop.y) - 1 : Infinity,
    );
    if (rounds < 2) return;
    state.resting = true;
    state.loop = loop;
    state.end = state.due + rounds * loop.ticks * (machine.clockDivInt || 65536);
  }

  /** Brings a resting machine past `now`: whole rounds, then single steps. It no longer rests. */
  skip(state, now) {
    const { machine, loop } = state;
    if (!loop) {
      // Waiting: it asks again each of its cycles.
      const every = machine.clockDivInt || 65536;
      if (state.due <= now) state.due += (Math.floor((now - state.due) / every) + 1) * every;
      state.resting = false;
      return;
    }
    const every = loop.ticks * (machine.clockDivInt || 65536);
    const rounds = Math.floor((Math.min(now, state.end) - state.due) / every);
    if (rounds > 0) {
      machine.x = (machine.x - rounds * loop.x) >>> 0;
      machine.y = (machine.y - rounds * loop.y) >>> 0;
      machine.cycles += rounds * loop.ticks;
      state.due += rounds * every;
      this.skipped += rounds * loop.ticks;
    }
    state.resting = false;
    while (state.due <= now) this.step(state);
  }
}

/** The loop that a machine is in while its pin stays: its cycles and what it takes off x and y; or null. */
function restingLoop(machine) {
  const { instructions } = machine.pio;
  const start = machine.pc;
  const delayMask = (1 << (5 - machine.sidesetCount)) - 1;
  if (machine.sidesetCount) return null;
  let pc = start;
  let ticks = 0;
  let x = 0;
  let y = 0;
  for (let steps = 0; steps < LONGEST_LOOP; steps++) {
    const opcode = instructions[pc];
    ticks += 1 + ((opcode >> 8) & delayMask);
    let taken = false;
    const kind = opcode >>> 13;
    if (kind === 0) {
      switch ((opcode >> 5) & 7) {
        case 0: taken = true; break;
        case 2: x++; taken = true; break;
        case 4: y++; taken = true; break;
        case 6: taken = machine.jmpCondition(6); break;
        default: return null;
      }
    } else if (opcode !== 0xa042 && opcode !== 0xa021) {
      // Anything but "mov y, y" and "mov x, x" could be seen from outside.
      if ((opcode & 0xe0ff) !== 0xa042 && (opcode & 0xe0ff) !== 0xa021) return null;
    }
    if (taken) pc = opcode & 0x1f;
    else pc = pc === machine.wrapTop ? machine.wrapBottom : (pc + 1) & 0x1f;
    if (pc === start) return { ticks, x, y };
  }
  return null;
}
