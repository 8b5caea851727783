// The command line: which scenarios to run, where to put what they record, and the result.

import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Elf } from './board/elf.js';
import { Kit } from './board/kit.js';

const HERE = dirname(fileURLToPath(import.meta.url));
const ROOT = resolve(HERE, '../..');
const HELP = `Runs the handheld's firmware on an emulated board.

  run [options] ci                      the scenarios that CI runs (boot edges idle marks cut faults)
  run [options] NAME…                   some scenarios, by name (--list)
  run [options] job SCENARIO SCRIPT     a whole guided job: an engine of simulator/scenarios and a script of keys
  run [options] play CAPTURE JOB        a capture on the pins, with its job file: what the handheld makes of it

  --out DIR    pictures, log, serial lines, sounder (default target/emulated-board)
  --elf FILE   the firmware, instead of the one that firmware/build makes
  --list       the scenarios
`;
/** What CI runs: what holds today, and fits its time. */
const CI = ['boot', 'edges', 'idle', 'marks', 'cut', 'faults'];
const NAMES = ['boot', 'edges', 'idle', 'marks', 'job', 'cut', 'load', 'faults'];
const NEEDS_ARGUMENTS = { job: 2, play: 2 };

function parse(words) {
  const options = { out: join(ROOT, 'target/emulated-board'), names: [] };
  for (let index = 0; index < words.length; index++) {
    const word = words[index];
    if (word === '--out') options.out = resolve(words[++index] ?? '.');
    else if (word === '--elf') options.elf = resolve(words[++index] ?? '.');
    else if (word.startsWith('--')) options[word.slice(2)] = true;
    else options.names.push(word);
  }
  return options;
}

async function main() {
  const options = parse(process.argv.slice(2));
  if (options.help || (options.names.length === 0 && !options.list)) {
    process.stdout.write(HELP);
    return options.help ? 0 : 2;
  }
  if (options.list) {
    for (const name of NAMES) {
      const { title } = await import(`./scenarios/${name}.js`);
      process.stdout.write(`${name.padEnd(8)} ${title}\n`);
    }
    return 0;
  }
  const elf = new Elf(options.elf ?? join(ROOT, 'firmware/target/thumbv6m-none-eabi/release/keyway-firmware'));
  const [first, ...rest] = options.names;
  const jobs = first in NEEDS_ARGUMENTS && rest.length > 0
    ? [{ name: first, given: rest }]
    : (first === 'ci' ? CI : options.names).map((name) => ({ name, given: [] }));
  const results = [];
  mkdirSync(options.out, { recursive: true });
  for (const { name, given } of jobs) {
    if (given.length && given.length !== NEEDS_ARGUMENTS[name]) {
      process.stderr.write(`${name} takes ${NEEDS_ARGUMENTS[name]} files\n`);
      return 2;
    }
    const scenario = await import(`./scenarios/${name}.js`).catch((error) => {
      if (error.code === 'ERR_MODULE_NOT_FOUND') throw new Error(`no scenario named ${name}: see --list`);
      throw error;
    });
    process.stdout.write(`== ${scenario.title}\n`);
    const kit = new Kit({ elf, root: ROOT, out: join(options.out, name), given });
    await kit.carryOut(scenario);
    results.push(...kit.results.map((result) => ({ scenario: name, ...result })));
  }
  const failed = results.filter((result) => !result.ok).length;
  writeFileSync(join(options.out, 'results.json'), `${JSON.stringify(results, null, 1)}\n`);
  process.stdout.write(`${results.length - failed} passed, ${failed} failed; pictures and logs in ${options.out}\n`);
  return failed ? 1 : 0;
}

main().then(
  (status) => process.exit(status),
  (error) => {
    process.stderr.write(`${error.message}\n`);
    process.exit(2);
  },
);
