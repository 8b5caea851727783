// The handheld's board around the emulated chip: power, clocks, pins, flash, and the loop that runs it all.
//
// *Boot*: one life of the chip, from power or reset to the next. Each has a chip of its own, so that nothing of the
// one before can leak; what really survives is carried over: the flash always, memory and the watchdog's scratch
// registers over a reset, neither over a power cut.
// *Source*: something outside that acts at a known cycle: a capture on the pins, a script of keys, a cut.
//
// The loop lets the processor execute one instruction at a time and looks after whatever is due before the next:
// alarms of the peripherals, state machines, sources. While the processor sleeps, time jumps from one due thing to the
// next. What the emulator does not do, or does wrongly, is put right in `chip.js`.

import { RP2040 } from 'rp2040js';
import { CycleClock } from './clock.js';
import { mend } from './chip.js';
import { Flash } from './flash.js';
import { Machines } from './machines.js';
import { Profile, slotOf } from './profile.js';
import { Rom } from './rom.js';

const VECTORS = 0x10000100;
// Memory that the firmware's link script leaves alone (the small banks above the first 256 KiB).
const SPARE = 0x20041ff0;
const SLEEP_LIMIT = 48_000_000 * 3600;

export class Board {
  /**
   * `elf`: the firmware. `flash`: a flash chip of an earlier board, to go on with what it holds.
   * `plain`: step the state machines one by one. `profile`: count cycles by function.
   */
  constructor(elf, { flash = new Flash(), plain = false, profile = true } = {}) {
    this.elf = elf;
    this.flash = flash;
    this.plain = plain;
    this.parts = [];
    this.sources = [];
    this.nextSource = Infinity;
    this.faults = [];
    this.warnings = new Map();
    this.boots = [];
    this.profile = profile ? new Profile(elf) : null;
    this.stopped = null;
    this.pendingReset = null;
    this.powered = false;
    for (const { physical, data } of elf.segments) flash.bytes.set(data, physical - 0x10000000);
  }

  /** Adds what is connected to the chip; its `attach(board)` is called at every boot. */
  add(part) {
    this.parts.push(part);
    if (this.powered) part.attach(this);
    return part;
  }

  /** Adds a source: `nextCycle`, and `fire(board)` which moves it on. */
  addSource(source) {
    this.sources.push(source);
    this.sourcesChanged();
    return source;
  }

  sourcesChanged() {
    this.nextSource = this.sources.reduce((least, source) => Math.min(least, source.nextCycle), Infinity);
  }

  /** Does something at a time, seconds since the first power. */
  at(seconds, action) {
    const source = {
      nextCycle: this.cycleOf(seconds),
      fire: (board) => {
        this.sources.splice(this.sources.indexOf(source), 1);
        action(board);
      },
    };
    return this.addSource(source);
  }

  cycleOf(seconds) {
    return Math.max(this.clock?.cycle ?? 0, Math.round(seconds * 48e6));
  }

  /** Seconds since the first power. */
  get seconds() {
    return this.clock ? this.clock.cycle / 48e6 : 0;
  }

  powerOn() {
    this.powered = true;
    this.boot('power');
  }

  /** Power off at once, in the middle of whatever is going on; returns what the flash was doing. */
  powerOff() {
    this.powered = false;
    const running = this.flash.cut();
    this.kept = null;
    for (const part of this.parts) part.detach?.(this);
    return running;
  }

  boot(reason) {
    const cycle = this.clock?.cycle ?? 0;
    const nanos = this.clock?.nanos ?? 0;
    // Until the firmware sets the clocks the chip runs slower; here it runs at 48 MHz from the start.
    this.clock = new CycleClock(48e6);
    this.clock.cycle = cycle;
    this.clock.baseCycle = cycle;
    this.clock.baseNanos = reason === 'power' ? 0 : 0;
    this.bootCycle = cycle;
    this.boots.push({ reason, cycle, nanos });
    const mcu = new RP2040(this.clock);
    this.mcu = mcu;
    mcu.logger = this.logger();
    mcu.onBreak = (code) => this.fail(`breakpoint or undefined instruction ${code}`);
    if (this.kept && reason !== 'power') mcu.sram.set(this.kept.memory);
    else scramble(mcu.sram);
    this.flash.attach(mcu, this.clock, (what) => this.fail(what));
    this.machines = new Machines(mcu, this.clock, { plain: this.plain });
    this.rom = new Rom(this);
    this.chip = mend(this, reason, this.kept);
    for (const part of this.parts) part.attach(this);
    mcu.core.VTOR = VECTORS;
    mcu.core.SP = mcu.readUint32(VECTORS);
    mcu.core.PC = mcu.readUint32(VECTORS + 4) & ~1;
    this.profile?.reset();
  }

  /** Ask for a reset; it happens after the instruction that is being executed. */
  reset(reason) {
    this.pendingReset = reason;
  }

  /** Something that must not happen: the run stops with it. */
  fail(what) {
    const { core } = this.mcu;
    const where = this.elf.functionAt(core.PC)?.name ?? 'nowhere known';
    this.faults.push(`${what} (at ${this.seconds.toFixed(6)} s, pc 0x${core.PC.toString(16)} in ${where})`);
    this.stopped = this.faults[0];
  }

  stop(why) {
    this.stopped ??= why;
  }

  /** Runs until a time, seconds since the first power, or until `stop` or a fault; a fault is thrown. */
  runUntil(seconds) {
    this.stopped = null;
    this.loop(Math.round(seconds * 48e6));
    if (this.faults.length) throw new Error(this.faults[0]);
    return this.stopped;
  }

  runFor(seconds) {
    return this.runUntil(this.seconds + seconds);
  }

  /** Runs until `ready()` holds, looked at every millisecond, at most so many seconds; returns whether it did. */
  runWhileNot(ready, seconds) {
    const end = this.seconds + seconds;
    while (!ready()) {
      if (this.seconds >= end - 1e-7) return false;
      this.runUntil(Math.min(end, this.seconds + 0.001));
    }
    return true;
  }

  loop(limit) {
    while (this.stopped === null && this.clock.cycle < limit) {
      if (!this.powered) {
        this.idleWithoutPower(limit);
        continue;
      }
      this.loopPowered(limit);
      if (this.pendingReset) {
        const reason = this.pendingReset;
        this.pendingReset = null;
        this.kept = { memory: this.mcu.sram.slice(), scratch: this.chip.scratch() };
        this.flash.cut();
        this.boot(reason);
      }
    }
  }

  idleWithoutPower(limit) {
    this.clock.cycle = Math.min(limit, this.nextSource);
    this.fireSources();
  }

  fireSources() {
    while (this.nextSource <= this.clock.cycle) {
      for (const source of [...this.sources]) if (source.nextCycle <= this.clock.cycle) source.fire(this);
      this.sourcesChanged();
    }
  }

  loopPowered(limit) {
    const { clock, mcu, machines, flash, rom, profile } = this;
    const { core } = mcu;
    const watch = profile?.watch;
    while (clock.cycle < limit && this.stopped === null && this.pendingReset === null && this.powered) {
      if (clock.cycle >= machines.nextCycle) machines.run();
      if (clock.cycle >= clock.nextCycle) clock.fire();
      if (clock.cycle >= this.nextSource) {
        this.fireSources();
        continue;
      }
      const inRom = core.PC >>> 0 < 0x4000;
      if (inRom && !core.waiting && rom.visit()) continue;
      const wanted = core.pendingInterrupts & core.enabledInterrupts || core.pendingSystick || core.pendingPendSV;
      if (core.waiting && wanted) core.waiting = false;
      if (core.waiting || (inRom && (!wanted || core.PM))) {
        const start = clock.cycle;
        let next = Math.min(limit, machines.nextCycle, clock.nextCycle, this.nextSource);
        if (inRom && !core.waiting) next = Math.min(next, clock.cycleAt(flash.doneAt));
        if (next === Infinity || next > start + SLEEP_LIMIT) next = limit;
        clock.cycle = Math.max(next, start + 1);
        if (profile) profile.idle(clock.cycle - start, core.waiting);
        continue;
      }
      const before = core.cycles;
      const pc = core.PC;
      if (watch !== undefined && watch[slotOf(pc)]) profile.reached(core, clock.cycle);
      core.executeInstruction();
      const cycles = core.cycles - before;
      clock.cycle += cycles;
      if (profile) profile.add(pc, cycles);
    }
  }

  /**
   * The program hangs: the processor goes round on one spot, interrupts are taken as ever. After so many seconds it
   * goes on as if nothing had been; without a time it never does.
   */
  hang(seconds = Infinity) {
    const { core } = this.mcu;
    const boot = this.boots.length;
    // In the middle of an interrupt the program itself is elsewhere: a little later.
    const start = () => {
      if (core.IPSR !== 0 || core.PC >>> 0 < 0x4000) {
        this.at(this.seconds + 2e-6, start);
        return;
      }
      const back = core.PC;
      core.waiting = false;
      // Sleeps until an interrupt, again and again.
      this.mcu.writeUint16(SPARE, 0xbf30);
      this.mcu.writeUint16(SPARE + 2, 0xe7fd);
      core.PC = SPARE;
      if (seconds === Infinity) return;
      const end = () => {
        if (this.boots.length !== boot) return;
        if (core.PC === SPARE || core.PC === SPARE + 2) {
          core.waiting = false;
          core.PC = back;
        } else this.at(this.seconds + 2e-6, end);
      };
      this.at(this.seconds + seconds, end);
    };
    start();
  }

  logger() {
    const note = (component, message) => {
      const text = `[${component}] ${message}`;
      this.warnings.set(text, (this.warnings.get(text) ?? 0) + 1);
      if (/not implemented yet|invalid memory|undefined address|not 32 bit aligned/.test(message)) this.fail(text);
    };
    return { debug() {}, info() {}, warn: note, error: note };
  }
}

/** What memory holds after power: nothing to rely on. */
function scramble(memory) {
  let state = 0x9e3779b9;
  const words = new Uint32Array(memory.buffer, memory.byteOffset, memory.length >> 2);
  for (let index = 0; index < words.length; index++) {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    words[index] = state;
  }
}
