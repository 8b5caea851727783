//! What the items of the menus do.

use super::Instrument;
use crate::console::Place;
use crate::guide::{Now, Side};
use crate::view::{MenuItem, Notice};

impl Instrument {
    pub(super) fn on_item(&mut self, item: MenuItem) {
        match item {
            MenuItem::Resume => {
                if self.guide.is_some() {
                    self.console.place = Place::Guide;
                } else {
                    self.wants.resume();
                }
            }
            MenuItem::StartJob => self.start_job(None),
            MenuItem::TrueZero => self.start_side(item),
            MenuItem::Teach => self.start_side(item),
            MenuItem::NoStart => self.start_side(item),
            MenuItem::OtherChecks => self.start_side(item),
            MenuItem::Causes => self.start_side(item),
            MenuItem::NextCheck => self.start_side(item),
            MenuItem::Corrections => self.start_side(item),
            MenuItem::EditEngine => {
                if let Some(spec) = self.spec.clone() {
                    self.console.edit(spec, self.console.slot);
                }
            }
            MenuItem::LeaveJob => {
                if let (Some(guide), Some(meter)) = (&mut self.guide, &self.meter) {
                    guide.leave(&Now { job: meter.job(), sensed: &self.sensed });
                    self.console.place = Place::Guide;
                }
            }
            MenuItem::ChooseEngine
            | MenuItem::NewEngine
            | MenuItem::DeleteEngine
            | MenuItem::Records
            | MenuItem::Settings
            | MenuItem::SelfTest
            | MenuItem::BackToStep => {}
        }
    }

    /// A side trip, from within a job or from the engine's menu.
    fn start_side(&mut self, item: MenuItem) {
        if self.guide.is_none() {
            self.start_job(None);
        }
        self.console.place = Place::Guide;
        let Some(guide) = &mut self.guide else { return };
        match item {
            MenuItem::TrueZero if guide.may_open(true) => guide.open_zero(),
            MenuItem::Teach => guide.open_side(Side::Teach),
            MenuItem::NoStart => guide.open_side(Side::NoStart),
            MenuItem::OtherChecks => guide.open_side(Side::Others { selected: 0, seen: [false; 5] }),
            MenuItem::Causes => guide.open_side(Side::Causes { selected: 0 }),
            MenuItem::NextCheck => guide.open_side(Side::NextCheck),
            MenuItem::Corrections => guide.open_side(Side::Corrections { selected: 0 }),
            _ => self.notice = Some((Notice::StopLater, self.ms)),
        }
    }
}
