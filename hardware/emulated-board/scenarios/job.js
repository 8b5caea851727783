import { readCapture } from '../board/capture.js';
import { edges } from './reading.js';

export const title = 'A whole guided job: a mistake named, put right, recorded';

/** Issue 7: a reading on the board equals the desktop's within this, degrees. */
const MOST_DEGREES = 0.05;
const PICTURE_EVERY_S = 2;

export function run(kit) {
  const [scenario, script] = kit.given.length
    ? kit.given
    : ['simulator/scenarios/weir-pump-six-wrong-side-of-zero.toml', 'simulator/scenarios/whole-job.keys'];
  const session = kit.session(scenario, script);
  const capture = readCapture(session.capture);
  const rig = kit.rig({ volts: capture.supply[0]?.volts ?? 14.1 });
  rig.run(1);
  kit.sendJob(rig, session.job);
  rig.run(0.5);
  rig.tap.clear();
  const player = rig.playSession(capture);
  const end = Math.max(capture.seconds, capture.keys.at(-1)?.at ?? 0) + 1;
  const start = rig.seconds;
  while (rig.seconds < start + end) {
    rig.run(Math.min(PICTURE_EVERY_S, start + end - rig.seconds));
    rig.snapshot(`at-${(rig.seconds - start).toFixed(0)}s`);
  }
  edges(kit, rig, player);
  kit.check('the display was never sent anything it does not know', rig.display.faults.length === 0, rig.display.faults.join('; '));
  kit.check('no reset on the way', rig.board.boots.length === 1, rig.board.boots.length - 1);
  const record = fetchRecord(kit, rig);
  if (!kit.check('a record is kept', record, record ? `number ${record.number}` : '')) return;
  for (const [name, mine, desktop] of [
    ['found', record.before?.advance_btdc_deg, session.record.before_btdc_deg],
    ['left', record.after?.advance_btdc_deg, session.record.after_btdc_deg],
  ]) {
    kit.check(`the number ${name} is the desktop's`, Math.abs(mine - desktop) <= MOST_DEGREES, `${mine} and ${desktop}`);
  }
  kit.check('the verdict is the desktop\'s', record.verdict === 'on-target', record.verdict);
  kit.note(`cause in the record: ${JSON.stringify(record.cause)}`);
}

/** The newest record over the serial port, or undefined. */
export function fetchRecord(kit, rig) {
  const from = rig.serial.received.length;
  kit.ask(rig, { records: { from: 1, to: 99 } }, (line) => line.done?.what === 'records', 5);
  return rig.serial.objectsFrom(from).map((line) => line.record).filter(Boolean).at(-1);
}
