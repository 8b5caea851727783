//! Drives the self-test's pattern on the two spare pins, from PIO 1.
//!
//! *Word*: two bits of levels, then the number of times that the machine's waiting loop goes round. A step
//! takes four cycles of the 12 MHz clock beside the loop, so 1/6 µs ticks become words exactly:
//! 2 × ticks = loop + 4 + 1 (the loop's last turn). The pads feed back what they drive, so the capture reads the
//! pins without a wire.

use crate::pins;
use keyway_core::edges::Level;
use keyway_drivers::selftest::Step;
use rp2040_hal::pac;

/// Cycles of a step beside the loop, and the loop's last turn.
const OVERHEAD: u32 = 5;
/// PIO clock: 48 MHz through 4.
const DIVIDER: u16 = 4;

/// State machine 0 of PIO 1.
pub(crate) struct PatternMachine {
    pio: pac::PIO1,
}

fn program() -> pio::Program<32> {
    pio::pio_asm!(
        ".wrap_target",
        "    pull block",
        "    out pins, 2",
        "    out x, 30",
        "    nop",
        "hold:",
        "    jmp x--, hold",
        ".wrap",
    )
    .program
}

impl PatternMachine {
    /// Drives both pins low and waits for words.
    pub(crate) fn start(pio: pac::PIO1) -> Self {
        let program = program();
        for (place, word) in program.code.iter().enumerate() {
            // SAFETY: any 16 bits are an instruction, and the machine is not running.
            pio.instr_mem(place).write(|w| unsafe { w.instr_mem0().bits(*word) });
        }
        let machine = pio.sm(0);
        // SAFETY: the fields take every value given here; RP2040 datasheet section 3.7.
        unsafe {
            machine.sm_clkdiv().write(|w| w.int().bits(DIVIDER).frac().bits(0));
            machine
                .sm_execctrl()
                .write(|w| w.wrap_top().bits(program.wrap.source).wrap_bottom().bits(program.wrap.target));
            machine.sm_shiftctrl().write(|w| w.fjoin_tx().set_bit().out_shiftdir().set_bit());
            machine.sm_pinctrl().write(|w| {
                w.set_base().bits(pins::CRANK_LOOP).set_count().bits(2);
                w.out_base().bits(pins::CRANK_LOOP).out_count().bits(2)
            });
            // `set pindirs, 3`, `set pins, 0`, `jmp 0`: RP2040 datasheet sections 3.4.10 and 3.4.2.
            for instruction in [0xe083, 0xe000, 0x0000] {
                machine.sm_instr().write(|w| w.sm0_instr().bits(instruction));
            }
            pio.ctrl().write(|w| w.sm_enable().bits(1));
        }
        Self { pio }
    }

    /// Takes a step if there is room for it.
    pub(crate) fn push(&mut self, step: Step) -> bool {
        if self.pio.fstat().read().txfull().bits() & 1 != 0 {
            return false;
        }
        let bit = |level| u32::from(level == Level::High);
        let loops = (2 * step.ticks).saturating_sub(OVERHEAD);
        let word = loops << 2 | bit(step.spark) << 1 | bit(step.crank);
        // SAFETY: any word may be pushed.
        self.pio.txf(0).write(|w| unsafe { w.bits(word) });
        true
    }

    /// Ends, with both pins let go.
    pub(crate) fn stop(self) {
        // SAFETY: `set pindirs, 0`, then off.
        unsafe {
            self.pio.sm(0).sm_instr().write(|w| w.sm0_instr().bits(0xe080));
            self.pio.ctrl().write(|w| w.sm_enable().bits(0));
        }
    }
}
