import { PINS } from '../board/pins.js';
import { pwmOn } from '../board/pwm.js';

export const title = 'Boot and self-test';

export function run(kit) {
  const rig = kit.rig();
  rig.until('the firmware running', () => rig.log.with('running').length > 0, 3);
  rig.picture('self-test');
  const { board, display } = rig;
  kit.check('the processor runs at 48 MHz', board.mcu.clkSys === 48e6, `${board.mcu.clkSys / 1e6} MHz`);
  kit.check('no reset since power', board.boots.length === 1, board.boots.map((boot) => boot.reason).join(', '));
  kit.check('the picture has something on it', display.dark > 1000, `${display.dark} dark dots`);
  kit.check('the display was never sent anything it does not know', display.faults.length === 0, display.faults.join('; '));
  kit.check('the common electrode alternates at 1 to 60 Hz', display.alternationHertz >= 1 && display.alternationHertz <= 60, `${display.alternationHertz.toFixed(1)} Hz`);
  kit.check('the display is enabled', board.mcu.gpio[PINS.displayEnable].outputValue, '');
  kit.check('the log can be read', rig.log.lines.length > 0 && rig.log.lines.every((line) => !line.text.startsWith('(not decoded')), rig.log.lines[0]?.text ?? '');
  kit.check('nothing went wrong', rig.log.lines.every((line) => line.level !== 'error'), rig.log.lines.filter((line) => line.level === 'error').map((line) => line.text).join('; '));
  const tested = rig.log.with('self-test');
  kit.check('the self-test came out right', tested.some((line) => /pass|right|ok/i.test(line.text)), tested.map((line) => line.text).join('; ') || 'nothing in the log');
  kit.note(`lamp ${JSON.stringify(pwmOn(board, PINS.lamp))}, arming ${JSON.stringify(pwmOn(board, PINS.arming))}`);
  rig.until('the serial port open', () => rig.serial.connected, 3);
  const hello = kit.ask(rig, { hello: {} }, (line) => line.hello);
  kit.check('it says who it is', hello.hello.protocol === 1 && /^[0-9a-f]{8}$/.test(hello.hello.firmware), JSON.stringify(hello));
  const start = board.seconds;
  board.profile.clear();
  rig.run(1);
  const { busyCycles } = board.profile;
  kit.check('the processor sleeps when nothing happens', busyCycles < 0.5 * 48e6 * (board.seconds - start), `${((busyCycles / 48e6) * 100).toFixed(1)} % awake`);
}
