// Where the processor's cycles go.
//
// *Self*: cycles of instructions inside a function, whoever called it. *Call*: from the first instruction of a
// watched function until it returns, with all that it calls, less the interrupts that came meanwhile. *Idle*:
// asleep. *Held*: kept in the boot ROM while the flash is busy.
//
// The emulator counts cycles of a Cortex-M0+ with memory that never waits: a lower bound for code in flash.

import { readable } from './elf.js';

export class Profile {
  constructor(elf) {
    this.elf = elf;
    this.watch = new Uint8Array(1 << 21);
    this.counts = new Float64Array(1 << 21);
    this.watched = new Map();
    this.calls = new Map();
    this.clear();
  }

  /** Begins to count from zero; open calls are forgotten. */
  clear() {
    this.counts.fill(0);
    this.busyCycles = 0;
    this.idleCycles = 0;
    this.heldCycles = 0;
    this.interruptCycles = 0;
    this.byException = new Map();
    for (const call of this.calls.values()) Object.assign(call, { count: 0, total: 0, longest: 0, longestAt: 0 });
    this.reset();
  }

  reset() {
    this.open = [];
    this.returns = new Map();
    this.depth = [];
  }

  /** Times every call of a function. */
  time(symbol, label = readable(symbol.name)) {
    const slot = slotOf(symbol.address);
    this.watch[slot] |= 1;
    const call = this.named(label);
    this.watched.set(slot, call);
    return call;
  }

  idle(cycles, asleep) {
    if (asleep) this.idleCycles += cycles;
    else this.heldCycles += cycles;
  }

  add(pc, cycles) {
    this.busyCycles += cycles;
    this.counts[slotOf(pc)] += cycles;
    const { depth } = this;
    if (depth.length) {
      this.interruptCycles += cycles;
      depth[depth.length - 1].cycles += cycles;
    }
  }

  enter(number) {
    this.depth.push({ number, cycles: 0 });
  }

  leave() {
    const done = this.depth.pop();
    if (!done) return;
    const total = this.byException.get(done.number) ?? { count: 0, cycles: 0, longest: 0 };
    total.count++;
    total.cycles += done.cycles;
    total.longest = Math.max(total.longest, done.cycles);
    this.byException.set(done.number, total);
  }

  /** The processor is at a watched address: a watched function begins, or one of them has returned. */
  reached(core, cycle) {
    const slot = slotOf(core.PC);
    const { open } = this;
    while (open.length) {
      const last = open[open.length - 1];
      if (last.back !== slot || core.SP < last.sp || this.depth.length !== last.depth) break;
      open.pop();
      this.unmark(slot);
      const cycles = cycle - last.cycle - (this.interruptCycles - last.interrupts) * (last.depth ? 0 : 1);
      open[open.length - 1]?.inside.add(last.call.label);
      this.count(last.call, cycles, cycle);
      const { split } = last.call;
      if (split) this.count(last.inside.has(split.by) ? split.withIt : split.without, cycles, cycle);
    }
    const call = this.watched.get(slot);
    if (!call) return;
    const back = slotOf(core.LR & ~1);
    open.push({ inside: new Set(), call, back, sp: core.SP, cycle, interrupts: this.interruptCycles, depth: this.depth.length });
    this.returns.set(back, (this.returns.get(back) ?? 0) + 1);
    this.watch[back] |= 2;
  }

  count(call, cycles, at) {
    call.count++;
    call.total += cycles;
    if (cycles > call.longest) Object.assign(call, { longest: cycles, longestAt: at });
  }

  /** Counts the calls of a function also by whether another watched one was called within. */
  split(label, by, withIt, without) {
    const call = this.calls.get(label);
    if (call) call.split = { by, withIt: this.named(withIt), without: this.named(without) };
  }

  named(label) {
    const call = this.calls.get(label) ?? { label, count: 0, total: 0, longest: 0, longestAt: 0 };
    this.calls.set(label, call);
    return call;
  }

  unmark(slot) {
    const left = this.returns.get(slot) - 1;
    if (left > 0) this.returns.set(slot, left);
    else {
      this.returns.delete(slot);
      this.watch[slot] &= ~2;
    }
  }

  get totalCycles() {
    return this.busyCycles + this.idleCycles + this.heldCycles;
  }

  /** Cycles of each function itself, the largest first. */
  self() {
    const sums = new Map();
    for (const symbol of this.elf.functions) {
      const first = slotOf(symbol.address);
      let sum = 0;
      for (let slot = first; slot < first + (symbol.size >> 1); slot++) sum += this.counts[slot];
      if (sum > 0) {
        const name = readable(symbol.name);
        sums.set(name, (sums.get(name) ?? 0) + sum);
      }
    }
    return [...sums].map(([name, cycles]) => ({ name, cycles })).sort((a, b) => b.cycles - a.cycles);
  }
}

/** Flash (from 0x10000000) takes the lower half of the table, memory (from 0x20000000) the upper. */
export function slotOf(address) {
  return (address >>> 1) & 0xfffff | (address & 0x20000000 ? 0x100000 : 0);
}
