// The sounder: what the PWM registers mean for the ear, as a list of events.

import { PINS } from './pins.js';

const SLICE = PINS.sounder >> 1 & 7;
const UPPER = PINS.sounder & 1;
const PWM_FUNCTION = 4;

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
    const slice = board.mcu.pwm.channels[SLICE];
    const routed = board.mcu.gpio[PINS.sounder].functionSelect === PWM_FUNCTION;
    const compare = (slice.cc >>> (UPPER ? 16 : 0)) & 0xffff;
    const period = (slice.top + 1) * (slice.csr & 2 ? 2 : 1);
    const divider = ((slice.div >> 4) & 0xff || 256) + (slice.div & 0xf) / 16;
    const sounding = routed && slice.csr & 1 && compare > 0 && compare < period;
    const hertz = sounding ? Math.round(board.mcu.clkSys / divider / period) : 0;
    const duty = sounding ? Math.round((compare / period) * 1000) / 1000 : 0;
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
