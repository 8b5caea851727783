// The firmware's file: what is to be loaded where, and which function an address belongs to.

import { readFileSync } from 'node:fs';

const LOAD = 1;
const SYMBOL_TABLE = 2;
const FUNCTION = 2;

export class Elf {
  constructor(path) {
    const bytes = readFileSync(path);
    if (bytes.length < 52 || bytes.readUInt32BE(0) !== 0x7f454c46 || bytes[4] !== 1) {
      throw new Error(`${path}: not a 32-bit ELF file`);
    }
    this.path = path;
    this.bytes = bytes;
    this.entry = bytes.readUInt32LE(24);
    this.segments = this.readSegments();
    this.sections = this.readSections();
    this.symbols = this.readSymbols();
    this.functions = this.symbols
      .filter((symbol) => symbol.type === FUNCTION && symbol.size > 0)
      .map((symbol) => ({ ...symbol, address: symbol.address & ~1 }))
      .sort((a, b) => a.address - b.address);
  }

  readSegments() {
    const { bytes } = this;
    const at = bytes.readUInt32LE(28);
    const size = bytes.readUInt16LE(42);
    const count = bytes.readUInt16LE(44);
    const segments = [];
    for (let index = 0; index < count; index++) {
      const header = at + index * size;
      const length = bytes.readUInt32LE(header + 16);
      if (bytes.readUInt32LE(header) !== LOAD || length === 0) continue;
      const offset = bytes.readUInt32LE(header + 4);
      segments.push({
        physical: bytes.readUInt32LE(header + 12),
        data: bytes.subarray(offset, offset + length),
      });
    }
    return segments;
  }

  readSections() {
    const { bytes } = this;
    const at = bytes.readUInt32LE(32);
    const size = bytes.readUInt16LE(46);
    const count = bytes.readUInt16LE(48);
    const sections = [];
    for (let index = 0; index < count; index++) {
      const header = at + index * size;
      sections.push({
        nameAt: bytes.readUInt32LE(header),
        type: bytes.readUInt32LE(header + 4),
        address: bytes.readUInt32LE(header + 12),
        offset: bytes.readUInt32LE(header + 16),
        size: bytes.readUInt32LE(header + 20),
        link: bytes.readUInt32LE(header + 24),
      });
    }
    const names = sections[bytes.readUInt16LE(50)];
    for (const section of sections) section.name = names ? this.text(names.offset + section.nameAt) : '';
    return sections;
  }

  readSymbols() {
    const { bytes, sections } = this;
    const symbols = [];
    for (const table of sections.filter((section) => section.type === SYMBOL_TABLE)) {
      const names = sections[table.link];
      for (let at = table.offset; at < table.offset + table.size; at += 16) {
        const sectionIndex = bytes.readUInt16LE(at + 14);
        symbols.push({
          name: this.text(names.offset + bytes.readUInt32LE(at)),
          address: bytes.readUInt32LE(at + 4),
          size: bytes.readUInt32LE(at + 8),
          type: bytes[at + 12] & 0xf,
          section: sections[sectionIndex]?.name ?? '',
        });
      }
    }
    return symbols;
  }

  text(at) {
    return this.bytes.toString('utf8', at, this.bytes.indexOf(0, at));
  }

  /** The address of a symbol, or undefined. */
  address(name) {
    return this.symbols.find((symbol) => symbol.name === name)?.address;
  }

  /** Functions whose readable name contains every one of the words. */
  functionsNamed(...words) {
    return this.functions.filter((symbol) => words.every((word) => readable(symbol.name).includes(word)));
  }

  /** The function that an address lies in, or undefined. */
  functionAt(address) {
    let low = 0;
    let high = this.functions.length - 1;
    while (low <= high) {
      const middle = (low + high) >> 1;
      const symbol = this.functions[middle];
      if (address < symbol.address) high = middle - 1;
      else if (address >= symbol.address + symbol.size) low = middle + 1;
      else return symbol;
    }
    return undefined;
  }
}

/** A Rust symbol as `crate::module::function`, near enough to read and to search. */
export function readable(name) {
  const old = /^_ZN(.*)17h[0-9a-f]{16}E$/.exec(name);
  if (old) return parts(old[1]).join('::').replace(/\$LT\$/g, '<').replace(/\$GT\$/g, '>').replace(/\.\./g, '::');
  return name.startsWith('_R') ? identifiers(name.slice(2)).join('::') : name;
}

/** The identifiers of a name in the newer mangling, in order; types and hashes are passed over. */
function identifiers(mangled) {
  const found = [];
  let at = 0;
  while (at < mangled.length) {
    const rest = mangled.slice(at);
    const identifier = /^(\d+)_?/.exec(rest);
    const passed = /^(?:s|B)[0-9a-zA-Z]*_/.exec(rest);
    if (identifier && !rest.startsWith('0')) {
      const length = Number(identifier[1]);
      found.push(rest.slice(identifier[0].length, identifier[0].length + length));
      at += identifier[0].length + length;
    } else {
      at += passed ? passed[0].length : 1;
    }
  }
  return found;
}

function parts(mangled) {
  const found = [];
  for (let at = 0; at < mangled.length; ) {
    const digits = /^\d+/.exec(mangled.slice(at));
    if (!digits) break;
    at += digits[0].length;
    found.push(mangled.slice(at, at + Number(digits[0])));
    at += Number(digits[0]);
  }
  return found;
}
