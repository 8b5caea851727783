import { reading } from './reading.js';

export const title = 'A reading at idle on a single mark';

export function run(kit) {
  reading(kit, 'simulator/scenarios/mill-race-eight-one-mark.toml');
}
