import { setSupply } from '../board/stimulus.js';
import { wheelCapture } from '../board/wheel.js';

export const title = 'Faults: a key stuck, a supply that cannot be, an overrun, a program that hangs';

export function run(kit) {
  const rig = kit.rig({ profile: false });
  const { board } = rig;
  rig.run(1.5);
  rig.keys.set(1, true);
  // `STUCK_MS` of the key driver is 30 s of its beats; on a new flash, erases hold some of them up.
  rig.run(40);
  kit.check('a stuck key is noticed', rig.log.with('stuck').length === 1, rig.log.with('stuck').map((line) => line.text).join('; ') || 'nothing in the log');
  rig.keys.set(1, false);
  rig.run(0.2);
  setSupply(board, 45);
  rig.run(1);
  kit.check('a supply out of range is noticed', rig.log.with('supply').length > 0, rig.log.with('supply').map((line) => line.text).join('; ') || 'nothing in the log');
  rig.picture('supply');
  setSupply(board, 14.1);
  rig.run(0.5);
  const player = rig.play(wheelCapture({ teeth: 60, missing: 2, rpm: 9000, seconds: 1.6 }));
  rig.run(0.3);
  board.hang(0.7);
  rig.until('the capture at its end', () => player.done, 5);
  rig.run(0.3);
  const told = rig.log.with('lost').map((line) => line.text);
  const counted = told.reduce((sum, text) => sum + Number(/(\d+)/.exec(text)?.[1] ?? 0), 0);
  // 0.7 s at 17,400 changes a second are 12,180; the ring holds 8192.
  kit.check('an overrun is counted', counted > 3000 && counted < 13000, told.join('; ') || 'nothing in the log');
  const boots = board.boots.length;
  board.hang();
  board.runWhileNot(() => board.boots.length > boots, 5);
  kit.check('a program that hangs is ended by the watchdog', board.boots.at(-1).reason === 'timer', board.boots.map((boot) => boot.reason).join(', '));
  rig.run(1.5);
  rig.picture('after the watchdog');
  kit.check('and it starts again', rig.log.with('watchdog').length > 0, rig.log.with('watchdog').map((line) => line.text).join('; ') || 'nothing in the log');
}
