// A capture on the pins, and what the handheld makes of it beside what the desktop reads in the file.

import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { readCapture } from '../board/capture.js';
import { compare } from '../board/edges.js';
import { judgementChecks, watchJudgements } from '../board/table.js';

/** Issue 7: the reading shown equals the desktop's within this, degrees. */
const MOST_DEGREES = 0.05;

const HERTZ = 48e6;

/** How long after the last edge the stream may still be telling of it, seconds. */
const MOST_LAG = 8;

/** Plays a simulated engine's capture to a handheld that has its job, and times its judgements; returns the rig. */
export function reading(kit, scenario, seconds = 6) {
  return readingOf(kit, kit.make(scenario), seconds);
}

export function readingOf(kit, { capture: path, job }, seconds = Infinity) {
  const capture = readCapture(path);
  const rig = kit.rig({ volts: capture.supply[0]?.volts ?? 14.1 });
  const { profile } = rig.board;
  watchJudgements(profile);
  rig.run(1);
  kit.sendJob(rig, job);
  kit.chooseFirstEngine(rig);
  rig.picture('engine');
  kit.ask(rig, { live: { on: true } }, (line) => line.done || line.live);
  kit.ask(rig, { stream: { on: true } }, (line) => line.stream);
  rig.tap.clear();
  const from = rig.serial.received.length;
  const player = rig.play(capture, { to: seconds });
  rig.until('the capture at its end', () => player.done, capture.seconds + 1);
  // Batches lag behind while the processor is busy, and catch up once the engine stands.
  waitForStream(rig, from, player.played.length);
  const lines = rig.serial.objectsFrom(from);
  edges(kit, rig, player);
  const live = lines.map((line) => line.live).filter(Boolean);
  const last = live.filter((line) => line.advance_btdc_deg !== null).at(-1);
  const heard = streamed(lines);
  const copy = join(kit.out, 'heard.vcd');
  writeFileSync(copy, heard.dump);
  stream(kit, rig, from, player.played.length, 0);
  const cut = join(kit.out, 'played.vcd');
  writeFileSync(cut, dumpOf(player));
  const desktop = kit.read(cut, job).reading;
  const streamedReading = kit.read(copy, job).reading;
  kit.check(
    'what the stream tells reads as the file does',
    Math.abs(streamedReading.advance_btdc_deg - desktop.advance_btdc_deg) <= MOST_DEGREES,
    `${streamedReading.advance_btdc_deg} and ${desktop.advance_btdc_deg}`,
  );
  kit.check('the handheld gives a number', last, last ? `${last.advance_btdc_deg}° BTDC ± ${last.uncertainty_deg}` : 'none');
  const settled = live.filter((line) => line.settled_btdc_deg !== null).at(-1);
  const [named] = kit.read(cut, job).causes;
  kit.check('the first cause is the desktop\'s', settled?.cause === named.id, `${settled?.cause} and ${named.id} (${named.probability})`);
  kit.check(
    'the settled number is the desktop\'s, to 0.05°',
    settled && Math.abs(settled.settled_btdc_deg - desktop.advance_btdc_deg) <= MOST_DEGREES,
    `${settled?.settled_btdc_deg}° ± ${settled?.settled_uncertainty_deg} and ${desktop.advance_btdc_deg}° ± ${desktop.uncertainty_deg}`,
  );
  for (const [what, holds, found] of judgementChecks(profile, HERTZ)) kit.check(what, holds, found);
  if (last) {
    // The live number is that of the last moments, the desktop's that of the whole capture: the ± is what they share.
    const apart = Math.abs(last.advance_btdc_deg - desktop.advance_btdc_deg);
    kit.check(
      'the live number lies within the desktop\'s ±',
      apart <= desktop.uncertainty_deg,
      `${last.advance_btdc_deg}° and ${desktop.advance_btdc_deg}° ± ${desktop.uncertainty_deg}: ${apart.toFixed(3)} apart`,
    );
  }
  rig.picture('after');
  return rig;
}

export function edges(kit, rig, player) {
  ['crank', 'spark'].forEach((signal, channel) => {
    const played = player.played.filter((change) => change.signal === signal);
    const found = compare(played, rig.tap.words[channel]);
    kit.check(`${signal}: every edge, none added, to 0.2 µs`, found.played === found.found && found.gaps === 0 && found.errorMicros <= 0.2, `${found.played} on the pin, ${found.found} out, ± ${found.errorMicros.toFixed(3)} µs`);
  });
}

/** Runs until so many edges were told of, in a batch or as lost. */
export function waitForStream(rig, from, count) {
  for (let waited = 0; waited < MOST_LAG; waited += 0.5) {
    rig.run(0.5);
    const { edges: heard, lost } = streamed(rig.serial.objectsFrom(from));
    if (heard + lost >= count) return;
  }
}

/** Nothing may be missing from the stream in silence: every line readable, batches in a row, and each edge that was
 * played either in one of them or counted as lost; of those at most so many. */
export function stream(kit, rig, from, played, mostLost = Infinity) {
  const unreadable = rig.serial.received.length - from - rig.serial.objectsFrom(from).length;
  kit.check('every line over the serial port can be read', unreadable === 0, `${unreadable} cannot`);
  const lines = rig.serial.objectsFrom(from);
  const numbers = lines.map((line) => line.edges?.batch).filter((number) => number !== undefined);
  kit.check('the batches are numbered in a row', numbers.every((number, index) => number === numbers[0] + index), `${numbers.length} of them`);
  const { edges: heard, lost } = streamed(lines);
  kit.check('every edge is in a batch or counted as lost', heard + lost === played, `${heard} and ${lost} of ${played}`);
  if (mostLost < Infinity) kit.check('lost on the way to the laptop', lost <= mostLost, `${lost}, at most ${mostLost}`);
}

/** The edge stream's batches as a dump, and how many edges and losses it told of. */
function streamed(lines) {
  const stream = lines.find((line) => line.stream)?.stream;
  const batches = lines.map((line) => line.edges).filter(Boolean);
  const rate = stream?.ticks_per_second ?? 6e6;
  const changes = [];
  let lost = 0;
  for (const batch of batches) {
    lost += batch.lost[0] + batch.lost[1];
    let at = batch.start;
    for (const item of batch.d) {
      at += Math.floor(item / 4);
      changes.push({ at: at / rate, signal: item & 2 ? 'spark' : 'crank', level: (item & 1) === 1 });
    }
  }
  return { edges: changes.length, lost, dump: dump(changes, batches.at(-1)?.battery_v) };
}

function dumpOf(player) {
  return dump(player.played.map(({ cycle, signal, level }) => ({ at: cycle / 48e6, signal, level })), player.supply.at(-1)?.volts);
}

/** Changes as a value change dump in nanoseconds, from the first one on. */
function dump(changes, volts) {
  const first = changes[0]?.at ?? 0;
  const lines = ['$timescale 1 ns $end', '$var wire 1 c crank $end', '$var wire 1 s spark1 $end', '$var real 64 v battery_v $end', '$enddefinitions $end'];
  const opposite = (signal) => (changes.find((change) => change.signal === signal)?.level ? 0 : 1);
  lines.push('#0', '$dumpvars', `${opposite('crank')}c`, `${opposite('spark')}s`, '$end');
  if (volts) lines.push('#1', `r${volts} v`);
  for (const { at, signal, level } of changes) {
    lines.push(`#${Math.round((at - first) * 1e9) + 1000}`, `${level ? 1 : 0}${signal === 'crank' ? 'c' : 's'}`);
  }
  return `${lines.join('\n')}\n`;
}
