import { compare } from '../board/edges.js';
import { wheelCapture } from '../board/wheel.js';

export const title = 'Edges out of the capture path against those on the pins';

/** DESIGN.md section 6: at most 0.2 µs. */
const MOST_MICROS = 0.2;

export function run(kit) {
  const { capture } = kit.make('simulator/scenarios/weir-pump-six-wrong-side-of-zero.toml');
  const real = kit.rig({ plugged: false, profile: false });
  real.run(1.5);
  play(kit, real, capture, 'a simulated engine at idle, 36-1', { to: 3 });
  play(kit, real, wheelCapture({ teeth: 60, missing: 2, rpm: 9000, seconds: 1 }), '60-2 at 9000 rpm', {});
  play(kit, real, wheelCapture({ teeth: 60, missing: 2, rpm: 9000, seconds: 0.3, jitter: 3e-6 }), '60-2 at 9000 rpm, uneven', {});
}

function play(kit, rig, capture, name, options) {
  rig.tap.clear();
  const player = rig.play(capture, options);
  rig.until('the capture at its end', () => player.done, 20);
  rig.run(0.01);
  const lags = ['crank', 'spark'].map((signal, channel) => {
    const played = player.played.filter((change) => change.signal === signal);
    const found = compare(played, rig.tap.words[channel]);
    kit.check(`${name}, ${signal}: none missing, none added`, found.played === found.found && found.gaps === 0, `${found.played} on the pin, ${found.found} out, ${found.gaps} gaps`);
    kit.check(`${name}, ${signal}: times`, found.errorMicros <= MOST_MICROS, `± ${found.errorMicros.toFixed(3)} µs (spread ${found.spreadMicros.toFixed(3)})`);
    return found.lagMicros;
  });
  const between = lags[0] - lags[1];
  kit.check(`${name}: crank and spark share one time base`, Math.abs(between) <= MOST_MICROS, `${between.toFixed(3)} µs between them`);
}
