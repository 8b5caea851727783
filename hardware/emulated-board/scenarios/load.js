import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { compare } from '../board/edges.js';
import { jobAsJson } from '../board/job.js';
import { table, watchAll } from '../board/table.js';
import { wheelCapture } from '../board/wheel.js';
import { readFileSync } from 'node:fs';
import { stream, waitForStream } from './reading.js';

export const title = '9000 rpm on 60-2: screen, store and a 400 ms erase at once, and where the cycles go';

const HERTZ = 48e6;
/** The swing of the crank is learned anew once in so long, seconds at 9000 rpm. */
const LEARNED_EVERY = 9;

export function run(kit) {
  const rig = kit.rig();
  const { board } = rig;
  rig.run(1);
  const { job } = kit.make('simulator/scenarios/weir-pump-six-healthy.toml');
  const wanted = jobAsJson(readFileSync(job, 'utf8'));
  delete wanted.context;
  wanted.crank = { ...wanted.crank, teeth: 60, missing: 2 };
  rig.until('the serial port open', () => rig.serial.connected, 3);
  kit.ask(rig, { job: { slot: 0, job: wanted } }, (line) => line.done);
  kit.chooseFirstEngine(rig);
  // The second item of the engine's menu shows what is measured, live.
  rig.keys.press(2);
  rig.keys.press(3);
  rig.run(0.3);
  watchAll(board.profile);
  rig.tap.clear();
  const capture = wheelCapture({ teeth: 60, missing: 2, rpm: 9000, seconds: 5 + LEARNED_EVERY, sparkTurns: 2 });
  const player = rig.play(capture);
  // What is learned of the wheel's first turns costs most: told apart from what goes on afterwards.
  board.profile.clear();
  rig.run(1);
  const learning = table(board.profile, HERTZ).lines.filter((line) => /^awake|^edges, from the rings/.test(line));
  rig.run(1.5);
  rig.picture('9000 rpm', { wait: 0 });
  board.profile.clear();
  const lines = rig.display.linesWritten;
  const start = rig.seconds;
  rig.run(LEARNED_EVERY);
  const redrawn = (rig.display.linesWritten - lines) / (rig.seconds - start);
  const figures = table(board.profile, HERTZ);
  figures.lines.push('', 'in the first second, while the wheel is learned:', ...learning);
  figures.lines.push(`lines of the display sent a second: ${redrawn.toFixed(0)}`);
  // Jobs are kept again and again, so that a sector has to be erased, which takes its worst time.
  board.flash.eraseMillis = 400;
  board.flash.pageMillis = 3;
  const operations = board.flash.log.length;
  for (let count = 0; count < 9; count++) {
    rig.serial.post(`${JSON.stringify({ job: { slot: 0, job: { ...wanted, name: `Engine ${count}` } } })}\n`);
    rig.run(0.2);
  }
  rig.until('the capture at its end', () => player.done, 10);
  rig.run(0.5);
  const done = board.flash.log.slice(operations);
  const erases = done.filter((operation) => operation.kind === 'erase').length;
  kit.check('pages were written while the engine turned', done.some((operation) => operation.kind === 'program'), `${done.length - erases} pages, ${erases} erases of 400 ms`);
  kit.check('an erase of 400 ms fell into it', erases > 0, erases);
  ['crank', 'spark'].forEach((signal, channel) => {
    const found = compare(player.played.filter((change) => change.signal === signal), rig.tap.words[channel]);
    kit.check(`${signal}: no edge lost in the capture path`, found.played === found.found && found.gaps === 0, `${found.played} on the pin, ${found.found} out, ± ${found.errorMicros.toFixed(3)} µs`);
  });
  const lost = rig.log.with('lost');
  kit.check('the firmware lost none either', lost.length === 0, lost.map((line) => line.text).join('; '));
  // The same with every edge asked for over the serial port: more than the port takes is counted, none is silent.
  const from = rig.serial.received.length;
  kit.ask(rig, { stream: { on: true } }, (line) => line.stream);
  const burst = rig.play(wheelCapture({ teeth: 60, missing: 2, rpm: 9000, seconds: 0.5, sparkTurns: 2 }));
  rig.until('the burst at its end', () => burst.done, 5);
  waitForStream(rig, from, burst.played.length);
  stream(kit, rig, from, burst.played.length);
  for (const [what, ok, found] of figures.checks) kit.check(what, ok, found);
  writeFileSync(join(kit.root, 'hardware/emulated-board/cycles.txt'), `${figures.lines.join('\n')}\n`);
  for (const line of figures.lines) kit.note(line);
}
