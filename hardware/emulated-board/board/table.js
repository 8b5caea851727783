// The table of cycles: what share of the processor each part takes, and the longest single pieces of work.
import { readable } from './elf.js';

const EDGES = 'edges, from the rings through the core';
const STEP = 'a step with a tick, key or voltage';
const TICK = 'view and guide, 20 times a second';
const ON_EDGE = 'an edge that is not like most';
const SPARKS = 'sparks that are due';
const JUDGE = 'a judgement';
const DRAW = 'drawing a screen';

/** A judgement and what belongs to it. */
const JUDGING = [
  [JUDGE, /^keyway_core::judge::verdict::judge_evidence$/],
  ['gathering its evidence', /^keyway_core::judge::evidence::Evidence::gather$/],
];

/** Functions that are timed by call, by their readable names. */
const TIMED = [
  [EDGES, /^keyway_drivers::feed::feed$/],
  [STEP, /^keyway_core::instrument::Instrument::step_other$/],
  [TICK, /^keyway_core::instrument::show::Instrument::show$/],
  [ON_EDGE, /^keyway_core::meter::path::Meter::on_any_edge$/],
  [SPARKS, /^keyway_core::meter::path::Meter::look_around$/],
  ...JUDGING,
  ['the weights of the cylinders', /^keyway_core::reading::balance::weigh$/],
  [DRAW, /^keyway_core::panel::(screens::)?(draw|canvas::Canvas::.*::middle)/],
  ['packing lines and sending', /^keyway_firmware::screen::Screen::send$/],
];
const EXCEPTIONS = { 15: 'SysTick', 16: 'the millisecond', 21: 'USB', 23: 'PIO 0', 27: 'DMA 0', 28: 'DMA 1' };

/** Times the functions of the table that the firmware has; those inlined into others are not found. */
export const watchAll = (profile) => watch(profile, TIMED);

/** Times only what a judgement takes. */
export const watchJudgements = (profile) => watch(profile, JUDGING);

/** A closure is named as the function it stands in. */
const isClosure = (symbol) => symbol.name.startsWith('_RNC');

function watch(profile, timed) {
  for (const [label, name] of timed) {
    for (const symbol of profile.elf.functions) if (name.test(readable(symbol.name)) && !isClosure(symbol)) profile.time(symbol, label);
  }
}

const percent = (part, whole) => `${((100 * part) / whole).toFixed(1)} %`;
const micros = (cycles, hertz) => `${((cycles / hertz) * 1e6).toFixed(1)} µs`;

/** Lines of the table and what is asked of its figures: `[what, holds, found]`. */
export function table(profile, hertz) {
  const total = profile.totalCycles;
  const lines = [
    'Cycles of the processor at 48 MHz, 60-2 wheel at 9000 rpm, screen shown, counted on the emulated board.',
    'The emulator knows no waiting for flash: lower bounds for what does not run from RAM.',
    '',
    `awake                                ${percent(profile.busyCycles, total)}`,
    `asleep                               ${percent(profile.idleCycles, total)}`,
    `in interrupts                        ${percent(profile.interruptCycles, total)}`,
    '',
    'timed by call                        share     calls   mean        longest',
  ];
  for (const call of profile.calls.values()) {
    if (call.count === 0) continue;
    const mean = micros(call.total / call.count, hertz);
    lines.push(`${call.label.padEnd(36)} ${percent(call.total, total).padStart(6)} ${String(call.count).padStart(8)}   ${mean.padEnd(11)} ${micros(call.longest, hertz)}`);
  }
  lines.push('', 'interrupts                           share     calls   mean        longest');
  for (const [number, found] of [...profile.byException].sort((a, b) => a[0] - b[0])) {
    const name = EXCEPTIONS[number] ?? `exception ${number}`;
    lines.push(`${name.padEnd(36)} ${percent(found.cycles, total).padStart(6)} ${String(found.count).padStart(8)}   ${micros(found.cycles / found.count, hertz).padEnd(11)} ${micros(found.longest, hertz)}`);
  }
  lines.push('', 'inside the function itself           share');
  for (const { name, cycles } of profile.self().slice(0, 25)) lines.push(`${percent(cycles, total).padStart(7)}  ${name}`);
  const checks = [['awake at 9000 rpm with the screen at most 60 %', profile.busyCycles <= 0.6 * total, percent(profile.busyCycles, total)]];
  const edges = profile.calls.get(EDGES);
  if (edges?.count) {
    lines.push('', `capture and decoding: ${percent(edges.total, total)}`);
    checks.push(['capture and decoding at most 10 %', edges.total <= 0.1 * total, percent(edges.total, total)]);
  }
  const longest = Math.max(...[STEP, ON_EDGE, SPARKS].map((label) => profile.calls.get(label)?.longest ?? 0));
  checks.push(['longest step of the core, stated', longest > 0, micros(longest, hertz)]);
  return { lines, checks };
}

/** The time of the judgements since the profile was cleared: `[what, holds, found]`. Only an engine that gives a
 * reading proves something: of one that gives none there is nothing to judge. */
export function judgementChecks(profile, hertz) {
  const of = ({ count, total, longest }) => `${count}, ${micros(total / count, hertz)} in the mean, ${micros(longest, hertz)} at most`;
  const judged = profile.calls.get(JUDGE);
  const checks = [['a judgement over all causes at most 2 ms', judged?.count > 0 && judged.longest <= 0.002 * hertz, judged?.count ? of(judged) : 'none']];
  for (const call of profile.calls.values()) {
    if (call !== judged && call.count) checks.push([`${call.label}, stated`, true, of(call)]);
  }
  return checks;
}
