// What a scenario works with: rigs, the desktop's command, the handheld's menus, and checks that are counted.

import { execFileSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync } from 'node:fs';
import { basename, join } from 'node:path';
import { jobAsJson } from './job.js';
import { Rig } from './rig.js';

/** Keys from left to right. */
export const KEY = { first: 0, second: 1, third: 2, fourth: 3 };

export class Kit {
  constructor({ elf, root, out, given, part }) {
    this.elf = elf;
    this.root = root;
    this.out = out;
    this.given = given;
    /** Of a scenario that is carried out in parts: which. */
    this.part = part;
    this.results = [];
    this.rigs = [];
  }

  async carryOut(scenario) {
    rmSync(this.out, { recursive: true, force: true });
    mkdirSync(this.out, { recursive: true });
    const start = process.cpuUsage();
    try {
      await scenario.run(this);
    } catch (error) {
      this.check('carried out to its end', false, error.message);
    }
    const device = this.rigs.reduce((sum, rig) => sum + rig.seconds, 0);
    for (const rig of this.rigs) rig.save();
    const { user, system } = process.cpuUsage(start);
    process.stdout.write(`   (${device.toFixed(1)} s on the board, ${((user + system) / 1e6).toFixed(1)} s of processor here)\n`);
  }

  /** One thing that must hold, with the figure that was found. */
  check(what, ok, found = '') {
    this.results.push({ what, ok: Boolean(ok), found: String(found) });
    process.stdout.write(`${ok ? 'ok   ' : 'FAIL '} ${what}${found === '' ? '' : `: ${found}`}\n`);
    return Boolean(ok);
  }

  /** A fact for the reader that nothing depends on. */
  note(what) {
    process.stdout.write(`      ${what}\n`);
  }

  /** A board, switched on. */
  rig(options = {}) {
    const folder = this.rigs.length ? `${this.out}/${this.rigs.length + 1}` : this.out;
    const rig = new Rig({ elf: this.elf, out: folder, ...options });
    this.rigs.push(rig);
    return rig.start();
  }

  keyway(...words) {
    const command = join(this.root, 'target/release/keyway');
    try {
      return execFileSync(command, words, { cwd: this.root, encoding: 'utf8', maxBuffer: 1 << 26 });
    } catch (error) {
      // 1 and 3 are answers of `keyway read`, not failures.
      if (error.status === 1 || error.status === 3) return error.stdout;
      throw error;
    }
  }

  /** A capture of a simulated engine: paths of capture and job file, and the truth. */
  make(scenario) {
    const capture = join(this.out, `${basename(scenario, '.toml')}.vcd`);
    const truth = JSON.parse(this.keyway('make', scenario, '--out', capture));
    return { capture, job: capture.replace(/\.vcd$/, '.job.toml'), truth };
  }

  /** What the desktop reads in a capture. */
  read(capture, job) {
    return JSON.parse(this.keyway('read', capture, '--job', job, '--json'));
  }

  /** A guided job as the desktop's scripted technician does it: inputs and keys as one dump, and its record. */
  session(scenario, script) {
    const capture = join(this.out, `${basename(script, '.keys')}-session.vcd`);
    const command = join(this.root, 'target/release/examples/session');
    const record = JSON.parse(execFileSync(command, [scenario, script, capture], { cwd: this.root, encoding: 'utf8' }));
    return { capture, job: capture.replace(/\.vcd$/, '.job.toml'), record };
  }

  /** Sends an engine to a place of the handheld by its serial port, and waits until it is kept. */
  sendJob(rig, jobFile, slot = 0) {
    rig.until('the serial port open', () => rig.serial.connected, 3);
    const job = jobAsJson(readFileSync(jobFile, 'utf8'));
    delete job.context;
    return this.ask(rig, { job: { slot, job } }, (line) => line.done?.what === 'job', 3);
  }

  /** Sends a line and waits for the answer that fits; an error line is a failure. */
  ask(rig, line, fits, seconds = 2) {
    const from = rig.serial.received.length;
    rig.serial.send(`${JSON.stringify(line)}\n`);
    const answers = () => rig.serial.objectsFrom(from);
    rig.until(`an answer to ${JSON.stringify(line).slice(0, 60)}`, () => answers().some((item) => fits(item) || item.error), seconds);
    const answer = answers().find((item) => fits(item) || item.error);
    if (answer.error) throw new Error(`refused: ${JSON.stringify(answer)}`);
    return answer;
  }

  /** From the self-test's screen to the menu of the first engine kept. */
  chooseFirstEngine(rig) {
    rig.run(0.3);
    rig.keys.press(KEY.fourth);
    rig.run(0.2);
    rig.keys.press(KEY.fourth);
    rig.run(0.2);
    rig.keys.press(KEY.fourth);
    rig.run(0.3);
  }
}
