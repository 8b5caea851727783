//! The handheld's screens: one view in, one picture of 400 by 240 dark and bright pixels out.
//!
//! *View*: everything a screen needs, as plain data ([`crate::view::View`]); the panel knows nothing else.
//! *Ink*: dark pixels, [`BinaryColor::On`]; *paper*: the bright ground of a reflective display, `Off`.
//! *Room*: the rectangle that a text or picture is placed in ([`Room`]); *witness*: who is told of each
//! ([`Witness`]), so that tests can find anything cut, overlapping or drawn outside.
//!
//! The screens are made for arm's length, gloves and sunlight: the value in digits of 63 pixels with its
//! word beside it, a picture of the error, one sentence that says what to do now, four keys below. Attention
//! is shown by dark ground, since a one-bit display has no other colour. A value that is withheld leaves no
//! digits behind.
//!
//! Everything is drawn by filling rectangles; a target that fills rectangles fast ([`frame::Frame`]) makes
//! the whole fast.

pub mod canvas;
pub mod code;
mod face;
pub mod frame;
pub mod geom;
mod glyph;
mod marks;
pub mod number;
mod painter;
pub mod room;
mod rows;
mod scale;
mod screens;
mod text;
mod turn;
mod value;
mod ways;

pub use canvas::{Placed, Witness};
pub use painter::Painter;
pub use room::Room;

use embedded_graphics::draw_target::DrawTarget;
use embedded_graphics::pixelcolor::BinaryColor;

use crate::view::View;
use canvas::Canvas;

/// Columns of the display.
pub const WIDTH: u32 = 400;
/// Lines of the display.
pub const HEIGHT: u32 = 240;

/// Draws a view on a display of 400 by 240; every pixel is drawn at least once.
///
/// # Errors
/// The target's own, from the first drawing that fails; the picture is then unfinished.
pub fn draw<D>(view: &View, target: &mut D) -> Result<(), D::Error>
where
    D: DrawTarget<Color = BinaryColor>,
{
    draw_witnessed(view, target, &mut ())
}

/// As [`draw`], with a witness to everything placed.
///
/// # Errors
/// The target's own, from the first drawing that fails.
pub fn draw_witnessed<D, W>(view: &View, target: &mut D, witness: &mut W) -> Result<(), D::Error>
where
    D: DrawTarget<Color = BinaryColor>,
    W: Witness,
{
    Canvas::new(target, witness, view.inverted).screen(&painter::drawn(view))
}
