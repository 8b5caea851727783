// Captures as `keyway make` writes them: a value change dump with the signals crank, spark1 and battery_v; sessions
// of a guided job have key1 to key4 as well.

import { readFileSync } from 'node:fs';

const SECONDS = { s: 1, ms: 1e-3, us: 1e-6, ns: 1e-9, ps: 1e-12, fs: 1e-15 };

/**
 * Reads a dump. Returns the level changes in the order of their times, `{ at, signal, level }` with seconds and
 * the signal "crank" or "spark", the levels at the start, the supply as `{ at, volts }` and the
 * keys as `{ at, key, down }`.
 */
export function readCapture(path) {
  const words = readFileSync(path, 'utf8').split(/\s+/);
  const names = new Map();
  let unit = 1e-9;
  let index = 0;
  const upToEnd = () => {
    const taken = [];
    while (index < words.length && words[index] !== '$end') taken.push(words[index++]);
    index++;
    return taken;
  };
  const capture = { changes: [], start: { crank: false, spark: false }, supply: [], keys: [], seconds: 0 };
  const levels = new Map();
  let at = 0;
  const change = (id, value) => {
    const signal = names.get(id);
    if (!signal || (value !== '0' && value !== '1')) return;
    const level = value === '1';
    const before = levels.get(id);
    levels.set(id, level);
    if (signal.startsWith('key')) {
      if (before !== undefined && before !== level) capture.keys.push({ at, key: Number(signal[3]) - 1, down: level });
    } else if (before === undefined) capture.start[signal] = level;
    else if (before !== level) capture.changes.push({ at, signal, level });
  };
  while (index < words.length) {
    const word = words[index++];
    if (word === '$timescale') {
      const [, number, scale] = /^(\d+)\s*([munpf]?s)$/.exec(upToEnd().join(''));
      unit = Number(number) * SECONDS[scale];
    } else if (word === '$var') {
      const [, , id, name] = upToEnd();
      if (name === 'crank') names.set(id, 'crank');
      else if (name === 'spark1') names.set(id, 'spark');
      else if (name === 'battery_v') names.set(id, 'supply');
      else if (/^key[1-4]$/.test(name)) names.set(id, name);
    } else if (word === '$dumpvars' || word === '$dumpall' || word === '$end') {
      continue;
    } else if (word.startsWith('$')) {
      upToEnd();
    } else if (word.startsWith('#')) {
      at = Number(word.slice(1)) * unit;
    } else if (word[0] === 'r' || word[0] === 'R') {
      if (names.get(words[index++]) === 'supply') capture.supply.push({ at, volts: Number(word.slice(1)) });
    } else if (word !== '') {
      change(word.slice(1), word[0]);
    }
  }
  capture.seconds = at;
  return capture;
}
