// The log on the UART: the bytes as they come, and the lines they mean.
//
// The firmware logs with defmt: a message is a number and its arguments, the text stays in the ELF file. Where
// `defmt-print` is installed it may be given the bytes (`defmt-print -e firmware.elf < log.bin`); so that a machine
// without it reads the log too, `defmt.js` understands what this firmware uses.

import { LOG_UART } from './pins.js';
import { Decoder } from './defmt.js';

export class Log {
  constructor(elf) {
    this.bytes = [];
    this.decoder = new Decoder(elf);
    /** `{ at, level, text }` for each message. */
    this.lines = [];
    this.frame = [];
  }

  attach(board) {
    this.board = board;
    this.frame = [];
    board.mcu.uart[LOG_UART].onByte = (value) => this.take(value);
  }

  take(value) {
    this.bytes.push(value);
    if (value !== 0) {
      this.frame.push(value);
      return;
    }
    if (this.frame.length) this.lines.push({ at: this.board.seconds, ...this.decoder.decode(this.frame) });
    this.frame = [];
  }

  /** Messages that contain a text. */
  with(text) {
    return this.lines.filter((line) => line.text.includes(text));
  }

  toString() {
    return this.lines.map(({ at, level, text }) => `${at.toFixed(6)} ${level.padEnd(5)} ${text}\n`).join('');
  }
}
