// What is connected to the chip understands what is sent to it.

import assert from 'node:assert/strict';
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { test } from 'node:test';
import { readCapture } from '../board/capture.js';
import { uncompress, Decoder } from '../board/defmt.js';
import { Display } from '../board/display.js';
import { sleepingBoard } from './bench.js';

test('a line arrives at its place, address least significant bit first', () => {
  const display = new Display();
  const board = sleepingBoard();
  board.add(display);
  display.select(true);
  const dots = Array(50).fill(0xff);
  dots[0] = 0x7f;
  // Line 3 is 0b00000011: first on the wire its ones, so 0xc0 for a port that sends the most significant bit first.
  for (const byte of [0x80, 0xc0, ...dots, 0, 0]) display.byte(byte);
  display.select(false);
  assert.equal(display.isLight(0, 2), false);
  assert.equal(display.dark, 1);
  assert.deepEqual(display.faults, []);
});

test('half a line and an address that does not exist are faults of the firmware', () => {
  const display = new Display();
  sleepingBoard().add(display);
  display.select(true);
  for (const byte of [0x80, 0xc0, 1, 2, 3]) display.byte(byte);
  display.select(false);
  display.select(true);
  for (const byte of [0x80, 0xff, ...Array(50).fill(0), 0, 0]) display.byte(byte);
  display.select(false);
  assert.equal(display.faults.length, 2);
});

test('a dump is read to its changes, without the first levels', () => {
  const path = join(mkdtempSync(join(tmpdir(), 'keyway-')), 'capture.vcd');
  writeFileSync(path, `$timescale 1 us $end
$var wire 1 ! crank $end $var wire 1 " spark1 $end $var real 64 # battery_v $end
$enddefinitions $end
#0 $dumpvars 0! x" r13.9 # $end
#10 1!
#12 1"
#15 0" 0!
#40
`);
  const capture = readCapture(path);
  const changes = capture.changes.map(({ at, signal, level }) => [Math.round(at * 1e6), signal, level]);
  assert.deepEqual(changes, [[10, 'crank', true], [15, 'spark', false], [15, 'crank', false]]);
  assert.equal(capture.start.spark, true, 'from unknown to a level is no edge');
  assert.equal(capture.supply[0].volts, 13.9);
});

test('frames are uncompressed as the format says', () => {
  // Pairs published with the format: what went in, what was sent without the closing zero.
  for (const [data, sent] of [
    [[0x01], [0x01, 0x7e]],
    [[0x00, 0x01], [0x01, 0x7d]],
    [[0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x00], [0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x40]],
    [[0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x77], [0x11, 0x22, 0x33, 0x44, 0x55, 0x66, 0x77, 0x80]],
  ]) {
    assert.deepEqual(uncompress(sent).slice(0, data.length), data);
  }
});

test('a message is filled in from the symbols', () => {
  const symbol = (address, tag, data) => ({ address, section: '.defmt', name: JSON.stringify({ tag, data }) });
  const decoder = new Decoder({
    symbols: [
      symbol(1, 'defmt_info', 'kept {=u16} of {:?}'),
      symbol(2, 'defmt_derived', 'State|Record({=u8})'),
    ],
  });
  // 01 00, 2a 00, 02 00, variant 1, 07: marks after seven bytes and at the end.
  const frame = [0x01, 0x2a, 0x02, 0x01, 0b0101010, 0x07, 0b1111110];
  assert.deepEqual(decoder.decode(frame), { level: 'info', text: 'kept 42 of Record(7)', stamp: '' });
});
