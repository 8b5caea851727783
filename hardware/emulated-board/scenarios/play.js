import { readingOf } from './reading.js';

export const title = 'A capture with its job file';

export function run(kit) {
  const [capture, job] = kit.given;
  readingOf(kit, { capture, job });
}
