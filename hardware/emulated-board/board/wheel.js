// A capture of a turning wheel, made here: for speeds that the simulated engines do not reach.

import { random } from './random.js';

/** A missing-tooth wheel at one speed, both levels half of each pitch, a spark every `sparkTurns` turns. */
export function wheelCapture({ teeth, missing, rpm, seconds, sparkTurns = 2, sparkAt = 0.31, jitter = 0, seed = 5 }) {
  const turn = 60 / rpm;
  const pitch = turn / teeth;
  const changes = [];
  const next = random(seed);
  const uneven = () => (jitter ? (next(2001) - 1000) / 1000 * jitter : 0);
  for (let count = 0; count * turn < seconds; count++) {
    for (let tooth = 0; tooth < teeth - missing; tooth++) {
      const at = count * turn + tooth * pitch + 1e-6;
      changes.push({ at: at + uneven(), signal: 'crank', level: true });
      changes.push({ at: at + pitch / 2 + uneven(), signal: 'crank', level: false });
    }
    if (count % sparkTurns === 0) {
      const at = (count + sparkAt) * turn;
      changes.push({ at, signal: 'spark', level: true }, { at: at + 20e-6, signal: 'spark', level: false });
    }
  }
  changes.sort((a, b) => a.at - b.at);
  return { changes, supply: [], keys: [], start: { crank: false, spark: false }, seconds };
}
