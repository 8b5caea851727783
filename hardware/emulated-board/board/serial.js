// The USB serial port: a host that plugs in, reads every line and can send lines.
//
// The host side of the emulator asks for the descriptors, sets address and configuration and raises "terminal
// ready", as a laptop does.

import { USBCDC } from 'rp2040js';

export class Serial {
  constructor({ plugged = true } = {}) {
    this.plugged = plugged;
    this.received = [];
    this.partial = '';
    this.connected = false;
    /** Called with each line. */
    this.onLine = () => {};
    this.bytes = 0;
    this.waiting = [];
  }

  attach(board) {
    this.board = board;
    this.connected = false;
    this.partial = '';
    if (!this.plugged) return;
    this.port = new USBCDC(board.mcu.usbCtrl);
    this.port.onDeviceConnected = () => {
      this.connected = true;
    };
    this.port.onSerialData = (data) => this.take(data);
    this.waitingRead = undefined;
    this.waiting = [];
    // A host sends nothing when it has nothing; the emulator's would answer with an empty packet at once.
    board.mcu.usbCtrl.onEndpointRead = (endpoint, size) => {
      if (endpoint !== this.port.outEndpoint) return;
      if (this.port.txFIFO.itemCount > 0) this.answer(size);
      else this.waitingRead = size;
    };
  }

  detach() {
    this.connected = false;
  }

  take(data) {
    this.bytes += data.length;
    this.partial += Buffer.from(data).toString('latin1');
    for (;;) {
      const end = this.partial.indexOf('\n');
      if (end < 0) return;
      const text = this.partial.slice(0, end).replace(/\r$/, '');
      this.partial = this.partial.slice(end + 1);
      this.received.push({ at: this.board.seconds, text });
      this.onLine(text);
    }
  }

  /** Sends text, as fast as the device takes it; runs the board until it has, at most two seconds. */
  send(text) {
    const { board, port } = this;
    this.post(text);
    const end = board.seconds + 2;
    while (this.waiting.length > 0 || port.txFIFO.itemCount > 0) {
      this.nudge();
      board.runFor(0.001);
      if (board.seconds > end) throw new Error('the device does not take what is sent to it');
    }
    board.runFor(0.003);
  }

  /** Gives text to the host's queue without running the board; `nudge` and running let it go out. */
  post(text) {
    for (const byte of Buffer.from(text, 'utf8')) this.waiting.push(byte);
  }

  /** A read that was answered with nothing is asked again, as a host does every frame. */
  nudge() {
    const { port, waiting } = this;
    while (waiting.length > 0 && !port.txFIFO.full) port.sendSerialByte(waiting.shift());
    if (this.waitingRead === undefined || port.txFIFO.itemCount === 0) return;
    const size = this.waitingRead;
    this.waitingRead = undefined;
    this.answer(size);
  }

  answer(size) {
    const { port } = this;
    const buffer = new Uint8Array(Math.min(size, port.txFIFO.itemCount));
    for (let index = 0; index < buffer.length; index++) buffer[index] = port.txFIFO.pull();
    this.board.mcu.usbCtrl.endpointReadDone(port.outEndpoint, buffer);
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
