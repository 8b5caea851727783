// The whole bench in one piece: the board with everything connected, and what a scenario asks of it.

import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Board } from './board.js';
import { readCapture } from './capture.js';
import { Display } from './display.js';
import { Elf } from './elf.js';
import { Log } from './log.js';
import { Serial } from './serial.js';
import { Tap } from './edges.js';
import { Sounder } from './sounder.js';
import { Keys, KeyPlayer, Player, Supply } from './stimulus.js';

export class Rig {
  /** `elf`: path. `out`: folder for what is recorded. `flash`: the flash of an earlier rig, to go on with. */
  constructor({ elf, out, flash, plain, profile, plugged, volts }) {
    this.out = out;
    if (out) mkdirSync(out, { recursive: true });
    this.elf = elf instanceof Elf ? elf : new Elf(elf);
    this.board = new Board(this.elf, { flash, plain, profile });
    this.display = this.board.add(new Display());
    this.sounder = this.board.add(new Sounder());
    this.serial = this.board.add(new Serial({ plugged }));
    this.log = this.board.add(new Log(this.elf));
    this.keys = this.board.add(new Keys());
    this.supply = this.board.add(new Supply(volts));
    this.tap = this.board.add(new Tap());
    this.pictures = 0;
  }

  /** Switches on; the run goes on with `run`. */
  start() {
    this.board.powerOn();
    return this;
  }

  run(seconds) {
    return this.board.runFor(seconds);
  }

  get seconds() {
    return this.board.seconds;
  }

  /** Plays a capture from now on; returns the player. */
  play(capture, options = {}) {
    const read = typeof capture === 'string' ? readCapture(capture) : capture;
    const player = new Player(read, this.seconds + 0.001, options);
    // The one before is over: at the next boot the pins are this one's.
    this.board.parts = this.board.parts.filter((part) => !(part instanceof Player));
    this.board.parts.push(player);
    player.begin(this.board);
    this.board.addSource(player);
    return player;
  }

  /** Lives through a session of a guided job from now on, inputs and keys; returns the player of the inputs. */
  playSession(session, options = {}) {
    const player = this.play(session, options);
    this.board.addSource(new KeyPlayer(this.keys, session, this.seconds + 0.001, options));
    return player;
  }

  /** Runs until a condition holds; after so many seconds it is a failure with these words. */
  until(what, ready, seconds) {
    if (this.board.runWhileNot(ready, seconds)) return;
    throw new Error(`after ${seconds} s still not: ${what}`);
  }

  /** Waits until the picture has been still for a moment, then saves it; returns its path. */
  picture(name, { still = 0.25, wait = 3 } = {}) {
    const { board, display } = this;
    board.runWhileNot(() => board.seconds - display.lastChange > still, wait);
    return this.snapshot(name);
  }

  /** Saves the picture as it is. */
  snapshot(name) {
    if (!this.out) return null;
    this.pictures++;
    const path = join(this.out, `${String(this.pictures).padStart(2, '0')}-${name}.png`);
    this.display.save(path);
    return path;
  }

  /** Takes the power away and gives it back after a second; what was being written stays as the cut left it. */
  powerCycle(off = 1) {
    const running = this.board.powerOff();
    this.board.runFor(off);
    this.board.powerOn();
    return running;
  }

  /** Writes log, serial lines, sounder and warnings beside the pictures. */
  save() {
    if (!this.out) return;
    const put = (name, text) => writeFileSync(join(this.out, name), text);
    put('log.bin', Buffer.from(this.log.bytes));
    put('log.txt', this.log.toString());
    put('serial.txt', this.serial.received.map(({ at, text }) => `${at.toFixed(6)} ${text}\n`).join(''));
    put('sounder.csv', `at_s,hertz,duty\n${this.sounder.events.map(({ at, hertz, duty }) => `${at.toFixed(6)},${hertz},${duty}\n`).join('')}`);
    put('flash.csv', `operation,address,begin_ms,end_ms\n${this.board.flash.log.map(({ kind, address, begin, end }) => `${kind},0x${address.toString(16)},${(begin / 1e6).toFixed(3)},${(end / 1e6).toFixed(3)}\n`).join('')}`);
    put('emulator-warnings.txt', [...this.board.warnings].map(([text, count]) => `${count} ${text}\n`).join(''));
  }
}
