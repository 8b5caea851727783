// The memory display: follows what the firmware sends, keeps the picture, writes it as PNG.
//
// Each line of 400 dots is sent as its address, 50 bytes of dots and a byte of nothing, after one mode byte
// (bit 0 of the wire, that is the most significant bit: write; the next one: the common electrode's polarity; the
// third: clear all). Addresses come with their least significant bit first. Select is active high. A line with
// too few bytes, an address outside 1 to 240 or a polarity that never turns are faults of the firmware.

import { writeFileSync } from 'node:fs';
import { GPIOPinState } from 'rp2040js';
import { PNG } from 'pngjs';
import { DISPLAY_SPI, PINS } from './pins.js';
import { pwmOn } from './pwm.js';

export const WIDTH = 400;
export const HEIGHT = 240;
const LINE_BYTES = WIDTH / 8;
const WRITE = 0x80;
const POLARITY = 0x40;
const CLEAR = 0x20;

export class Display {
  constructor() {
    /** One bit a dot, 1 = reflecting (light), most significant bit leftmost; kept without power. */
    this.dots = new Uint8Array(HEIGHT * LINE_BYTES).fill(0xff);
    this.linesWritten = 0;
    this.bytesSent = 0;
    this.transfers = 0;
    this.polarityChanges = [];
    this.faults = [];
    /** Called with the line's number, counted from 0, as each arrives. */
    this.onLine = () => {};
    this.lastChange = 0;
  }

  attach(board) {
    this.board = board;
    this.selected = false;
    this.polarity = null;
    this.received = [];
    board.mcu.spi[DISPLAY_SPI].onByte = (value) => this.byte(value);
    board.mcu.gpio[PINS.displaySelect].addListener((state) => this.select(state === GPIOPinState.High));
  }

  turned() {
    this.polarityChanges.push(this.board.seconds);
  }

  /** Periods of the common electrode a second: by the pin as a PWM output, or by the mode bytes so far. */
  get alternationHertz() {
    const { hertz } = pwmOn(this.board, PINS.displayExternal);
    return hertz > 0 ? hertz : this.polarityChanges.length / 2 / Math.max(0.001, this.board.seconds);
  }

  select(on) {
    if (on === this.selected) return;
    this.selected = on;
    if (on) {
      this.received = [];
      return;
    }
    this.transfers++;
    this.finish();
  }

  byte(value) {
    if (!this.selected) {
      this.fault('a byte while the display is not selected');
      return;
    }
    this.bytesSent++;
    this.received.push(value);
    const count = this.received.length;
    if (count === 1) this.mode(value);
    else if (this.writing && (count - 1) % (LINE_BYTES + 2) === LINE_BYTES + 1) {
      this.line(this.received.slice(count - LINE_BYTES - 1));
    }
  }

  mode(value) {
    this.writing = (value & WRITE) !== 0;
    const polarity = (value & POLARITY) !== 0;
    if (this.polarity !== null && polarity !== this.polarity) this.turned();
    this.polarity = polarity;
    if (value & CLEAR) {
      this.dots.fill(0xff);
      this.lastChange = this.board.seconds;
    }
  }

  line([address, ...dots]) {
    const number = reverse(address);
    if (number < 1 || number > HEIGHT) {
      this.fault(`line address ${number}`);
      return;
    }
    this.dots.set(dots, (number - 1) * LINE_BYTES);
    this.linesWritten++;
    this.lastChange = this.board.seconds;
    this.onLine(number - 1);
  }

  finish() {
    const count = this.received.length;
    if (count === 0) return;
    // Mode, lines of 52 bytes, and a last byte of nothing; mode and one byte for a mere turn of polarity.
    const rest = (count - 1) % (LINE_BYTES + 2);
    if (this.writing && rest !== 1) this.fault(`a transfer of ${count} bytes: not whole lines`);
  }

  fault(what) {
    if (this.faults.length < 20) this.faults.push(`${what} at ${this.board.seconds.toFixed(4)} s`);
  }

  /** How many dots are dark. */
  get dark() {
    let count = 0;
    for (const byte of this.dots) for (let bits = byte ^ 0xff; bits; bits &= bits - 1) count++;
    return count;
  }

  isLight(x, y) {
    return ((this.dots[y * LINE_BYTES + (x >> 3)] >> (7 - (x & 7))) & 1) === 1;
  }

  /** The picture, twice as large as the dots. */
  save(path, scale = 2) {
    const png = new PNG({ width: WIDTH * scale, height: HEIGHT * scale, colorType: 0, inputColorType: 0 });
    png.data = Buffer.alloc(png.width * png.height);
    for (let y = 0; y < png.height; y++) {
      for (let x = 0; x < png.width; x++) {
        png.data[y * png.width + x] = this.isLight((x / scale) | 0, (y / scale) | 0) ? 0xdc : 0x18;
      }
    }
    writeFileSync(path, PNG.sync.write(png, { colorType: 0, inputColorType: 0, inputHasAlpha: false }));
  }
}

function reverse(byte) {
  let result = 0;
  for (let bit = 0; bit < 8; bit++) if (byte & (1 << bit)) result |= 0x80 >> bit;
  return result;
}
