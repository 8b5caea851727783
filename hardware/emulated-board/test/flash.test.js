// The flash takes its time, is an error to fetch from meanwhile, and is left half done by a cut.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { RAM_CODE, sleepingBoard } from './bench.js';

const BRANCH_LINK_R4 = 0x47a0;
const BRANCH_TO_ITSELF = 0xe7fe;
const BUFFER = 0x20002000;
const TABLE = 0x80;

/** Lets the processor call a function of the boot ROM, from memory; `then` runs when it has returned. */
function call(board, code, ...values) {
  const { mcu } = board;
  const { core } = mcu;
  mcu.writeUint16(RAM_CODE, BRANCH_LINK_R4);
  mcu.writeUint16(RAM_CODE + 2, BRANCH_TO_ITSELF);
  core.PC = RAM_CODE;
  core.waiting = false;
  core.PM = true;
  values.forEach((value, index) => (core.registers[index] = value));
  core.registers[4] = board.rom.lookup(TABLE, code.charCodeAt(0) | (code.charCodeAt(1) << 8));
}

function returned(board) {
  return board.mcu.core.PC === RAM_CODE + 2 && board.rom.entered === 0;
}

/** Calls and waits; returns the milliseconds it took. */
function finish(board, code, ...values) {
  const start = board.seconds;
  call(board, code, ...values);
  while (!returned(board)) board.runFor(0.0001);
  return (board.seconds - start) * 1000;
}

function ready() {
  const board = sleepingBoard();
  board.runFor(0.0001);
  finish(board, 'IF');
  finish(board, 'EX');
  return board;
}

function fillBuffer(board, value) {
  for (let index = 0; index < 256; index++) board.mcu.writeUint8(BUFFER + index, value(index));
}

test('an erase takes 45 ms and a page 0.7 ms, and what was written can be read again', () => {
  const board = ready();
  const erase = finish(board, 'RE', 0x10000, 4096, 65536, 0xd8);
  assert.ok(erase > 44.9 && erase < 45.3, `${erase} ms`);
  fillBuffer(board, (index) => index);
  const page = finish(board, 'RP', 0x10100, BUFFER, 256);
  assert.ok(page > 0.65 && page < 0.95, `${page} ms`);
  fillBuffer(board, (index) => index & 0xf0);
  finish(board, 'RP', 0x10100, BUFFER, 256);
  finish(board, 'FC');
  finish(board, 'CX');
  assert.equal(board.mcu.readUint8(0x10010142), 0x40, 'bits only go from one to zero');
  assert.equal(board.mcu.readUint8(0x10010000), 0xff);
});

test('one erase can be made to take 400 ms', () => {
  const board = ready();
  board.flash.nextEraseMillis.push(400);
  const erase = finish(board, 'RE', 0x10000, 8192, 65536, 0xd8);
  assert.ok(erase > 444.9 && erase < 445.3, `${erase} ms`);
});

test('a fetch from flash during an erase stops the run', () => {
  const board = ready();
  call(board, 'RE', 0x10000, 4096, 65536, 0xd8);
  board.at(board.seconds + 0.01, () => board.mcu.readUint16(0x10000200));
  assert.throws(() => board.runFor(0.1), /fetch from flash at 0x10000200 during a flash erase/);
});

test('an erase that was never asked out of the readable state is a fault', () => {
  const board = sleepingBoard();
  board.runFor(0.0001);
  call(board, 'RE', 0x10000, 4096, 65536, 0xd8);
  assert.throws(() => board.runFor(0.1), /without leaving the readable state/);
});

test('a cut leaves a page torn: before it new, after it old', () => {
  const board = ready();
  fillBuffer(board, () => 0x5a);
  call(board, 'RP', 0x10100, BUFFER, 256);
  board.at(board.seconds + 0.00035, () => board.powerOff());
  board.runFor(0.002);
  const page = [...board.flash.bytes.subarray(0x10100, 0x10200)];
  const written = page.findIndex((value) => value !== 0x5a);
  assert.ok(written > 100 && written < 150, `torn at ${written}`);
  assert.equal(page[written], 0xff & ~(~0x5a & 0x55), 'of the next byte every second bit');
  assert.ok(page.slice(written + 1).every((value) => value === 0xff));
});

test('a cut leaves a sector partly erased', () => {
  const board = ready();
  board.flash.bytes.fill(0, 0x10000, 0x11000);
  call(board, 'RE', 0x10000, 4096, 65536, 0xd8);
  board.at(board.seconds + 0.0225, () => board.powerOff());
  board.runFor(0.1);
  const sector = board.flash.bytes.subarray(0x10000, 0x11000);
  assert.ok(sector.subarray(0, 0x700).every((value) => value === 0xff));
  assert.ok(sector.subarray(0x900).every((value) => value === 0));
});

test('a cut by scatter leaves bits that changed beside bits that did not, and none that was not to change', () => {
  const board = ready();
  board.flash.scatter = 42;
  fillBuffer(board, () => 0x0f);
  call(board, 'RP', 0x10100, BUFFER, 256);
  board.at(board.seconds + 0.00035, () => board.powerOff());
  board.runFor(0.002);
  const page = [...board.flash.bytes.subarray(0x10100, 0x10200)];
  assert.ok(page.every((value) => (value & 0x0f) === 0x0f));
  const cleared = page.reduce((sum, value) => sum + [16, 32, 64, 128].filter((bit) => !(value & bit)).length, 0);
  assert.ok(cleared > 400 && cleared < 624, `${cleared} of 1024`);
});

test('a one asked for where a zero stands is a fault', () => {
  const board = ready();
  board.flash.bytes.fill(0, 0x10100, 0x10200);
  fillBuffer(board, () => 0x5a);
  call(board, 'RP', 0x10100, BUFFER, 256);
  assert.throws(() => board.runFor(0.002), /a one asked for where a zero stands/);
});

test('memory survives a reset and not a cut', () => {
  const board = sleepingBoard();
  board.runFor(0.0001);
  board.mcu.writeUint32(0x20003000, 0x12345678);
  board.mcu.writeUint32(0xe000ed0c, 0x05fa0004);
  board.mcu.core.waiting = false;
  board.runFor(0.001);
  assert.equal(board.boots.length, 2);
  assert.equal(board.mcu.readUint32(0x20003000), 0x12345678);
  board.powerOff();
  board.powerOn();
  assert.notEqual(board.mcu.readUint32(0x20003000), 0x12345678);
});
