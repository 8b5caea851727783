// A board with a program of a few hand-assembled instructions, for tests that need no firmware.

import { Board } from '../board/board.js';
import { Flash } from '../board/flash.js';

export const RAM_CODE = 0x20001000;

/** A stand-in for the firmware's file: a vector table and these half-words at 0x10000200. */
export function program(code) {
  const data = Buffer.alloc(0x200 + code.length * 2);
  data.writeUInt32LE(0x20040000, 0x100);
  for (let vector = 1; vector < 48; vector++) data.writeUInt32LE(0x10000200 | 1, 0x100 + 4 * vector);
  code.forEach((word, index) => data.writeUInt16LE(word, 0x200 + 2 * index));
  return { segments: [{ physical: 0x10000000, data }], functions: [], symbols: [], functionAt: () => undefined };
}

/** wfi, and again. */
export const SLEEP = [0xbf30, 0xe7fd];

export function sleepingBoard(options = {}) {
  const board = new Board(program(SLEEP), { flash: new Flash(0x100000), profile: false, ...options });
  board.powerOn();
  return board;
}
