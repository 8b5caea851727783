// The part of the boot ROM that the firmware calls: a table of functions, and the flash functions behind it.
//
// The emulator has no boot ROM. Here is a small one of our own: the table where the chip's data sheet says it is
// (pointers at 0x14 and 0x18, two-letter codes), each function a spot that the board carries out itself when the
// processor arrives there. A flash function keeps the processor on its spot while the chip is busy, as the real
// one polls the chip; interrupts are taken there as anywhere, so a handler that lies in flash is found out.

const TABLE = 0x80;
const SPOTS = 0x200;
const LOOKUP = SPOTS;
const BRANCH_TO_ITSELF = 0xe7fe;

/** code: what is done with (board, registers); a flash function returns nothing and stays until the chip is done. */
const FUNCTIONS = {
  MS: (board, [to, value, count]) => fill(board, to, value, count),
  S4: (board, [to, value, count]) => fill(board, to, value, count),
  MC: (board, [to, from, count]) => copy(board, to, from, count),
  C4: (board, [to, from, count]) => copy(board, to, from, count),
  P3: (_, [value]) => bits(value).length,
  R3: (_, [value]) => bits(value).reduce((sum, bit) => (sum | (1 << (31 - bit))) >>> 0, 0),
  L3: (_, [value]) => Math.clz32(value),
  T3: (_, [value]) => (value ? 31 - Math.clz32(value & -value) : 32),
  IF: () => {},
  EX: (board) => board.flash.setReadable(false),
  RE: (board, [address, count, blockSize]) => board.flash.erase(address, count, blockSize),
  RP: (board, [address, data, count]) => board.flash.program(address, data, count),
  FC: () => {},
  CX: (board) => board.flash.setReadable(true),
  UB: (board) => board.stop('the firmware asked for the USB boot loader'),
};

function fill(board, to, value, count) {
  for (let index = 0; index < count; index++) board.mcu.writeUint8(to + index, value & 0xff);
  return to;
}

function copy(board, to, from, count) {
  for (let index = 0; index < count; index++) board.mcu.writeUint8(to + index, board.mcu.readUint8(from + index));
  return to;
}

function bits(value) {
  return [...Array(32).keys()].filter((bit) => (value >>> bit) & 1);
}

export class Rom {
  constructor(board) {
    this.board = board;
    this.codes = Object.keys(FUNCTIONS);
    this.entered = 0;
    this.install();
  }

  install() {
    const image = new DataView(this.board.mcu.bootrom.buffer);
    image.setUint32(0x10, 0x0301754d, true);
    image.setUint16(0x14, TABLE, true);
    image.setUint16(0x16, 0x60, true);
    image.setUint16(0x18, LOOKUP | 1, true);
    image.setUint16(LOOKUP, BRANCH_TO_ITSELF, true);
    this.codes.forEach((code, index) => {
      const spot = SPOTS + 16 * (index + 1);
      image.setUint16(TABLE + 4 * index, code.charCodeAt(0) | (code.charCodeAt(1) << 8), true);
      image.setUint16(TABLE + 4 * index + 2, spot | 1, true);
      image.setUint16(spot, BRANCH_TO_ITSELF, true);
    });
  }

  /** The processor is in the ROM. Returns false where an instruction is to be executed there after all. */
  visit() {
    const { board } = this;
    const { core, flash } = { core: board.mcu.core, flash: board.flash };
    const spot = core.PC & ~1;
    if (this.entered !== spot) {
      if (spot === LOOKUP) {
        core.registers[0] = this.lookup(core.registers[0], core.registers[1]);
        return this.leave();
      }
      const run = FUNCTIONS[this.codes[(spot - SPOTS) / 16 - 1]];
      if (!run) {
        board.fail(`the processor is at 0x${spot.toString(16)} in the boot ROM, where there is nothing`);
        return true;
      }
      const result = run(board, [...core.registers.slice(0, 4)]);
      if (typeof result === 'number') core.registers[0] = result;
      board.clock.cycle += 20;
      this.entered = spot;
    }
    flash.update();
    if (!flash.busy) return this.leave();
    return false;
  }

  leave() {
    const { core } = this.board.mcu;
    this.entered = 0;
    core.PC = core.LR & ~1;
    return true;
  }

  lookup(table, code) {
    const { mcu } = this.board;
    for (let at = table; ; at += 4) {
      const found = mcu.readUint16(at);
      if (found === 0) return 0;
      if (found === (code & 0xffff)) return mcu.readUint16(at + 2);
    }
  }
}
