//! The board: an RP2040 at 48 MHz from its USB PLL, with everything that the handheld is wired to.
//!
//! This folder is all that knows the chip. Another board brings the same names: [`Board::start`] and its
//! parts, [`microseconds`], [`sleep`], and the log.

pub(crate) mod beat;
pub(crate) mod capture;
pub(crate) mod display_wire;
pub(crate) mod flash;
pub(crate) mod log;
pub(crate) mod panic;
pub(crate) mod pattern;
pub(crate) mod pwm;
pub(crate) mod stack;
pub(crate) mod usb;

use crate::pins;
use keyway_drivers::keys::Keys;
use rp2040_hal::clocks::{Clock, ClockSource, ClocksManager, UsbClock};
use rp2040_hal::fugit::RateExtU32;
use rp2040_hal::gpio::{
    DynPinId, FunctionPio0, FunctionPwm, FunctionSioInput, FunctionSioOutput, FunctionSpi, FunctionUart, Pin,
    PullDown, PullUp,
};
use rp2040_hal::pll::{common_configs::PLL_USB_48MHZ, setup_pll_blocking};
use rp2040_hal::uart::{DataBits, StopBits, UartConfig, UartPeripheral};
use rp2040_hal::watchdog::Watchdog;
use rp2040_hal::xosc::setup_xosc_blocking;
use rp2040_hal::{Sio, Timer, pac};
use static_cell::ConstStaticCell;

/// Second-stage boot loader: sets the flash chip up for execution in place.
#[unsafe(link_section = ".boot2")]
#[used]
static BOOT: [u8; 256] = rp2040_boot2::BOOT_LOADER_W25Q080;

/// The crystal, Hz.
const CRYSTAL: u32 = 12_000_000;
/// The watchdog bites after so long without progress, µs: longer than the longest sector erase (400 ms).
const WATCHDOG_US: u32 = 2_000_000;

/// A pin that is driven.
pub(crate) type Output = Pin<DynPinId, FunctionSioOutput, PullDown>;
/// A pin that the PWM drives.
type Driven<I> = Pin<I, FunctionPwm, PullDown>;
/// A key's pin.
pub(crate) type KeyPin = Pin<DynPinId, FunctionSioInput, PullUp>;

/// Everything, started.
pub(crate) struct Board {
    /// Both inputs.
    pub(crate) capture: capture::Capture,
    /// The display's wire.
    pub(crate) wire: display_wire::DisplayWire,
    /// The display's select, active high.
    pub(crate) select: Output,
    /// Kind of crank input.
    pub(crate) crank_kind: Output,
    /// Fed by progress only.
    pub(crate) watchdog: Watchdog,
    /// Whether the watchdog ended the last run.
    pub(crate) bitten: bool,
    /// The converter.
    adc: pac::ADC,
    /// What drives the self-test's pattern, until it has.
    pub(crate) pattern: Option<pac::PIO1>,
    /// What the serial port is made of, until it is started.
    port: Option<(pac::USBCTRL_REGS, pac::USBCTRL_DPRAM, UsbClock)>,
    resets: pac::RESETS,
    /// The flash, until the store has it.
    pub(crate) flash: Option<flash::Flash>,
}

/// Microseconds since the timer started, wrapping.
pub(crate) fn microseconds() -> u32 {
    // SAFETY: reading a counter has no effect.
    unsafe { (*pac::TIMER::ptr()).timerawl().read().bits() }
}

/// Sleeps until the next interrupt, the millisecond's at the latest.
pub(crate) fn sleep() {
    cortex_m::asm::wfi();
}

impl Board {
    /// Clocks, pins and parts. `None` where that was done before, or a clock does not start.
    pub(crate) fn start() -> Option<Self> {
        static PACKET: ConstStaticCell<[u8; display_wire::PACKET]> =
            ConstStaticCell::new([0; display_wire::PACKET]);
        static LOADER: ConstStaticCell<[u32; flash::LOADER]> = ConstStaticCell::new([0; flash::LOADER]);
        let pac = pac::Peripherals::take()?;
        let mut resets = pac.RESETS;
        let bitten = pac.WATCHDOG.reason().read().timer().bit_is_set();
        let mut watchdog = Watchdog::new(pac.WATCHDOG);
        watchdog.pause_on_debug(true);
        let crystal = setup_xosc_blocking(pac.XOSC, CRYSTAL.Hz()).ok()?;
        watchdog.enable_tick_generation((CRYSTAL / 1_000_000) as u8);
        let mut clocks = ClocksManager::new(pac.CLOCKS);
        let frequency = crystal.operating_frequency();
        let pll = setup_pll_blocking(pac.PLL_USB, frequency, PLL_USB_48MHZ, &mut clocks, &mut resets).ok()?;
        clocks.reference_clock.configure_clock(&crystal, crystal.get_freq()).ok()?;
        clocks.system_clock.configure_clock(&pll, pll.get_freq()).ok()?;
        clocks.usb_clock.configure_clock(&pll, pll.get_freq()).ok()?;
        clocks.adc_clock.configure_clock(&pll, pll.get_freq()).ok()?;
        clocks.peripheral_clock.configure_clock(&clocks.system_clock, clocks.system_clock.freq()).ok()?;

        wake(&resets);
        let timer = Timer::new(pac.TIMER, &mut resets, &clocks);
        let sio = Sio::new(pac.SIO);
        let pins = rp2040_hal::gpio::Pins::new(pac.IO_BANK0, pac.PADS_BANK0, sio.gpio_bank0, &mut resets);

        let _log: Pin<_, FunctionUart, _> = pins.gpio0.into_function::<FunctionUart>();
        let receive: Pin<_, FunctionUart, _> = pins.gpio1.into_function::<FunctionUart>();
        let config = UartConfig::new(log::BAUD.Hz(), DataBits::Eight, None, StopBits::One);
        let uart = UartPeripheral::new(pac.UART0, (_log, receive), &mut resets);
        // The peripheral stays enabled when this goes; the log writes to it from here on.
        let _enabled = uart.enable(config, clocks.peripheral_clock.freq()).ok()?;

        let _inputs: (Pin<_, FunctionPio0, PullDown>, Pin<_, FunctionPio0, PullDown>) =
            (pins.gpio2.reconfigure(), pins.gpio3.reconfigure());
        let _loops: (
            Pin<_, rp2040_hal::gpio::FunctionPio1, PullDown>,
            Pin<_, rp2040_hal::gpio::FunctionPio1, PullDown>,
        ) = (pins.gpio4.reconfigure(), pins.gpio5.reconfigure());
        let keys = Keys::new([
            pins.gpio6.into_pull_up_input().into_dyn_pin(),
            pins.gpio7.into_pull_up_input().into_dyn_pin(),
            pins.gpio8.into_pull_up_input().into_dyn_pin(),
            pins.gpio9.into_pull_up_input().into_dyn_pin(),
        ]);
        let _spi: (Pin<_, FunctionSpi, PullDown>, Pin<_, FunctionSpi, PullDown>) =
            (pins.gpio10.reconfigure(), pins.gpio11.reconfigure());
        let select = pins.gpio12.into_push_pull_output().into_pull_type().into_dyn_pin();
        let _display: Driven<_> = pins.gpio13.reconfigure();
        let _sounder: Driven<_> = pins.gpio15.reconfigure();
        let _lamp: Driven<_> = pins.gpio16.reconfigure();
        let _arming: Driven<_> = pins.gpio18.reconfigure();
        let mut enable: Output = pins.gpio14.into_push_pull_output().into_pull_type().into_dyn_pin();
        let crank_kind = pins.gpio17.into_push_pull_output().into_pull_type().into_dyn_pin();
        let _converter = (
            rp2040_hal::adc::AdcPin::new(pins.gpio26.into_floating_input()).ok()?,
            rp2040_hal::adc::AdcPin::new(pins.gpio27.into_floating_input()).ok()?,
        );

        pwm::start(pac.PWM);
        let _ = embedded_hal::digital::OutputPin::set_high(&mut enable);
        beat::start(keys, &timer);
        pac.ADC.cs().write(|w| w.en().set_bit());
        watchdog.start(rp2040_hal::fugit::MicrosDurationU32::micros(WATCHDOG_US));
        Some(Self {
            port: Some((pac.USBCTRL_REGS, pac.USBCTRL_DPRAM, clocks.usb_clock)),
            resets,
            capture: capture::Capture::new(pac.PIO0),
            wire: display_wire::DisplayWire::new(pac.SPI1, PACKET.take()),
            select,
            crank_kind,
            watchdog,
            bitten,
            adc: pac.ADC,
            pattern: Some(pac.PIO1),
            flash: Some(flash::Flash::new(LOADER.take())),
        })
    }

    /// Attaches to USB: only when the loop is about to run, since a host wants answers within milliseconds.
    pub(crate) fn start_usb(&mut self) -> Option<usb::Usb> {
        let (registers, memory, clock) = self.port.take()?;
        usb::Usb::start(registers, memory, clock, &mut self.resets)
    }

    /// Reads a channel of the converter, 0 to 4095; takes 2 µs.
    pub(crate) fn convert(&mut self, channel: u8) -> u16 {
        // SAFETY: channels 0 to 3 are pins; RP2040 datasheet section 4.9.
        self.adc
            .cs()
            .write(|w| unsafe { w.en().set_bit().ainsel().bits(channel & 3).start_once().set_bit() });
        while self.adc.cs().read().ready().bit_is_clear() {}
        self.adc.result().read().result().bits()
    }
}

/// Takes the parts that are set up by their registers out of reset.
fn wake(resets: &pac::RESETS) {
    resets.reset().modify(|_, w| {
        w.pio0().clear_bit().pio1().clear_bit().dma().clear_bit().spi1().clear_bit();
        w.pwm().clear_bit().adc().clear_bit()
    });
    loop {
        let done = resets.reset_done().read();
        if done.pio0().bit()
            && done.pio1().bit()
            && done.dma().bit()
            && done.spi1().bit()
            && done.pwm().bit()
            && done.adc().bit()
        {
            return;
        }
    }
}

/// The pins above are the table's: a change there is a change here.
const _: () = {
    assert!(pins::LOG == 0 && pins::CRANK == 2 && pins::SPARK == 3);
    assert!(pins::CRANK_LOOP == 4 && pins::SPARK_LOOP == 5);
    assert!(pins::KEYS[0] == 6 && pins::KEYS[1] == 7 && pins::KEYS[2] == 8 && pins::KEYS[3] == 9);
    assert!(pins::DISPLAY_CLOCK == 10 && pins::DISPLAY_DATA == 11 && pins::DISPLAY_SELECT == 12);
    assert!(pins::DISPLAY_COMMON == 13 && pins::DISPLAY_ENABLE == 14 && pins::SOUNDER == 15);
    assert!(pins::LAMP == 16 && pins::CRANK_KIND == 17 && pins::ARMING == 18);
    assert!(pins::SUPPLY == 26 && pins::AMPLITUDE == 27);
};
