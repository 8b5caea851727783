// Skipping over the rounds of a counting state machine changes nothing that can be seen.

import assert from 'node:assert/strict';
import { test } from 'node:test';
import { random } from '../board/random.js';
import { sleepingBoard } from './bench.js';
import { Player } from '../board/stimulus.js';

const PIO0 = 0x50200000;
const DMA = 0x50000000;
const RING = 0x20010000;

// A capture program: while the pin stays, x counts down once in two cycles; at a change, x and the pins are pushed.
const PROGRAM = [
  0x00c3, // 0  low:    jmp pin, rose
  0x0040, // 1          jmp x--, low
  0x0000, // 2          jmp low          (x had run out)
  0x403f, // 3  rose:   in x, 31
  0x4001, // 4          in pins, 1       (pushes the word)
  0x0046, // 5          jmp x--, high
  0x00c8, // 6  high:   jmp pin, stays
  0x000a, // 7          jmp fell
  0x0046, // 8  stays:  jmp x--, high
  0x0006, // 9          jmp high
  0x403f, // 10 fell:   in x, 31
  0x4001, // 11         in pins, 1
  0x0040, // 12         jmp x--, low
  0x0000, // 13         jmp low
];

function start(board, divider) {
  const { mcu } = board;
  for (const pin of [2, 3]) mcu.writeUint32(0x4001c004 + 4 * pin, 0x40);
  PROGRAM.forEach((word, index) => mcu.writeUint32(PIO0 + 0x48 + 4 * index, word));
  for (const machine of [0, 1]) {
    const base = PIO0 + 0xc8 + 0x18 * machine;
    const pin = 2 + machine;
    mcu.writeUint32(base, divider << 16);
    mcu.writeUint32(base + 4, (pin << 24) | (13 << 12));
    mcu.writeUint32(base + 8, (1 << 16) | (1 << 30) * 2);
    mcu.writeUint32(base + 20, pin << 15);
    mcu.writeUint32(base + 16, 0xa02b); // mov x, !null
    const channel = DMA + 0x40 * machine;
    mcu.writeUint32(channel + 4, RING + 0x8000 * machine);
    mcu.writeUint32(channel, PIO0 + 0x20 + 4 * machine);
    mcu.writeUint32(channel + 8, 0x1fff);
    mcu.writeUint32(channel + 12, ((4 + machine) << 15) | (machine << 11) | (1 << 5) | (2 << 2) | 1);
  }
  mcu.writeUint32(PIO0, 0x333);
}

function words(board) {
  const { mcu } = board;
  const found = [];
  for (const machine of [0, 1]) {
    const end = mcu.readUint32(DMA + 0x40 * machine + 4);
    for (let at = RING + 0x8000 * machine; at < end; at += 4) found.push(mcu.readUint32(at));
  }
  return found;
}

function capture(count, seed) {
  const next = random(seed);
  const changes = [];
  const level = { crank: false, spark: false };
  let at = 0.001;
  for (let index = 0; index < count; index++) {
    at += (next(40) === 0 ? 10 : 1 + next(2500)) * 1e-7;
    const signal = next(5) === 0 ? 'spark' : 'crank';
    level[signal] = !level[signal];
    changes.push({ at, signal, level: level[signal] });
  }
  return { changes, supply: [], start: { crank: false, spark: false } };
}

function run(played, { plain, divider = 1 }) {
  const board = sleepingBoard({ plain });
  start(board, divider);
  const player = new Player(played, 0);
  board.add(player);
  board.addSource(player);
  board.runUntil(played.changes.at(-1).at + 0.001);
  return { words: words(board), machines: board.machines, player };
}

test('skipping gives the same words as stepping every cycle', () => {
  for (const divider of [1, 3]) {
    const played = capture(400, 7 + divider);
    const plain = run(played, { plain: true, divider });
    const skipping = run(played, { plain: false, divider });
    assert.ok(plain.words.length > 350, `${plain.words.length} words`);
    assert.deepEqual(skipping.words, plain.words);
    assert.ok(skipping.machines.stepped * 20 < plain.machines.stepped, 'most steps were skipped');
  }
});

test('a word tells the time of its edge to two counts', () => {
  const played = capture(300, 3);
  const { words: got, player } = run(played, { plain: false });
  const crank = player.played.filter((change) => change.signal === 'crank');
  assert.equal(got.length, player.played.length);
  for (let index = 1; index < crank.length; index++) {
    const cycles = crank[index].cycle - crank[index - 1].cycle;
    const counted = ((got[index - 1] >>> 1) - (got[index] >>> 1)) & 0x7fffffff;
    // The program spends two cycles in three on the record itself, and a count is two cycles.
    assert.ok(Math.abs(cycles - 2 * counted) <= 6, `${cycles} cycles, ${counted} counts`);
    assert.equal(got[index] & 1, Number(crank[index].level));
  }
});
