//! What each menu holds, and the settings.

use crate::view::{MenuId, MenuItem, SettingId, SettingLine};
use heapless::Vec;
use serde::{Deserialize, Serialize};

/// The items of a menu, in order.
pub(super) fn items(id: MenuId, can_resume: bool) -> Vec<MenuItem, 12> {
    let all: &[MenuItem] = match id {
        MenuId::Home => &[
            MenuItem::Resume,
            MenuItem::ChooseEngine,
            MenuItem::NewEngine,
            MenuItem::Records,
            MenuItem::Settings,
            MenuItem::SelfTest,
        ],
        MenuId::Engine => &[
            MenuItem::StartJob,
            MenuItem::NoStart,
            MenuItem::TrueZero,
            MenuItem::Teach,
            MenuItem::Corrections,
            MenuItem::OtherChecks,
            MenuItem::EditEngine,
            MenuItem::DeleteEngine,
        ],
        MenuId::Job => &[
            MenuItem::BackToStep,
            MenuItem::Causes,
            MenuItem::NextCheck,
            MenuItem::OtherChecks,
            MenuItem::NoStart,
            MenuItem::TrueZero,
            MenuItem::Teach,
            MenuItem::Corrections,
            MenuItem::LeaveJob,
        ],
    };
    let mut items = Vec::new();
    for item in all.iter().filter(|item| can_resume || **item != MenuItem::Resume) {
        let _ = items.push(*item);
    }
    items
}

/// The instrument's settings, and how many records it has kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Settings {
    /// 0 to 5; alarms are never silent.
    pub loudness: u8,
    /// 0 to 5.
    pub light: u8,
    /// The screen turns dark on target.
    pub invert_on_target: bool,
    /// Keys' order turned round.
    pub left_handed: bool,
    /// Number of the newest record.
    pub records: u32,
}

impl Default for Settings {
    fn default() -> Self {
        Self { loudness: 3, light: 2, invert_on_target: true, left_handed: false, records: 0 }
    }
}

impl Settings {
    /// A key at a line; whether anything changed.
    pub(super) fn key(&mut self, line: u8, key: usize) -> bool {
        let before = *self;
        let more = key == 3;
        if !matches!(key, 2 | 3) {
            return false;
        }
        let step = |value: u8| if more { (value + 1).min(5) } else { value.saturating_sub(1) };
        match line {
            0 => self.loudness = step(self.loudness),
            1 => self.light = step(self.light),
            2 => self.invert_on_target = more,
            _ => self.left_handed = more,
        }
        *self != before
    }
}

/// The settings as a screen shows them.
pub(super) fn settings_view(settings: &Settings, selected: u8) -> crate::view::Settings {
    let line = |id, value, most| SettingLine { id, value, most };
    crate::view::Settings {
        lines: [
            line(SettingId::Loudness, settings.loudness, 5),
            line(SettingId::Light, settings.light, 5),
            line(SettingId::InvertOnTarget, u8::from(settings.invert_on_target), 1),
            line(SettingId::LeftHanded, u8::from(settings.left_handed), 1),
        ],
        selected,
    }
}
