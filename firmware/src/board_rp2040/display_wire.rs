//! The wire to the display: SPI 1 fed by DMA, so that the processor only packs lines.

use rp2040_hal::pac;

/// DMA channel of the display.
const DMA_CHANNEL: usize = 2;
/// DREQ_SPI1_TX, RP2040 datasheet table 120.
const DREQ_SPI1_TX: u8 = 18;
/// Bytes of a packet: eight lines of an address, 50 bytes and a trailer, the command and the last trailer.
pub(crate) const PACKET: usize = 8 * 52 + 2;

/// SPI 1 and its DMA channel.
pub(crate) struct DisplayWire {
    spi: pac::SPI1,
    packet: &'static mut [u8; PACKET],
}

impl DisplayWire {
    /// SPI 1 at 2 MHz, mode 0, sent most significant bit first.
    pub(crate) fn new(spi: pac::SPI1, packet: &'static mut [u8; PACKET]) -> Self {
        // SAFETY: the fields take these values; 48 MHz / 24 / 1 = 2 MHz, RP2040 datasheet section 4.4.4.
        unsafe {
            spi.sspcpsr().write(|w| w.cpsdvsr().bits(24));
            spi.sspcr0().write(|w| w.scr().bits(0).dss().bits(7));
            spi.sspdmacr().write(|w| w.txdmae().set_bit());
        }
        spi.sspcr1().write(|w| w.sse().set_bit());
        Self { spi, packet }
    }

    /// Whether bytes are still on their way.
    pub(crate) fn busy(&self) -> bool {
        // SAFETY: reading the state of our own channel.
        let moving = unsafe { (*pac::DMA::ptr()).ch(DMA_CHANNEL).ch_ctrl_trig().read().busy().bit_is_set() };
        moving || self.spi.sspsr().read().bsy().bit_is_set()
    }

    /// Where the next packet is packed; `None` while the last is on its way.
    pub(crate) fn room(&mut self) -> Option<&mut [u8]> {
        if self.busy() { None } else { Some(&mut self.packet[..]) }
    }

    /// Sends the first `length` bytes of the packet.
    pub(crate) fn send(&mut self, length: usize) {
        let length = length.min(PACKET);
        // SAFETY: the packet lives for ever and is not written while the channel is busy (`room`).
        unsafe {
            let registers = (*pac::DMA::ptr()).ch(DMA_CHANNEL);
            registers.ch_read_addr().write(|w| w.bits(self.packet.as_ptr() as u32));
            registers.ch_write_addr().write(|w| w.bits(self.spi.sspdr().as_ptr() as u32));
            registers.ch_trans_count().write(|w| w.bits(length as u32));
            core::sync::atomic::compiler_fence(core::sync::atomic::Ordering::SeqCst);
            registers.ch_ctrl_trig().write(|w| {
                w.data_size().size_byte().incr_read().set_bit().incr_write().clear_bit();
                w.treq_sel().bits(DREQ_SPI1_TX).chain_to().bits(DMA_CHANNEL as u8);
                w.irq_quiet().set_bit().en().set_bit()
            });
        }
        // What comes back on the data line means nothing.
        while self.spi.sspsr().read().rne().bit_is_set() {
            let _ = self.spi.sspdr().read();
        }
    }
}
