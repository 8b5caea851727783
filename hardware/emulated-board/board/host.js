// A USB host for one serial device: enumerates it as a laptop does, then passes bytes.
//
// When the device pulls its line up, the host resets the bus, gives it an address, reads the configuration (first its
// head for the length, then all of it), sets it and raises "terminal ready". An answer may come in several packets;
// it is complete when as much has come as was asked for. The emulator's own host takes answers of one packet only.

const SIE_CTRL = 0x4c;
const PULL_UP = 1 << 16;
const CONTROL = 0;
const CONFIGURATION_HEAD = 9;
const INTERFACE = 4;
const ENDPOINT = 5;
const DATA_CLASS = 10;
const BULK = 2;
/** USB 2.0, section 9.2.6.3: at least 2 ms after an address is set. */
const PAUSE_NANOS = 2e6;

export class Host {
  /** `onOpen()`: the port is open. `onData(bytes)`: something came. `take(size)`: bytes to send, or none now. */
  constructor(usb, { onOpen, onData, take }) {
    Object.assign(this, { usb, onOpen, onData, take });
    this.steps = [];
    this.bulk = { in: -1, out: -1 };
    /** Room that the device has offered, by endpoint; it may do so before it is configured. */
    this.room = new Map();
    this.pause = usb.rp2040.clock.createAlarm(() => this.goOn());
    const { writeUint32 } = usb;
    let up = false;
    usb.writeUint32 = (offset, value) => {
      writeUint32.call(usb, offset, value);
      if (offset !== SIE_CTRL || up === ((value & PULL_UP) !== 0)) return;
      up = !up;
      if (up) usb.resetDevice();
    };
    usb.onUSBEnabled = () => {};
    usb.onResetReceived = () => this.enumerate();
    usb.onEndpointWrite = (endpoint, bytes) => this.received(endpoint, bytes);
    usb.onEndpointRead = (endpoint, size) => {
      this.room.set(endpoint, size);
      this.offer();
    };
  }

  enumerate() {
    const configuration = (length) => ({ request: [0x80, 6, 0x0200, 0, length], length });
    this.steps = [
      { request: [0x00, 5, 1, 0, 0], length: 0 },
      {
        ...configuration(CONFIGURATION_HEAD),
        then: (head) => {
          const length = head[2] | (head[3] << 8);
          this.steps.unshift({ ...configuration(length), then: (all) => this.findEndpoints(all) });
        },
      },
      { request: [0x00, 9, 1, 0, 0], length: 0 },
      { request: [0x21, 0x22, 3, 0, 0], length: 0, then: () => this.onOpen() },
    ];
    this.next();
  }

  next() {
    this.step = this.steps.shift();
    if (!this.step) return;
    this.answer = [];
    const [kind, request, value, index, length] = this.step.request;
    const packet = new DataView(new ArrayBuffer(8));
    packet.setUint8(0, kind);
    packet.setUint8(1, request);
    packet.setUint16(2, value, true);
    packet.setUint16(4, index, true);
    packet.setUint16(6, length, true);
    this.usb.sendSetupPacket(new Uint8Array(packet.buffer));
  }

  received(endpoint, bytes) {
    if (endpoint === this.bulk.in) {
      this.onData(bytes);
      return;
    }
    if (endpoint !== CONTROL || !this.step) return;
    this.answer.push(...bytes);
    if (this.answer.length < this.step.length) return;
    const { then } = this.step;
    this.step = null;
    then?.(this.answer);
    this.pause.schedule(PAUSE_NANOS);
  }

  /** The next request, once the device has seen that the last one is over: a host leaves it some time. */
  goOn() {
    if (this.usb.buffStatus & 1) this.pause.schedule(PAUSE_NANOS);
    else this.next();
  }

  findEndpoints(bytes) {
    let data = false;
    for (let at = 0; at < bytes.length && bytes[at] > 0; at += bytes[at]) {
      if (bytes[at + 1] === INTERFACE) data = bytes[at + 5] === DATA_CLASS;
      if (bytes[at + 1] !== ENDPOINT || !data || (bytes[at + 3] & 3) !== BULK) continue;
      this.bulk[bytes[at + 2] & 0x80 ? 'in' : 'out'] = bytes[at + 2] & 0xf;
    }
  }

  /** The device waits to be sent something: gives it what there is, else it goes on waiting. */
  offer() {
    const size = this.room.get(this.bulk.out);
    if (size === undefined) return;
    const bytes = this.take(size);
    if (bytes.length === 0) return;
    this.room.delete(this.bulk.out);
    this.usb.endpointReadDone(this.bulk.out, Uint8Array.from(bytes));
  }
}
