// What the emulated chip lacks or does otherwise than the real one, put right at every boot.
//
// - An interrupt's entry and return take 15 and 13 cycles on a Cortex-M0+ (from memory, ARM's technical reference
//   manual); the emulator takes none.
// - An interrupt that is pending when the processor goes to sleep wakes it; with interrupts masked it wakes without
//   being taken.
// - A pad reads back what it drives.
// - A byte on SPI and UART takes its time.
// - Round robin of the ADC; an aborted DMA channel says that it has stopped.
// - PWM wraps are not simulated one by one: nobody here listens to them; duty and frequency are read from the
//   registers (`sounder.js`).
// - A reset asked for by the processor, and the watchdog's, start a new boot.

import { GPIOPinState } from 'rp2040js';

const ENTRY_CYCLES = 15;
const RETURN_CYCLES = 13;
const AIRCR = 0xd0c;
const WATCHDOG = 0x40058;
const UART_QUEUE = 32;

export function mend(board, reason, kept) {
  const { mcu, clock } = board;
  mcu.clkSys = 48e6;
  mcu.clkPeri = 48e6;
  mcu.addClockListener((hertz) => clock.setFrequency(hertz));
  interrupts(mcu.core, board.profile);
  readBack(mcu, board.machines);
  for (const spi of mcu.spi) spiTime(spi, clock);
  for (const uart of mcu.uart) uartTime(uart, clock);
  roundRobin(mcu.adc);
  abort(mcu.dma);
  quietPwm(mcu.pwm);
  systemReset(mcu.ppb, board);
  return watchdog(mcu.peripherals[WATCHDOG], board, reason, kept);
}

function interrupts(core, profile) {
  core.setInterrupt = (irq, value) => {
    const bit = 1 << irq;
    if (!value) core.pendingInterrupts &= ~bit;
    else if (!(core.pendingInterrupts & bit)) {
      core.pendingInterrupts |= bit;
      core.interruptsUpdated = true;
    }
  };
  const { exceptionEntry, exceptionReturn } = core;
  core.exceptionEntry = (number) => {
    exceptionEntry.call(core, number);
    core.cycles += ENTRY_CYCLES;
    profile?.enter(number);
  };
  core.exceptionReturn = (value) => {
    exceptionReturn.call(core, value);
    core.cycles += RETURN_CYCLES;
    profile?.leave();
  };
}

function readBack(mcu, machines) {
  for (const pin of mcu.gpio) {
    pin.addListener((state) => {
      if (state !== GPIOPinState.High && state !== GPIOPinState.Low) return;
      const high = state === GPIOPinState.High;
      if (pin.rawInputValue === high) return;
      machines.catchUp();
      pin.setInputValue(high);
      machines.wake();
    });
  }
}

function spiTime(spi, clock) {
  const done = clock.createAlarm(() => spi.completeTransmit(0));
  spi.onByte = () => {};
  spi.onTransmit = (value) => {
    spi.onByte(value);
    done.schedule((spi.dataBits * 1e9) / (spi.clockFrequency || 1e6));
  };
}

function uartTime(uart, clock) {
  let freeAt = 0;
  const byteNanos = () => (10 * 1e9) / (uart.baudRate || 115200);
  const waiting = () => Math.max(0, Math.ceil((freeAt - clock.nanos) / byteNanos()));
  const { readUint32, writeUint32 } = uart;
  const channel = uart.dreq.tx;
  const again = clock.createAlarm(() => uart.rp2040.dma.setDREQ(channel));
  uart.readUint32 = (offset) => {
    const value = readUint32.call(uart, offset);
    if (offset !== 0x18) return value;
    const queued = waiting();
    return (value & ~0xa8) | (queued === 0 ? 0x80 : 0x08) | (queued > UART_QUEUE ? 0x20 : 0);
  };
  uart.writeUint32 = (offset, value) => {
    if (offset === 0) {
      freeAt = Math.max(freeAt, clock.nanos) + byteNanos();
      if (waiting() >= UART_QUEUE) {
        uart.rp2040.dma.clearDREQ(channel);
        again.schedule(byteNanos());
      }
    }
    writeUint32.call(uart, offset, value);
  };
}

function roundRobin(adc) {
  Object.defineProperty(adc, 'activeChannel', {
    get: () => (adc.cs >> 12) & 7,
    set: (channel) => {
      adc.cs = (adc.cs & ~(7 << 12)) | ((channel & 7) << 12);
    },
  });
}

function abort(dma) {
  const { readUint32 } = dma;
  dma.readUint32 = (offset) => (offset === 0x444 ? 0 : readUint32.call(dma, offset));
}

function quietPwm(pwm) {
  for (const channel of pwm.channels) {
    channel.alarmA.enable = false;
    channel.alarmB.enable = false;
    channel.alarmBottom.enable = false;
  }
}

function systemReset(ppb, board) {
  const { writeUint32, readUint32 } = ppb;
  ppb.writeUint32 = (offset, value) => {
    if (offset !== AIRCR) writeUint32.call(ppb, offset, value);
    else if (value >>> 16 === 0x05fa && value & 4) board.reset('asked');
  };
  ppb.readUint32 = (offset) => (offset === AIRCR ? 0xfa050000 : readUint32.call(ppb, offset));
}

function watchdog(dog, board, reason, kept) {
  if (kept && reason !== 'power') {
    dog.scratchData.set(kept.scratch);
    dog.reason = { timer: 1, forced: 2 }[reason] ?? 0;
  }
  dog.onWatchdogTrigger = () => {
    // It bites once; the emulator's would go on at the same instant for ever.
    dog.alarm.enable = false;
    board.reset(dog.reason === 2 ? 'forced' : 'timer');
  };
  return { scratch: () => dog.scratchData.slice() };
}
