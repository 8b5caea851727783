import { readCapture } from '../board/capture.js';
import { Flash } from '../board/flash.js';
import { edges } from './reading.js';

export const title = 'A whole guided job: a mistake named, put right, recorded; power cut as the record is written';

const SCENARIO = 'hardware/emulated-board/jobs/mill-race-eight-after-zero.toml';
const SCRIPT = 'hardware/emulated-board/jobs/whole-job-unhurried.keys';
/** Issue 7: a reading on the board equals the desktop's within this, degrees. */
const MOST_DEGREES = 0.05;
const PICTURE_EVERY_S = 10;
/** Where the store keeps records (`firmware/store/src/places.rs`): from sector 38 of the last 512 KiB. */
const RECORDS_AT = 0x180000 + 38 * 4096;
/** How much of an operation on the record is done when the power goes. */
const TEARS = [{ share: 0.3 }, { share: 0.99 }, { share: 0.5, scatter: 5 }];

export function run(kit) {
  const [scenario, script] = kit.given.length ? kit.given : [SCENARIO, SCRIPT];
  const session = kit.session(scenario, script);
  const [mistake] = kit.make(scenario).truth.causes;
  const capture = readCapture(session.capture);
  const rig = kit.rig({ volts: capture.supply[0]?.volts ?? 14.1, profile: false });
  rig.run(1);
  kit.sendJob(rig, session.job);
  rig.run(0.5);
  rig.tap.clear();
  const writes = recordWrites(rig.board.flash);
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
  kit.check('the mistake is named', record.cause?.id === mistake, `${JSON.stringify(record.cause)}, made: ${mistake}`);
  kit.check('and it is what the desktop names', record.cause?.id === session.record.cause, session.record.cause);
  kit.check('the verdict is the desktop\'s', record.verdict === session.record.verdict, record.verdict);
  kit.check('which is on target', record.verdict === 'on-target', record.verdict);
  restart(kit, rig, record);
  cuts(kit, writes, record);
}

/** Power off and on again: the record is whole. */
function restart(kit, rig, record) {
  rig.powerCycle();
  rig.run(1);
  rig.until('the serial port open again', () => rig.serial.connected, 3);
  const again = fetchRecord(kit, rig);
  kit.check('after a restart the record is whole', again?.sealed === record.sealed, again ? `number ${again.number}` : 'gone');
}

/** What the flash holds before each operation on the records, and the operation. */
function recordWrites(flash) {
  const writes = [];
  flash.onOperation = (operation) => {
    if (operation.address >= RECORDS_AT) writes.push({ before: flash.bytes.slice(), operation: { ...operation } });
  };
  return writes;
}

/** The same record with the power cut in each of its operations: there as it was written, or not there; never torn. */
function cuts(kit, writes, record) {
  kit.check('the record was written to the flash', writes.length > 0, `${writes.length} operations`);
  const found = { whole: 0, absent: 0, torn: 0 };
  for (const { before, operation } of writes) {
    for (const tear of TEARS) {
      const rig = kit.rig({ flash: Flash.cutIn(before, operation, tear), profile: false });
      rig.run(0.8);
      rig.until('the serial port open', () => rig.serial.connected, 3);
      const kept = fetchRecord(kit, rig);
      if (kept === undefined) found.absent++;
      else if (kept.sealed === record.sealed) found.whole++;
      else found.torn++;
    }
  }
  kit.check('a cut while it is written leaves it whole or absent', found.torn === 0 && found.absent > 0, JSON.stringify(found));
}

/** The newest record over the serial port, or undefined. */
export function fetchRecord(kit, rig) {
  const from = rig.serial.received.length;
  kit.ask(rig, { records: { from: 1, to: 99 } }, (line) => line.done?.what === 'records', 5);
  return rig.serial.objectsFrom(from).map((line) => line.record).filter(Boolean).at(-1);
}
