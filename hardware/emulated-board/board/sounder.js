// The sounder: what the PWM registers mean for the ear, as a list of events.

import { PINS } from './pins.js';
import { pwmOn } from './pwm.js';

export class Sounder {
  constructor() {
    /** Changes: `{ at, hertz, duty }`, seconds, hertz 0 for silence, duty 0 to 1. */
    this.events = [];
  }

  attach(board) {
    this.board = board;
    const { pwm } = board.mcu;
    const { writeUint32 } = pwm;
    pwm.writeUint32 = (offset, value) => {
      writeUint32.call(pwm, offset, value);
      this.look();
    };
    this.look();
  }

  look() {
    const { board } = this;
    const now = pwmOn(board, PINS.sounder);
    const hertz = Math.round(now.hertz);
    const duty = hertz ? now.duty : 0;
    const last = this.events[this.events.length - 1];
    if ((last?.hertz ?? 0) === hertz && (last?.duty ?? 0) === duty) return;
    this.events.push({ at: board.seconds, hertz, duty });
  }

  /** Pulses between two times: how many, and the middle one's pitch. */
  pulses(from, to) {
    const starts = this.events.filter((event) => event.at >= from && event.at < to && event.hertz > 0);
    const pitches = starts.map((event) => event.hertz).sort((a, b) => a - b);
    return { count: starts.length, hertz: pitches[pitches.length >> 1] ?? 0 };
  }
}
