import { reading } from './reading.js';

export const title = 'A reading at idle on 36-1';

export function run(kit) {
  reading(kit, 'simulator/scenarios/weir-pump-six-wrong-side-of-zero.toml');
}
