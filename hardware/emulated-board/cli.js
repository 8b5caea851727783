// The command line: which scenarios to run, where to put what they record, and the result.

import { spawn } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Elf } from './board/elf.js';
import { Kit } from './board/kit.js';

const HERE = dirname(fileURLToPath(import.meta.url));
const ROOT = resolve(HERE, '../..');
const HELP = `Runs the handheld's firmware on an emulated board.

  run [options] ci                      the scenarios that CI runs (boot edges idle marks job cut load faults)
  run [options] NAME…                   some scenarios, by name (--list)
  run [options] job SCENARIO SCRIPT     a whole guided job: an engine of simulator/scenarios and a script of keys
  run [options] play CAPTURE JOB        a capture on the pins, with its job file: what the handheld makes of it

  --out DIR    pictures, log, serial lines, sounder (default target/emulated-board)
  --elf FILE   the firmware, instead of the one that firmware/build makes
  --list       the scenarios
`;
/** What CI runs: what holds today. The longest come first, side by side; one of them in parts. */
const CI = ['job', 'cut/1', 'cut/2', 'cut/3', 'cut/4', 'load', 'idle', 'edges', 'marks', 'faults', 'boot'];
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
  const elf = options.elf ?? join(ROOT, 'firmware/target/thumbv6m-none-eabi/release/keyway-firmware');
  const [first, ...rest] = options.names;
  mkdirSync(options.out, { recursive: true });
  if (first in NEEDS_ARGUMENTS && rest.length > 0) {
    if (rest.length !== NEEDS_ARGUMENTS[first]) {
      process.stderr.write(`${first} takes ${NEEDS_ARGUMENTS[first]} files\n`);
      return 2;
    }
    return told(options, await carryOut(options, elf, first, rest));
  }
  const names = first === 'ci' ? CI : options.names;
  if (names.length === 1) return told(options, await carryOut(options, elf, names[0], []));
  return told(options, await sideBySide(options, elf, names));
}

/** One scenario, here. */
async function carryOut(options, elf, name, given) {
  const [base, part] = name.split('/');
  const scenario = await import(`./scenarios/${base}.js`).catch((error) => {
    if (error.code === 'ERR_MODULE_NOT_FOUND') throw new Error(`no scenario named ${base}: see --list`);
    throw error;
  });
  process.stdout.write(`== ${scenario.title}${part ? `, part ${part}` : ''}\n`);
  const kit = new Kit({ elf: new Elf(elf), root: ROOT, out: join(options.out, name), given, part });
  await kit.carryOut(scenario);
  return kit.results.map((result) => ({ scenario: name, ...result }));
}

/** Several scenarios, each in a process of its own, as many at once as there are processors; told one after the other. */
async function sideBySide(options, elf, names) {
  const waiting = names.map((name) => ({ name, done: null, text: '' }));
  const all = [...waiting];
  const worker = async () => {
    for (let job = waiting.shift(); job; job = waiting.shift()) await (job.done = alone(options, elf, job));
  };
  const workers = Array.from({ length: Math.max(1, availableParallelism()) }, worker);
  await Promise.all(workers);
  const results = [];
  for (const { name, text, status } of all) {
    process.stdout.write(text);
    if (status !== 0 && status !== 1) throw new Error(`${name} ended with status ${status}`);
    results.push(...JSON.parse(readFileSync(join(options.out, name, 'results.json'), 'utf8')));
  }
  return results;
}

function alone(options, elf, job) {
  return new Promise((resolve) => {
    const child = spawn(process.execPath, [fileURLToPath(import.meta.url), '--alone', '--elf', elf, '--out', options.out, job.name]);
    const hear = (data) => (job.text += data);
    child.stdout.on('data', hear);
    child.stderr.on('data', hear);
    child.on('close', (status) => resolve((job.status = status)));
  });
}

/** Keeps the results, and says how many passed. */
function told(options, results) {
  const failed = results.filter((result) => !result.ok).length;
  const folder = options.alone ? join(options.out, options.names[0]) : options.out;
  writeFileSync(join(folder, 'results.json'), `${JSON.stringify(results, null, 1)}\n`);
  if (!options.alone) process.stdout.write(`${results.length - failed} passed, ${failed} failed; pictures and logs in ${options.out}\n`);
  return failed ? 1 : 0;
}

main().then(
  (status) => process.exit(status),
  (error) => {
    process.stderr.write(`${error.message}\n`);
    process.exit(2);
  },
);
