// The flash chip behind the processor: it takes its time, forgets how to be read meanwhile, and can lose power.
//
// *Page*: 256 bytes, the unit of a program; bits only go from one to zero. *Sector*: 4096 bytes, the unit of an
// erase. The times are the chip's: 45 ms for an erase as a rule, 400 ms at worst (`eraseMillis` may be changed
// for one operation with `nextEraseMillis`); a page 0.7 ms.
//
// *Cut*: the power goes while an operation runs. One cut model holds for this project, written down with the
// strict flash of the store's tests (`firmware/store/src/mock.rs`): by *prefix* the first parts of 256 are done,
// as many as time has passed, and of the next byte every second bit; by *scatter* each bit that was to change has
// changed or not by a coin. While the chip is being changed, or has left the state in which the processor reads
// it directly, a fetch is an error; so is asking for a one where a zero stands.

export const PAGE = 256;
export const SECTOR = 4096;
const BLOCK = 65536;
export const FLASH = 0x10000000;
const FLASH_END = 0x14000000;

export class Flash {
  constructor(size = 2 * 1024 * 1024) {
    this.bytes = new Uint8Array(size).fill(0xff);
    this.eraseMillis = 45;
    this.nextEraseMillis = [];
    this.blockMillis = 150;
    this.pageMillis = 0.7;
    this.queue = [];
    /** How the next cut tears: null by prefix, a number by scatter with this seed. */
    this.scatter = null;
    this.readable = true;
    /** Everything that was done: kind, address, begin and end in nanoseconds. */
    this.log = [];
    this.onOperation = () => {};
    this.mcu = null;
  }

  /** Puts the chip behind an emulated processor, readable, as after the second boot stage. */
  attach(mcu, clock, fail) {
    this.mcu = mcu;
    this.clock = clock;
    this.fail = fail;
    this.queue = [];
    mcu.flash.fill(0xff);
    mcu.flash.set(this.bytes);
    this.setReadable(true);
    const { ssi } = { ssi: mcu.peripherals[0x18000] };
    const { writeUint32 } = ssi;
    ssi.writeUint32 = (offset, value) => {
      writeUint32.call(ssi, offset, value);
      // Enabled with transfer mode "EEPROM read": the second boot stage has made the chip readable again.
      if (offset === 0x08) this.setReadable(value === 1 && ((ssi.crtlr0 >> 8) & 3) === 3);
    };
  }

  get busy() {
    return this.queue.length > 0;
  }

  /** The nanosecond at which the running operations are done. */
  get doneAt() {
    return this.queue.length ? this.queue[this.queue.length - 1].end : -Infinity;
  }

  setReadable(readable) {
    this.readable = readable;
    this.guard();
  }

  /** Reading the chip is an error while it cannot answer; at other times it costs nothing to check. */
  guard() {
    const { mcu } = this;
    for (const name of ['readUint8', 'readUint16', 'readUint32']) delete mcu[name];
    if (this.readable && !this.busy) return;
    for (const name of ['readUint8', 'readUint16', 'readUint32']) {
      const read = mcu[name];
      mcu[name] = (address) => {
        if (address >>> 0 >= FLASH && address >>> 0 < FLASH_END) {
          const what = this.busy ? `a flash ${this.queue[0].kind}` : 'the flash not being readable';
          this.fail(`fetch from flash at 0x${(address >>> 0).toString(16)} during ${what}`);
          return 0;
        }
        return read.call(mcu, address);
      };
    }
  }

  /** Begins to erase; the arguments are those of the boot ROM's function. */
  erase(address, count, blockSize) {
    if (address % SECTOR || count % SECTOR || address + count > this.bytes.length) {
      this.fail(`erase of ${count} bytes at 0x${address.toString(16)}: not whole sectors`);
      return;
    }
    let at = address;
    const end = address + count;
    while (at < end) {
      const block = blockSize === BLOCK && at % BLOCK === 0 && end - at >= BLOCK;
      const size = block ? BLOCK : SECTOR;
      const millis = this.nextEraseMillis.shift() ?? (block ? this.blockMillis : this.eraseMillis);
      this.begin({ kind: 'erase', address: at, size, millis });
      at += size;
    }
  }

  /** Begins to program; the data are read now, from memory. */
  program(address, data, count) {
    if (address % PAGE || count % PAGE || address + count > this.bytes.length) {
      this.fail(`program of ${count} bytes at 0x${address.toString(16)}: not whole pages`);
      return;
    }
    if (data >= FLASH && data < FLASH_END) {
      this.fail('program from a source in the flash itself');
      return;
    }
    for (let at = 0; at < count; at += PAGE) {
      const page = new Uint8Array(PAGE);
      for (let index = 0; index < PAGE; index++) page[index] = this.mcu.readUint8(data + at + index);
      const impossible = page.findIndex((byte, index) => byte !== 0xff && (this.bytes[address + at + index] & byte) !== byte);
      if (impossible >= 0) this.fail(`a one asked for where a zero stands, at 0x${(address + at + impossible).toString(16)}`);
      this.begin({ kind: 'program', address: address + at, size: PAGE, data: page, millis: this.pageMillis });
    }
  }

  begin(operation) {
    if (this.readable) this.fail(`flash ${operation.kind} without leaving the readable state first`);
    const start = Math.max(this.clock.nanos, this.doneAt);
    operation.begin = start;
    operation.end = start + operation.millis * 1e6;
    this.queue.push(operation);
    this.log.push({ kind: operation.kind, address: operation.address, begin: start, end: operation.end });
    this.onOperation(operation);
    this.guard();
  }

  /** Finishes what is done by now. */
  update() {
    const now = this.clock.nanos;
    while (this.queue.length && this.queue[0].end <= now + 1e-3) {
      const operation = this.queue.shift();
      const { address, size } = operation;
      this.bytes.set(this.wanted(operation), address);
      this.mcu.flash.set(this.bytes.subarray(address, address + size), address);
    }
    this.guard();
  }

  /** What the bytes will be when an operation is done. */
  wanted({ address, size, data }) {
    const found = this.bytes.subarray(address, address + size);
    return data ? found.map((byte, index) => byte & data[index]) : new Uint8Array(size).fill(0xff);
  }

  /** The power goes: what runs stays half done, what waited is never done. Returns what ran. */
  cut() {
    const [running] = this.queue;
    this.queue = [];
    if (!running) return undefined;
    const share = (this.clock.nanos - running.begin) / (running.end - running.begin);
    this.tear(running, share);
    return running;
  }

  /** A chip with these bytes as they would be had the power gone in the middle of an operation on them. */
  static cutIn(bytes, operation, { share, scatter = null }) {
    const flash = new Flash(bytes.length);
    flash.bytes.set(bytes);
    flash.scatter = scatter;
    flash.tear(operation, share);
    flash.scatter = null;
    return flash;
  }

  /** Leaves an operation half done. */
  tear(operation, share) {
    const wanted = this.wanted(operation);
    const found = this.bytes.subarray(operation.address, operation.address + operation.size);
    if (this.scatter === null) {
      const parts = Math.min(255, Math.max(0, Math.floor(share * 256)));
      const whole = Math.floor((operation.size * parts) / 256);
      found.set(wanted.subarray(0, whole));
      found[whole] ^= (found[whole] ^ wanted[whole]) & 0x55;
      return;
    }
    let coin = (this.scatter | 1) >>> 0;
    for (let index = 0; index < operation.size; index++) {
      const due = found[index] ^ wanted[index];
      for (let bit = 1; bit < 256; bit <<= 1) {
        if (!(due & bit)) continue;
        coin = (coin ^ (coin << 13)) >>> 0;
        coin = (coin ^ (coin >>> 17)) >>> 0;
        coin = (coin ^ (coin << 5)) >>> 0;
        if (coin & (1 << 16)) found[index] ^= bit;
      }
    }
  }
}
