// Which pin is what: the firmware's pin table, as the emulated board has to know it.

export const PINS = {
  log: 0,
  crank: 2,
  spark: 3,
  loopCrank: 4,
  loopSpark: 5,
  keys: [6, 7, 8, 9],
  displayClock: 10,
  displayData: 11,
  displaySelect: 12,
  displayExternal: 13,
  displayEnable: 14,
  sounder: 15,
  lamp: 16,
  crankKind: 17,
  arming: 18,
};

/** ADC channels: GP26 and GP27. */
export const CHANNELS = { supply: 0, amplitude: 1 };
export const DIVIDER = 11;
export const REFERENCE_V = 3.3;
export const FULL_SCALE = 4095;
/** SPI 1 drives the display. */
export const DISPLAY_SPI = 1;
export const LOG_UART = 0;
