//! Builds the view and the tone, and asks for drawing and sound where they changed.

use super::{Instrument, NOTICE_MS};
use crate::console::Place;
use crate::guide::Now;
use crate::sounder::{Heard, tone};
use crate::view::{Bar, KeyLabel, Screen, Value, View};

impl Instrument {
    /// The labels of the four keys, from left to right as the place or the guide has them.
    pub(super) fn labels(&self) -> [KeyLabel; 4] {
        match (&self.console.place, &self.guide, &self.meter) {
            (Place::Guide, Some(guide), Some(meter)) => {
                guide.keys(&Now { job: meter.job(), sensed: &self.sensed })
            }
            _ => self.console.keys(),
        }
    }

    pub(super) fn show(&mut self) {
        self.notice = self.notice.filter(|(_, since)| self.ms.wrapping_sub(*since) < NOTICE_MS);
        let mut keys = self.labels();
        if self.console.settings.left_handed {
            keys.reverse();
        }
        let sensed = &self.sensed;
        let idle = self.meter.as_ref().map(|meter| meter.job().spec().timing.idle_rpm);
        let limit = self.meter.as_ref().and_then(|meter| meter.job().spec().timing.supply_min_v);
        let rpm = if sensed.turning { sensed.rpm } else { self.meter.as_ref().map(|_| 0.0) };
        let running = rpm.is_some_and(|rpm| rpm > 300.0);
        let mut bar = Bar {
            step: None,
            rpm,
            in_idle_band: match (rpm, idle) {
                (Some(rpm), Some([low, high])) => (low..=high).contains(&rpm),
                _ => false,
            },
            supply_v: sensed.supply,
            supply_low: running
                && matches!((sensed.supply, limit), (Some(volts), Some(limit)) if volts < limit),
            quality: sensed.quality,
        };
        let (mut halt, mut alarm, mut inverted, mut heard) = (None, None, false, Heard::Nothing);
        let mut screen = self.console.screen();
        if let (Some(guide), Some(meter)) = (&self.guide, &self.meter) {
            let now = Now { job: meter.job(), sensed };
            bar.step = Some(guide.place());
            alarm = guide.alarm();
            heard = guide.heard(&now);
            if matches!(self.console.place, Place::Guide) {
                screen = Some(guide.screen(&now));
                halt = guide.halt().filter(|_| !matches!(screen, Some(Screen::Caution { .. })));
                inverted = self.console.settings.invert_on_target && guide.on_target(&now);
            }
        }
        let unread = Value::Gathering { sparks: 0, needed: 0 };
        let view = View {
            bar,
            screen: screen.unwrap_or(Screen::NoReading { value: unread }),
            keys,
            halt,
            alarm,
            notice: self.notice.map(|(notice, _)| notice),
            inverted,
            blink: alarm.is_some() && self.ms / 250 % 2 == 1,
        };
        if view != self.view {
            self.view = view;
            self.wants.draw = true;
        }
        let tone = tone(heard);
        if tone != self.tone {
            self.tone = tone;
            self.wants.sound = true;
        }
    }
}
