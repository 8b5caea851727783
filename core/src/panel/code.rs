//! A record as a square code that any phone reads (QR code, ISO/IEC 18004), and the text in it.
//!
//! The text is plain lines, so that a phone shows something that can be read without Keyway. The code is
//! at most version 9 (53 modules): with the quiet zone of 4 modules on each side that the standard asks
//! for, and 3 pixels a module, that is 183 pixels, the height between bar and keys.

use core::fmt::Write;

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;
use heapless::String;
use qrcodegen_no_heap::{Mask, QrCode, QrCodeEcc, Version};

use super::canvas::{Canvas, Placed, Witness};
use super::geom::nearest;
use super::number::{Advance, Fixed};
use super::room::Room;
use super::text::{LONGEST, Line};
use crate::judge::Verdict;
use crate::view::{RecordDetail, RecordResult};

/// The largest version drawn.
const LARGEST: Version = Version::new(9);
/// Bytes that a code of that version takes while it is made.
const BUFFER: usize = LARGEST.buffer_len();
/// Bytes that fit into a code of that version at the lowest error correction.
pub const MOST_BYTES: usize = 230;
/// Modules of quiet around it.
const QUIET: i32 = 4;

/// What the code of a record says, at most 230 bytes: name and values in lines, then instrument, firmware
/// and job in hexadecimal.
pub fn text(record: &RecordDetail) -> String<LONGEST> {
    let mut line = Line::default();
    // Writing to a line cannot fail: it notes that it was cut instead.
    let _ = write_record(record, &mut line);
    line.into_text()
}

fn write_record(record: &RecordDetail, out: &mut Line) -> core::fmt::Result {
    writeln!(out, "Keyway {}", record.number)?;
    writeln!(out, "{}", record.engine.as_str())?;
    let target = record.target.clamp(-180.0, 180.0);
    writeln!(out, "target {} {}", Fixed::tenths(target.abs()), Advance(target).word())?;
    result("found", record.before, out)?;
    result("left", record.after, out)?;
    let verdict = match record.verdict {
        Some(Verdict::OnTarget) => "on-target",
        Some(Verdict::Late) => "late",
        Some(Verdict::Early) => "early",
        None => "no verdict",
    };
    let [proven, told, skipped] = record.marks;
    let end = if record.left_early { " open" } else { "" };
    writeln!(out, "{verdict}{end} P{proven} T{told} S{skipped}")?;
    if let Some((cause, probability)) = record.cause {
        writeln!(out, "{} {}%", cause.id(), nearest(probability.clamp(0.0, 1.0) * 100.0))?;
    }
    write!(out, "I{:x} F{:08x} J{:08x}", record.instrument, record.firmware, record.job_hash)
}

fn result(word: &str, result: Option<RecordResult>, out: &mut Line) -> core::fmt::Result {
    let Some(result) = result else { return writeln!(out, "{word} -") };
    let advance = result.advance.clamp(-180.0, 180.0);
    let doubt = Fixed::tenths(result.doubt.clamp(0.0, 180.0));
    let rpm = Fixed::whole(result.rpm.clamp(0.0, 20_000.0));
    let word_of = Advance(advance).word();
    writeln!(out, "{word} {} {word_of} +-{doubt} {rpm}rpm", Fixed::tenths(advance.abs()))
}

impl<D, W> Canvas<'_, D, W>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    /// The code of a text, in whole pixels a module as large as the room allows.
    pub fn code(&mut self, text: &str, room: Room) -> Result<(), D::Error> {
        let (mut made, mut scratch) = ([0u8; BUFFER], [0u8; BUFFER]);
        let code = QrCode::encode_text(
            text,
            &mut scratch,
            &mut made,
            QrCodeEcc::Low,
            Version::MIN,
            LARGEST,
            // A fixed mask: trying all eight would cost the handheld 8 times the work for one picture.
            Some(Mask::new(2)),
            true,
        );
        self.upright(|canvas| canvas.code_squares(code.as_ref().ok(), room))
    }

    fn code_squares(&mut self, code: Option<&QrCode>, room: Room) -> Result<(), D::Error> {
        self.placed(Placed::Picture, room, |canvas| {
            canvas.paper(room)?;
            let Some(code) = code else { return Ok(true) };
            let size = code.size();
            let pixels = room.width.min(room.height) / (size + 2 * QUIET);
            if pixels < 1 {
                return Ok(true);
            }
            let middle = room.center();
            let (left, top) = (middle.x - size * pixels / 2, middle.y - size * pixels / 2);
            for y in 0..size {
                let mut x = 0;
                while x < size {
                    let start = x;
                    while x < size && code.get_module(x, y) {
                        x += 1;
                    }
                    let run = x - start;
                    if run > 0 {
                        let dark = Room::new(left + start * pixels, top + y * pixels, run * pixels, pixels);
                        canvas.ink(dark)?;
                    }
                    x += 1;
                }
            }
            Ok(false)
        })
    }
}
