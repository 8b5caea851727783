// What the PWM registers put on a pin: a frequency and a duty, without simulating each wrap.

const PWM_FUNCTION = 4;

/** `{ hertz, duty }` on a pin; 0 hertz where it stands still, with duty 0 or 1. */
export function pwmOn(board, pin) {
  const { mcu } = board;
  const slice = mcu.pwm.channels[(pin >> 1) & 7];
  if (mcu.gpio[pin].functionSelect !== PWM_FUNCTION || !(slice.csr & 1)) return { hertz: 0, duty: 0 };
  const compare = (slice.cc >>> (pin & 1 ? 16 : 0)) & 0xffff;
  const inverted = slice.csr & (pin & 1 ? 8 : 4);
  const top = slice.top + 1;
  const share = Math.min(compare, top) / top;
  const duty = Math.round((inverted ? 1 - share : share) * 1000) / 1000;
  if (compare === 0 || compare >= top) return { hertz: 0, duty };
  const divider = ((slice.div >> 4) & 0xff || 256) + (slice.div & 0xf) / 16;
  return { hertz: mcu.clkSys / divider / (top * (slice.csr & 2 ? 2 : 1)), duty };
}
