// The USB serial port as a program on a laptop uses it: every line kept, lines sent.

import { Host } from './host.js';

export class Serial {
  /** `plugged`: whether there is a host at all. */
  constructor({ plugged = true } = {}) {
    this.plugged = plugged;
    /** Lines that came: `{ at, text }`. */
    this.received = [];
    this.bytes = 0;
    this.connected = false;
  }

  attach(board) {
    this.board = board;
    this.connected = false;
    this.partial = '';
    this.toSend = [];
    this.host = null;
    if (!this.plugged) return;
    this.host = new Host(board.mcu.usbCtrl, {
      onOpen: () => {
        this.connected = true;
      },
      onData: (bytes) => this.take(bytes),
      take: (size) => this.toSend.splice(0, size),
    });
  }

  detach() {
    this.connected = false;
  }

  take(bytes) {
    this.bytes += bytes.length;
    this.partial += Buffer.from(bytes).toString('latin1');
    for (;;) {
      const end = this.partial.indexOf('\n');
      if (end < 0) return;
      const text = this.partial.slice(0, end).replace(/\r$/, '');
      this.partial = this.partial.slice(end + 1);
      this.received.push({ at: this.board.seconds, text });
    }
  }

  /** Gives text to the host to be sent, as fast as the device takes it while the board runs. */
  post(text) {
    this.toSend.push(...Buffer.from(text, 'utf8'));
    this.host?.offer();
  }

  /** Sends text and runs the board until the device has taken it, at most two seconds. */
  send(text) {
    this.post(text);
    if (!this.board.runWhileNot(() => this.toSend.length === 0, 2)) {
      throw new Error('the device does not take what is sent to it');
    }
  }

  /** Lines that are JSON objects. */
  get objects() {
    return this.objectsFrom(0);
  }

  /** The same, from a line on. */
  objectsFrom(first) {
    return this.received.slice(first).flatMap(({ text }) => {
      try {
        return [JSON.parse(text)];
      } catch {
        return [];
      }
    });
  }
}
