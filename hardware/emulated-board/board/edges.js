// Edges as they come out of the capture path, beside those that were put on the pins.
//
// *Word*: what a capture machine pushes at a change: 24 bits of a count that falls by one every 1/6 µs, then 8
// bits of a number that falls by one with every edge (`firmware/src/board_rp2040/capture.rs`). The tap sees each word
// as the DMA fetches it. *Stamp*: the word's time in ticks, the count taken on from 24 bits by when it came.

const TICK_CYCLES = 8;
const COUNT = 2 ** 24;

/** Listens to the words of the two capture machines. */
export class Tap {
  constructor() {
    /** `{ cycle, word }` for each channel: crank, spark. */
    this.words = [[], []];
  }

  attach(board) {
    this.board = board;
    board.mcu.pio[0].machines.slice(0, 2).forEach((machine, channel) => {
      const { readFIFO } = machine;
      machine.readFIFO = () => {
        const empty = machine.rxFIFO.empty;
        const word = readFIFO.call(machine);
        if (!empty) this.words[channel].push({ cycle: board.clock.cycle, word });
        return word;
      };
    });
  }

  clear() {
    this.words = [[], []];
  }
}

/** Stamps of a channel's words, in processor cycles and relative to the first; and gaps in their numbers. */
export function stamps(words) {
  const result = [];
  let gaps = 0;
  words.forEach(({ cycle, word }, index) => {
    if (index === 0) {
      result.push({ cycles: cycle, number: word & 0xff });
      return;
    }
    const before = words[index - 1];
    const counted = ((before.word >>> 8) - (word >>> 8) + COUNT) % COUNT;
    const passed = (cycle - before.cycle) / TICK_CYCLES;
    const wraps = Math.round((passed - counted) / COUNT);
    result.push({ cycles: result[index - 1].cycles + (counted + wraps * COUNT) * TICK_CYCLES, number: word & 0xff });
    if ((((before.word & 0xff) - (word & 0xff)) & 0xff) !== 1) gaps++;
  });
  return { stamps: result, gaps };
}

/**
 * Compares the changes played on a pin with the words of its channel. Returns how many are missing or too many and
 * the spread of the difference in microseconds: a common delay of all edges does not count, half the spread is the
 * error.
 */
export function compare(played, words) {
  const { stamps: found, gaps } = stamps(words);
  const count = Math.min(played.length, found.length);
  let least = Infinity;
  let most = -Infinity;
  for (let index = 0; index < count; index++) {
    const difference = (found[index].cycles - played[index].cycle) / 48;
    least = Math.min(least, difference);
    most = Math.max(most, difference);
  }
  // Both machines began to count in the same cycle, so the delay of one channel can be held against the other's.
  const lags = [];
  for (let index = 0; index < count; index++) {
    const since = (COUNT - 1 - (words[index].word >>> 8)) * TICK_CYCLES;
    lags.push((((since - played[index].cycle) % (COUNT * TICK_CYCLES)) + COUNT * TICK_CYCLES) % (COUNT * TICK_CYCLES));
  }
  lags.sort((a, b) => a - b);
  return {
    played: played.length,
    found: found.length,
    gaps,
    errorMicros: count ? (most - least) / 2 : 0,
    spreadMicros: count ? most - least : 0,
    /** Middle delay against the machines' common start, modulo the counter's wrap. */
    lagMicros: count ? lags[count >> 1] / 48 : 0,
  };
}
