//! One moment of the bench with its truth, for whoever follows what hands and instrument do.

use crate::engine::controls::Controls;
use keyway_core::sounder::Tone;
use keyway_core::view::View;

/// One moment; the bench keeps one for each of its slices of time, where it is asked to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// On the bench's clock, s.
    pub at: f64,
    /// How the controls stand.
    pub controls: Controls,
    /// The leads are clipped on.
    pub leads_on: bool,
    /// Speed, rpm.
    pub rpm: f64,
    /// Truth: where the newest spark came, degrees before its own cylinder's top dead centre; `None` where
    /// the clamp saw none within half a second, or saw something else.
    pub advance: Option<f64>,
    /// What a strobe at the clamp shows: where the newest front came, degrees before cylinder one's top dead
    /// centre, whatever lead the clamp is on; `None` without one within half a second.
    pub strobe: Option<f64>,
    /// Truth: where it lies while nothing steers it, degrees before top dead centre.
    pub base: f64,
    /// What the screen shows.
    pub view: View,
    /// What is heard.
    pub tone: Tone,
}
