//! Every screen of the handheld as a picture, in the states that matter.
//!
//! *Sample*: a view with a name; the name is the picture's file name. The samples are what the golden
//! pictures of the tests are made from, and what `keyway screens --out DIR` writes.

mod beside;
mod long;
mod reading;
mod working;

use std::io;
use std::path::Path;

use embedded_graphics::pixelcolor::{BinaryColor, Rgb888};
use embedded_graphics::prelude::Size;
use embedded_graphics_simulator::{
    BinaryColorTheme, OutputImage, OutputSettings, OutputSettingsBuilder, SimulatorDisplay,
};
use keyway_core::panel;
use keyway_core::view::{Bar, KeyLabel, Label, Quality, Screen, StepId, StepPlace, View};

/// A view with a name.
#[derive(Debug, Clone, PartialEq)]
pub struct Sample {
    /// Name of the picture, without an ending.
    pub name: &'static str,
    /// What it shows.
    pub view: View,
}

/// Every sample, in the order of a job, the tools beside it after that, the longest texts last.
pub fn samples() -> Vec<Sample> {
    let mut all = reading::samples();
    all.extend(working::samples());
    all.extend(beside::samples());
    all.extend(long::samples());
    all
}

/// A view drawn by the core.
pub fn picture(view: &View) -> SimulatorDisplay<BinaryColor> {
    let mut display = SimulatorDisplay::new(Size::new(panel::WIDTH, panel::HEIGHT));
    let Ok(()) = panel::draw(view, &mut display);
    display
}

/// How pictures look: one pixel each, ink dark on a bright ground.
pub fn look() -> OutputSettings {
    OutputSettingsBuilder::new().theme(BinaryColorTheme::Inverted).scale(1).pixel_spacing(0).build()
}

/// A view as an image.
pub fn image(view: &View) -> OutputImage<Rgb888> {
    picture(view).to_rgb_output_image(&look())
}

/// Writes every sample as PNG into `dir`, made if it is not there; gives their number.
///
/// # Errors
/// When the directory cannot be made or a picture cannot be written.
pub fn write_all(dir: &Path) -> io::Result<usize> {
    std::fs::create_dir_all(dir)?;
    let all = samples();
    for sample in &all {
        let path = dir.join(sample.name).with_extension("png");
        image(&sample.view).save_png(path).map_err(io::Error::other)?;
    }
    Ok(all.len())
}

/// A view within a job, the engine idling well.
fn within(step: StepId, number: u8, screen: Screen, keys: [KeyLabel; 4]) -> View {
    View {
        bar: Bar {
            step: Some(StepPlace { id: step, number, of: 27 }),
            rpm: Some(712.0),
            in_idle_band: true,
            supply_v: Some(13.9),
            supply_low: false,
            quality: Quality::Good,
        },
        screen,
        keys,
        halt: None,
        alarm: None,
        notice: None,
        inverted: false,
        blink: false,
    }
}

/// A view outside a job, the engine standing.
fn outside(screen: Screen, keys: [KeyLabel; 4]) -> View {
    let mut view = within(StepId::MakeSafe, 1, screen, keys);
    view.bar.step = None;
    view.bar.rpm = Some(0.0);
    view.bar.supply_v = Some(12.6);
    view.bar.quality = Quality::Silent;
    view
}

/// A view with something changed.
fn with(mut view: View, change: impl FnOnce(&mut View)) -> View {
    change(&mut view);
    view
}

fn sample(name: &'static str, view: View) -> Sample {
    Sample { name, view }
}

/// The demonstration's engine.
fn weir_pump() -> Label {
    Label::new("Weir pump six")
}
