import { reading } from './reading.js';

export const title = 'A reading at idle on 36-1';

export function run(kit) {
  // Not yet: at a wheel's rate the stream leaves out some edges without telling (`README.md`).
  reading(kit, 'simulator/scenarios/weir-pump-six-healthy.toml', { wholeStream: false });
}
