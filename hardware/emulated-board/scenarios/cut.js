import { readFileSync } from 'node:fs';
import { Flash } from '../board/flash.js';
import { jobAsJson } from '../board/job.js';

export const title = 'Power cut in a write, and the restart after it';

/** Part of the operation that is done when the power goes; a scatter's seed tears it bit by bit instead. */
const TEARS = [{ share: 0 }, { share: 0.4 }, { share: 0.99 }, { share: 0.5, scatter: 11 }];

/** In parts, each is one of the tears. */
export function run(kit) {
  const tears = kit.part ? [TEARS[kit.part - 1]] : TEARS;
  const { job } = kit.make('simulator/scenarios/weir-pump-six-healthy.toml');
  const first = jobAsJson(readFileSync(job, 'utf8'));
  delete first.context;
  const second = { ...first, name: 'Weir pump six, worked over' };
  const flash = new Flash();
  const rig = kit.rig({ flash, profile: false });
  rig.run(1);
  rig.until('the serial port open', () => rig.serial.connected, 3);
  kit.ask(rig, { job: { slot: 0, job: first } }, (line) => line.done);
  const before = flash.bytes.slice();
  const operations = countOperations(kit, rig, second);
  kit.check('a job is kept by writing', operations > 0, `${operations} flash operations`);
  const found = { old: 0, new: 0, neither: 0 };
  for (let operation = 0; operation < operations; operation++) {
    for (const tear of tears) {
      const outcome = cutAt(kit, before, second, operation, tear, first);
      found[outcome]++;
    }
  }
  // Nothing is left of the old only where all that is tried is cut at its very end.
  const nearlyDone = tears.every((tear) => tear.share > 0.9);
  kit.check('after every cut the old or the new, never neither', found.neither === 0 && (found.old > 0 || nearlyDone), JSON.stringify(found));
}

function countOperations(kit, rig, job) {
  const before = rig.board.flash.log.length;
  kit.ask(rig, { job: { slot: 0, job } }, (line) => line.done);
  return rig.board.flash.log.length - before;
}

function cutAt(kit, bytes, job, number, { share, scatter }, first) {
  const flash = new Flash();
  flash.bytes.set(bytes);
  flash.scatter = scatter ?? null;
  const rig = kit.rig({ flash, profile: false });
  rig.run(0.8);
  rig.until('the serial port open', () => rig.serial.connected, 3);
  let count = 0;
  let cut = false;
  flash.onOperation = ({ begin, end }) => {
    if (count++ !== number) return;
    const at = begin + (end - begin) * share;
    rig.board.at(rig.board.clock.cycleAt(at) / 48e6, () => {
      cut = true;
      rig.board.powerOff();
      rig.board.stop('cut');
    });
  };
  rig.serial.post(`${JSON.stringify({ job: { slot: 0, job } })}\n`);
  for (let wait = 0; wait < 2000 && !cut; wait++) {
    rig.run(0.001);
  }
  flash.onOperation = () => {};
  if (!cut) throw new Error(`operation ${number} never came`);
  rig.board.runFor(0.5);
  rig.board.powerOn();
  rig.run(0.8);
  rig.until('the serial port open again', () => rig.serial.connected, 3);
  const from = rig.serial.received.length;
  kit.ask(rig, { jobs: {} }, (line) => line.done?.what === 'jobs', 3);
  const kept = rig.serial.objectsFrom(from).map((line) => line.job).filter((item) => item?.slot === 0);
  const name = kept[0]?.job?.name;
  if (name === job.name) return 'new';
  return name === first.name ? 'old' : 'neither';
}
