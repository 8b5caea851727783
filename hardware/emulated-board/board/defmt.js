// Reads defmt's messages: format strings from the ELF file's symbols, frames in reversed zero-compressed COBS.
//
// A *frame* ends with a zero byte. Read from its end, a byte below 0x80 says of seven bytes which are zero; from
// 0x80 on it stands for a run without zeros. Decoded, a frame is the number of its format (two bytes, the address of
// a symbol in the section `.defmt`), the time where the firmware gives one, then the arguments in order.

const LEVELS = ['trace', 'debug', 'info', 'warn', 'error', 'println'];

export class Decoder {
  constructor(elf) {
    this.formats = new Map();
    this.timestamp = null;
    for (const symbol of elf.symbols) {
      if (!symbol.section.startsWith('.defmt') || !symbol.name.startsWith('{')) continue;
      const entry = JSON.parse(symbol.name);
      const tag = entry.tag.replace(/^defmt_/, '');
      if (tag === 'timestamp') this.timestamp = entry.data;
      else this.formats.set(symbol.address & 0xffff, { tag, data: entry.data });
    }
  }

  decode(frame) {
    try {
      const reader = new Reader(uncompress(frame));
      const format = this.formats.get(reader.u16());
      if (!format) throw new Error('unknown message');
      const stamp = this.timestamp ? this.fill(this.timestamp, reader) : '';
      const text = this.fill(format.data, reader);
      const level = LEVELS.includes(format.tag) ? format.tag : 'info';
      return { level, text, stamp };
    } catch (error) {
      const hex = frame.map((byte) => byte.toString(16).padStart(2, '0')).join(' ');
      return { level: 'error', text: `(not decoded: ${error.message}) ${hex}`, stamp: '' };
    }
  }

  /** A format string with its arguments in place. */
  fill(format, reader) {
    const pieces = format.split(/(\{\{|\}\}|\{[^}]*\})/);
    const values = [];
    return pieces
      .map((piece) => {
        if (piece === '{{') return '{';
        if (piece === '}}') return '}';
        if (!piece.startsWith('{')) return piece;
        const [, index, type, hint] = /^\{(\d*)(?:=([^:}]*))?(?::([^}]*))?\}$/.exec(piece) ?? [];
        const place = index ? Number(index) : values.length;
        if (values[place] === undefined) values[place] = this.value(type || '?', reader);
        return show(values[place], hint);
      })
      .join('');
  }

  value(type, reader) {
    const array = /^\[(.+); *(\d+)\]$/.exec(type);
    if (array) return Array.from({ length: Number(array[2]) }, () => this.value(array[1], reader));
    switch (type) {
      case 'u8': case 'u16': case 'u32': case 'u64': case 'i8': case 'i16': case 'i32': case 'i64': case 'f32': case 'f64':
        return reader[type]();
      case 'usize': return reader.u32();
      case 'isize': return reader.i32();
      case 'bool': return reader.u8() !== 0;
      case 'char': return String.fromCodePoint(reader.u32());
      case 'str': return reader.bytes(reader.u32()).toString('utf8');
      case 'istr': return this.formats.get(reader.u16())?.data ?? '?';
      case '[u8]': return [...reader.bytes(reader.u32())];
      case '[?]': return Array.from({ length: reader.u32() }, () => this.nested(reader));
      case '?': return this.nested(reader);
      default: throw new Error(`type ${type} is not known here`);
    }
  }

  nested(reader) {
    const format = this.formats.get(reader.u16());
    if (!format) throw new Error('unknown format inside a message');
    if (!format.data.includes('|')) return this.fill(format.data, reader);
    return this.fill(format.data.split('|')[reader.u8()] ?? '?', reader);
  }
}

class Reader {
  constructor(bytes) {
    this.data = Buffer.from(bytes);
    this.at = 0;
  }

  bytes(count) {
    if (this.at + count > this.data.length) throw new Error('cut short');
    this.at += count;
    return this.data.subarray(this.at - count, this.at);
  }

  u8() { return this.bytes(1).readUInt8(); }
  u16() { return this.bytes(2).readUInt16LE(); }
  u32() { return this.bytes(4).readUInt32LE(); }
  u64() { return this.bytes(8).readBigUInt64LE(); }
  i8() { return this.bytes(1).readInt8(); }
  i16() { return this.bytes(2).readInt16LE(); }
  i32() { return this.bytes(4).readInt32LE(); }
  i64() { return this.bytes(8).readBigInt64LE(); }
  f32() { return this.bytes(4).readFloatLE(); }
  f64() { return this.bytes(8).readDoubleLE(); }
}

function show(value, hint) {
  if (Array.isArray(value)) return `[${value.map((item) => show(item, hint)).join(', ')}]`;
  if (hint && /x$/i.test(hint) && typeof value !== 'string') return `${hint.includes('#') ? '0x' : ''}${value.toString(16)}`;
  if (typeof value === 'number' && !Number.isInteger(value)) return String(Math.round(value * 1e6) / 1e6);
  return String(value);
}

export function uncompress(frame) {
  const out = [];
  let at = frame.length - 1;
  const take = () => {
    if (at < 0) throw new Error('cut short');
    out.push(frame[at--]);
  };
  while (at >= 0) {
    const mark = frame[at--];
    if (mark < 0x80) {
      for (let bit = 6; bit >= 0; bit--) {
        if (mark & (1 << bit)) out.push(0);
        else take();
      }
    } else if (mark === 0xff) {
      for (let count = 0; count < 134; count++) take();
    } else {
      out.push(0);
      for (let count = 0; count < (mark & 0x7f) + 7; count++) take();
    }
  }
  return out.reverse();
}
