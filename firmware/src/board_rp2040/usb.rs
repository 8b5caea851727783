//! The serial port over USB: bytes in and out, never waiting, moved by the controller's interrupt.
//!
//! The interrupt answers the host within microseconds whatever the loop is busy with, so that a long turn of it
//! neither breaks the link nor starves the edge stream. Where the loop does not fetch what came, the interrupt is
//! held off until it does: the host waits.

use core::cell::RefCell;
use critical_section::Mutex;
use heapless::Deque;
use rp2040_hal::clocks::UsbClock;
use rp2040_hal::pac::{self, interrupt};
use rp2040_hal::usb::UsbBus;
use static_cell::StaticCell;
use usb_device::bus::UsbBusAllocator;
use usb_device::device::{StringDescriptors, UsbDevice, UsbDeviceBuilder, UsbDeviceState, UsbVidPid};
use usbd_serial::{SerialPort, USB_CLASS_CDC};

/// Bytes of the port's own buffers, and of what waits for the loop.
const READ: usize = 64;
const WRITE: usize = 2048;
const CAME: usize = 256;
/// Bytes of a packet.
const PACKET: usize = 64;
/// The identifiers that the open USB id registry gives for tests; a product has its own. From memory.
const IDS: UsbVidPid = UsbVidPid(0x1209, 0x0001);

struct Link {
    device: UsbDevice<'static, UsbBus>,
    port: SerialPort<'static, UsbBus, [u8; READ], [u8; WRITE]>,
    came: Deque<u8, CAME>,
    /// "Terminal ready" as it was last seen.
    ready: bool,
    /// Bytes came since "terminal ready" last fell: someone is there even if it is not raised.
    heard: bool,
}

static LINK: Mutex<RefCell<Option<Link>>> = Mutex::new(RefCell::new(None));

fn with_link<T>(run: impl FnOnce(&mut Link) -> T) -> Option<T> {
    critical_section::with(|held| LINK.borrow(held).try_borrow_mut().ok()?.as_mut().map(run))
}

impl Link {
    /// Moves what the bus moves. What came and finds no room stays where it is.
    fn poll(&mut self) {
        let _ = self.device.poll(&mut [&mut self.port]);
        while CAME - self.came.len() >= PACKET {
            let mut packet = [0; PACKET];
            let length = self.port.read(&mut packet).unwrap_or(0);
            if length == 0 {
                return;
            }
            self.heard = true;
            for byte in packet.iter().take(length) {
                let _ = self.came.push_back(*byte);
            }
        }
        // The request stays raised until the bytes are fetched: no interrupts until the loop has made room.
        pac::NVIC::mask(pac::Interrupt::USBCTRL_IRQ);
    }
}

#[interrupt]
fn USBCTRL_IRQ() {
    with_link(Link::poll);
}

/// The port, as the loop sees it.
pub(crate) struct Usb(());

impl Usb {
    /// Attaches to the bus. `None` where the descriptor can't be made, which no build should see.
    pub(crate) fn start(
        registers: pac::USBCTRL_REGS,
        memory: pac::USBCTRL_DPRAM,
        clock: UsbClock,
        resets: &mut pac::RESETS,
    ) -> Option<Self> {
        static BUS: StaticCell<UsbBusAllocator<UsbBus>> = StaticCell::new();
        let bus = BUS.init(UsbBusAllocator::new(UsbBus::new(registers, memory, clock, true, resets)));
        let port = SerialPort::new_with_store(bus, [0; READ], [0; WRITE]);
        let names =
            StringDescriptors::default().manufacturer("Keyway").product("Keyway handheld").serial_number("1");
        let device =
            UsbDeviceBuilder::new(bus, IDS).strings(&[names]).ok()?.device_class(USB_CLASS_CDC).build();
        let link = Link { device, port, came: Deque::new(), ready: false, heard: false };
        critical_section::with(|held| LINK.borrow(held).replace(Some(link)));
        listen();
        Some(Self(()))
    }

    /// Whether a host listens: it has raised "terminal ready", or sent something.
    pub(crate) fn open(&mut self) -> bool {
        with_link(|link| {
            let configured = link.device.state() == UsbDeviceState::Configured;
            let ready = link.port.dtr();
            let fell = core::mem::replace(&mut link.ready, ready) && !ready;
            if fell || !configured {
                link.heard = false;
            }
            configured && (ready || link.heard)
        })
        .unwrap_or(false)
    }

    /// Reads what came; gives how many bytes.
    pub(crate) fn read(&mut self, bytes: &mut [u8]) -> usize {
        let mut count = 0;
        with_link(|link| {
            for place in bytes {
                let Some(byte) = link.came.pop_front() else { break };
                *place = byte;
                count += 1;
            }
        });
        if count > 0 {
            listen();
        }
        count
    }

    /// Writes what fits; gives how many bytes.
    pub(crate) fn write(&mut self, bytes: &[u8]) -> usize {
        with_link(|link| {
            let written = link.port.write(bytes).unwrap_or(0);
            let _ = link.port.flush();
            written
        })
        .unwrap_or(0)
    }
}

/// The controller may interrupt.
fn listen() {
    // SAFETY: the handler takes what it needs by a critical section.
    unsafe { pac::NVIC::unmask(pac::Interrupt::USBCTRL_IRQ) };
}
