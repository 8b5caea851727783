// What acts on the board from outside: a capture on the two inputs, keys, the supply.

import { CHANNELS, DIVIDER, FULL_SCALE, PINS, REFERENCE_V } from './pins.js';

const DEBOUNCE_MS = 60;

/** Plays a capture on the pins of crank and spark, each change on its exact cycle, from a given time. */
export class Player {
  constructor(capture, start, { cycleHertz = 48e6, from = 0, to = Infinity } = {}) {
    this.changes = capture.changes.filter((change) => change.at >= from && change.at < to);
    this.supply = capture.supply.filter((item) => item.at >= from && item.at < to);
    this.level = { crank: capture.start.crank, spark: capture.start.spark };
    for (const change of capture.changes) if (change.at < from) this.level[change.signal] = change.level;
    this.from = from;
    this.start = start;
    this.hertz = cycleHertz;
    this.index = 0;
    this.supplyIndex = 0;
    /** Every change that was played: `{ cycle, signal, level }`. */
    this.played = [];
    this.setNext();
  }

  attach(board) {
    for (const signal of ['crank', 'spark']) board.mcu.gpio[PINS[signal]].setInputValue(this.level[signal]);
  }

  /** Brings the pins to the levels that the capture begins with; a pin that changes by that has an edge. */
  begin(board) {
    for (const signal of ['crank', 'spark']) {
      const pin = board.mcu.gpio[PINS[signal]];
      if (pin.rawInputValue === this.level[signal]) continue;
      this.played.push({ cycle: board.clock.cycle, signal, level: this.level[signal] });
      board.machines.catchUp();
      pin.setInputValue(this.level[signal]);
      board.machines.wake();
    }
  }

  cycleOf(seconds) {
    return Math.round((this.start + seconds - this.from) * this.hertz);
  }

  setNext() {
    const change = this.changes[this.index];
    const item = this.supply[this.supplyIndex];
    this.nextCycle = Math.min(
      change ? this.cycleOf(change.at) : Infinity,
      item ? this.cycleOf(item.at) : Infinity,
    );
  }

  get done() {
    return this.index >= this.changes.length;
  }

  fire(board) {
    const { cycle } = board.clock;
    const { mcu, machines } = board;
    while (this.index < this.changes.length && this.cycleOf(this.changes[this.index].at) <= cycle) {
      const { signal, level } = this.changes[this.index++];
      this.level[signal] = level;
      this.played.push({ cycle, signal, level });
      if (!board.powered) continue;
      machines.catchUp();
      mcu.gpio[PINS[signal]].setInputValue(level);
      machines.wake();
    }
    while (this.supplyIndex < this.supply.length && this.cycleOf(this.supply[this.supplyIndex].at) <= cycle) {
      setSupply(board, this.supply[this.supplyIndex++].volts);
    }
    this.setNext();
  }
}

/**
 * Presses and lets go the keys of a session at their times, each later by `later` seconds: what the firmware
 * shows may come a tick after what the desktop showed, and the hands of the session look before they press.
 */
export class KeyPlayer {
  constructor(keys, session, start, { later = 0.15, hertz = 48e6 } = {}) {
    this.keys = keys;
    this.list = session.keys;
    this.index = 0;
    this.cycles = session.keys.map(({ at }) => Math.round((start + at + later) * hertz));
    this.nextCycle = this.cycles[0] ?? Infinity;
  }

  fire() {
    const { key, down } = this.list[this.index];
    this.keys.set(key, down);
    this.index++;
    this.nextCycle = this.cycles[this.index] ?? Infinity;
  }
}

/** The voltage at the supply clips, as the ADC sees it through the divider. */
export function setSupply(board, volts) {
  board.supplyVolts = volts;
  if (!board.powered) return;
  const reading = Math.round((volts / DIVIDER / REFERENCE_V) * FULL_SCALE);
  board.mcu.adc.channelValues[CHANNELS.supply] = Math.min(FULL_SCALE, Math.max(0, reading));
}

/** Supply and amplitude at their inputs after every boot. */
export class Supply {
  constructor(volts = 14.1, amplitude = 0.5) {
    this.volts = volts;
    this.amplitude = amplitude;
  }

  attach(board) {
    setSupply(board, board.supplyVolts ?? this.volts);
    board.mcu.adc.channelValues[CHANNELS.amplitude] = Math.round(this.amplitude * FULL_SCALE);
  }
}

/** Four keys, active low, with a few bounces at each change. */
export class Keys {
  constructor({ bounces = 3 } = {}) {
    this.down = [false, false, false, false];
    this.bounces = bounces;
  }

  attach(board) {
    this.board = board;
    this.down.forEach((down, key) => board.mcu.gpio[PINS.keys[key]].setInputValue(!down));
  }

  set(key, down) {
    this.down[key] = down;
    const { board } = this;
    if (board.powered) board.mcu.gpio[PINS.keys[key]].setInputValue(!down);
  }

  /** Presses a key (0 to 3) at once and lets it go after so long; runs the board meanwhile. */
  press(key, seconds = 0.12) {
    this.bounce(key, true);
    this.board.runFor(seconds);
    this.bounce(key, false);
    this.board.runFor(DEBOUNCE_MS / 1000);
  }

  bounce(key, down) {
    for (let count = 0; count < this.bounces; count++) {
      this.set(key, down);
      this.board.runFor(0.0004);
      this.set(key, !down);
      this.board.runFor(0.0003);
    }
    this.set(key, down);
  }
}
