//! The serial port over USB: bytes in and out, never waiting.

use rp2040_hal::clocks::UsbClock;
use rp2040_hal::pac;
use rp2040_hal::usb::UsbBus;
use static_cell::StaticCell;
use usb_device::bus::UsbBusAllocator;
use usb_device::device::{StringDescriptors, UsbDevice, UsbDeviceBuilder, UsbDeviceState, UsbVidPid};
use usbd_serial::{SerialPort, USB_CLASS_CDC};

/// Bytes that wait to be read, and to be sent.
const READ: usize = 256;
const WRITE: usize = 1024;
/// The identifiers that the open USB id registry gives for tests; a product has its own. From memory.
const IDS: UsbVidPid = UsbVidPid(0x1209, 0x0001);

type Port = SerialPort<'static, UsbBus, [u8; READ], [u8; WRITE]>;

/// The port.
pub(crate) struct Usb {
    device: UsbDevice<'static, UsbBus>,
    port: Port,
    /// "Terminal ready" as it was last seen.
    ready: bool,
    /// Bytes came since "terminal ready" last fell: someone is there even if it is not raised.
    heard: bool,
}

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
        Some(Self { device, port, ready: false, heard: false })
    }

    /// Moves what the bus moves; to be called every few milliseconds.
    pub(crate) fn poll(&mut self) {
        let _ = self.device.poll(&mut [&mut self.port]);
    }

    /// Whether a host listens: it has raised "terminal ready", or sent something.
    pub(crate) fn open(&mut self) -> bool {
        let configured = self.device.state() == UsbDeviceState::Configured;
        let ready = self.port.dtr();
        let fell = core::mem::replace(&mut self.ready, ready) && !ready;
        if fell || !configured {
            self.heard = false;
        }
        configured && (ready || self.heard)
    }

    /// Reads what came; gives how many bytes.
    pub(crate) fn read(&mut self, bytes: &mut [u8]) -> usize {
        let length = self.port.read(bytes).unwrap_or(0);
        self.heard |= length > 0;
        length
    }

    /// Writes what fits; gives how many bytes.
    pub(crate) fn write(&mut self, bytes: &[u8]) -> usize {
        let written = self.port.write(bytes).unwrap_or(0);
        let _ = self.port.flush();
        written
    }
}
