//! Edges of both inputs, stamped by the PIO and carried to memory by DMA, without the processor.
//!
//! One program runs on two state machines of PIO 0 that are started in the same cycle, so that both count
//! the same time. A turn of its loop takes two cycles of the 12 MHz PIO clock: one tick, 1/6 µs. At a change
//! of level the machine counts the edge, puts 24 bits of time over 8 bits of edge count into one word and
//! pushes it without waiting; the eight instructions for that contain the four decrements that the time
//! they take is worth (ten cycles from sample to sample, five ticks), so the count never slips. A level must
//! last 0.83 µs to be seen.
//!
//! Each machine's words go by DMA into a ring of its own. Where a queue was full, the word is dropped by
//! the machine and the edge count tells later how many are missing.
//!
//! | ring | words | lasts, at |
//! |---|---|---|
//! | crank | 8192 | 467 ms at 17,400 changes a second (9000 rpm, 60-2 teeth, both edges) |
//! | spark | 2048 | 496 ms at 4,000 changes a second (12 cylinders at 9000 rpm, clamp on the coil's lead) |

use core::sync::atomic::{AtomicU32, Ordering};

use keyway_core::units::Stamp;
use keyway_drivers::capture::{Channels, Ring, TICKS_PER_US};
use pio::Program;
use rp2040_hal::pac;

/// Words of the crank's ring, as a power of two.
const CRANK_BITS: u32 = 13;
/// Words of the spark's ring, as a power of two.
const SPARK_BITS: u32 = 11;
/// PIO clock: 48 MHz through 4.
const DIVIDER: u16 = 4;
/// Transfers of one start of a DMA channel: 34 hours at 17,400 a second, then it is started again.
const TRANSFERS: u32 = 0x7fff_fff0;
/// DMA channels.
const CRANK_DMA: usize = 0;
const SPARK_DMA: usize = 1;
/// DREQ_PIO0_RX0, RP2040 datasheet table 120.
const DREQ_PIO0_RX0: u32 = 4;

#[repr(align(32768))]
struct CrankMemory([AtomicU32; 1 << CRANK_BITS]);
#[repr(align(8192))]
struct SparkMemory([AtomicU32; 1 << SPARK_BITS]);

static CRANK: CrankMemory = CrankMemory([const { AtomicU32::new(0) }; 1 << CRANK_BITS]);
static SPARK: SparkMemory = SparkMemory([const { AtomicU32::new(0) }; 1 << SPARK_BITS]);

/// Both capture machines.
pub(crate) struct Capture {
    pio: pac::PIO0,
    began_us: u32,
    /// Words before the present start of each DMA channel.
    before: [u32; 2],
    channels: Channels<'static>,
}

/// The program: counts down in X, an edge at a time in Y.
fn program() -> Program<32> {
    pio::pio_asm!(
        "    mov x, ~null",
        "    mov y, ~null",
        "    jmp low",
        "rise:",
        "    jmp y--, rise_counted",
        "rise_counted:",
        "    in x, 24",
        "    in y, 8",
        "    push noblock",
        "    jmp x--, rise_2",
        "rise_2:",
        "    jmp x--, rise_3",
        "rise_3:",
        "    jmp x--, rise_4",
        "rise_4:",
        "    jmp x--, high",
        "high:",
        "    jmp x--, high_sample",
        "high_sample:",
        "    jmp pin, high",
        "fall:",
        "    jmp y--, fall_counted",
        "fall_counted:",
        "    in x, 24",
        "    in y, 8",
        "    push noblock",
        "    jmp x--, fall_2",
        "fall_2:",
        "    jmp x--, fall_3",
        "fall_3:",
        "    jmp x--, fall_4",
        "fall_4:",
        "    jmp x--, low",
        ".wrap_target",
        "low:",
        "    jmp x--, low_sample",
        "low_sample:",
        "    jmp pin, rise",
        ".wrap",
    )
    .program
}

impl Capture {
    /// Puts the program in place; [`Capture::start`] begins.
    pub(crate) fn new(pio: pac::PIO0) -> Self {
        for (place, word) in program().code.iter().enumerate() {
            // SAFETY: any 16 bits are an instruction, and the machines are not running.
            pio.instr_mem(place).write(|w| unsafe { w.instr_mem0().bits(*word) });
        }
        Self { pio, began_us: 0, before: [0; 2], channels: Self::rings() }
    }

    fn rings() -> Channels<'static> {
        Channels::new(Ring::new(&CRANK.0), Ring::new(&SPARK.0))
    }

    /// Begins at count zero with these two pins; a run before is ended.
    pub(crate) fn start(&mut self, crank: u8, spark: u8) {
        self.stop();
        let program = program();
        for (machine, pin) in [crank, spark].into_iter().enumerate() {
            let registers = self.pio.sm(machine);
            // SAFETY: the fields take every value given here; RP2040 datasheet section 3.7.
            unsafe {
                registers.sm_clkdiv().write(|w| w.int().bits(DIVIDER).frac().bits(0));
                registers.sm_execctrl().write(|w| {
                    w.jmp_pin().bits(pin);
                    w.wrap_top().bits(program.wrap.source).wrap_bottom().bits(program.wrap.target)
                });
                registers.sm_shiftctrl().write(|w| w.fjoin_rx().set_bit().in_shiftdir().clear_bit());
                registers.sm_pinctrl().write(|w| w.bits(0));
                // A jump to the first instruction.
                registers.sm_instr().write(|w| w.sm0_instr().bits(0));
            }
        }
        self.before = [0; 2];
        self.channels = Self::rings();
        self.start_dma(CRANK_DMA, CRANK.0.as_ptr(), CRANK_BITS);
        self.start_dma(SPARK_DMA, SPARK.0.as_ptr(), SPARK_BITS);
        // Both enabled, and both dividers restarted, by one write: they run in step from here on.
        critical_section::with(|_| {
            self.began_us = super::microseconds();
            // SAFETY: machines 0 and 1 only.
            self.pio.ctrl().write(|w| unsafe { w.sm_enable().bits(0b11).clkdiv_restart().bits(0b11) });
        });
    }

    fn stop(&mut self) {
        // SAFETY: all machines off, the first two begin anew; both DMA channels end what they do.
        unsafe {
            self.pio.ctrl().write(|w| w.sm_enable().bits(0).sm_restart().bits(0b11));
            let dma = &*pac::DMA::ptr();
            dma.chan_abort().write(|w| w.bits(1 << CRANK_DMA | 1 << SPARK_DMA));
            while dma.chan_abort().read().bits() & (1 << CRANK_DMA | 1 << SPARK_DMA) != 0 {}
        }
        for machine in 0..2 {
            while self.pio.fstat().read().rxempty().bits() & (1 << machine) == 0 {
                let _ = self.pio.rxf(machine).read();
            }
        }
    }

    fn start_dma(&self, channel: usize, memory: *const AtomicU32, bits: u32) {
        // SAFETY: the ring is aligned to its size and lives for ever; only this channel writes to it, and
        // it is read as atomics.
        unsafe {
            let registers = (*pac::DMA::ptr()).ch(channel);
            registers.ch_read_addr().write(|w| w.bits(self.pio.rxf(channel).as_ptr() as u32));
            registers.ch_write_addr().write(|w| w.bits(memory as u32));
            registers.ch_trans_count().write(|w| w.bits(TRANSFERS));
            registers.ch_ctrl_trig().write(|w| {
                w.data_size().size_word().incr_read().clear_bit().incr_write().set_bit();
                w.ring_sel().set_bit().ring_size().bits(bits as u8 + 2);
                w.treq_sel().bits((DREQ_PIO0_RX0 + channel as u32) as u8);
                w.chain_to().bits(channel as u8).high_priority().set_bit();
                w.irq_quiet().set_bit().en().set_bit()
            });
        }
    }

    /// Words that a DMA channel has written since the start.
    fn head(&mut self, channel: usize) -> u32 {
        // SAFETY: reading a channel's count, and starting it again where it has ended, which no one else does.
        let left = unsafe { (*pac::DMA::ptr()).ch(channel).ch_trans_count().read().bits() };
        let written = self.before[channel & 1].wrapping_add(TRANSFERS - left);
        if left == 0 {
            self.before[channel & 1] = written;
            // SAFETY: as at the start; the write address goes on from where it stands.
            unsafe {
                let registers = (*pac::DMA::ptr()).ch(channel);
                registers.ch_al1_trans_count_trig().write(|w| w.bits(TRANSFERS));
            }
        }
        written
    }

    /// Time on the counter.
    pub(crate) fn now(&self) -> Stamp {
        Stamp(super::microseconds().wrapping_sub(self.began_us).wrapping_mul(TICKS_PER_US))
    }

    /// The edges that are in memory, up to this moment.
    pub(crate) fn waiting(&mut self) -> &mut Channels<'static> {
        let heads = [self.head(CRANK_DMA), self.head(SPARK_DMA)];
        core::sync::atomic::compiler_fence(Ordering::SeqCst);
        self.channels.set_heads(heads[0], heads[1]);
        &mut self.channels
    }
}
