//! Keys, menus and settings.

use crate::view::{KeyLabel, MenuId, MenuItem, SettingId, TestResult};

/// At most 9 letters.
pub const fn key(key: KeyLabel) -> &'static str {
    match key {
        KeyLabel::None => "",
        KeyLabel::Next => "Next",
        KeyLabel::Back => "Back",
        KeyLabel::Done => "Done",
        KeyLabel::Understood => "Hold: OK",
        KeyLabel::Skip => "Skip",
        KeyLabel::Leave => "Leave",
        KeyLabel::Menu => "Menu",
        KeyLabel::Up => "Up",
        KeyLabel::Down => "Down",
        KeyLabel::More => "More",
        KeyLabel::Less => "Less",
        KeyLabel::Select => "Select",
        KeyLabel::Digit => "Digit",
        KeyLabel::Enter => "Enter",
        KeyLabel::Cancel => "Cancel",
        KeyLabel::Save => "Save",
        KeyLabel::Delete => "Delete",
        KeyLabel::Again => "Again",
        KeyLabel::Yes => "Yes",
        KeyLabel::No => "No",
        KeyLabel::Causes => "Causes",
        KeyLabel::Check => "Check",
        KeyLabel::Others => "Others",
        KeyLabel::Teach => "Teach",
        KeyLabel::Zero => "Zero",
        KeyLabel::Turn => "Turn",
        KeyLabel::Quiet => "Quiet",
        KeyLabel::Start => "Start",
        KeyLabel::Undo => "Undo",
        KeyLabel::Forget => "Forget",
        KeyLabel::Change => "Change",
        KeyLabel::Letter => "Letter",
        KeyLabel::Code => "Code",
        KeyLabel::Values => "Values",
    }
}

/// At most 28 letters.
pub const fn menu_title(menu: MenuId) -> &'static str {
    match menu {
        MenuId::Home => "Keyway",
        MenuId::Engine => "Engine",
        MenuId::Job => "Job",
    }
}

/// At most 34 letters.
pub const fn menu_item(item: MenuItem) -> &'static str {
    match item {
        MenuItem::Resume => "Go on with the job",
        MenuItem::ChooseEngine => "Choose an engine",
        MenuItem::NewEngine => "Enter a new engine",
        MenuItem::StartJob => "Start the job",
        MenuItem::EditEngine => "Change the entries",
        MenuItem::DeleteEngine => "Delete the engine",
        MenuItem::TrueZero => "True zero by piston stop",
        MenuItem::Teach => "Teach the wheel",
        MenuItem::NoStart => "It does not start",
        MenuItem::OtherChecks => "What else makes it run badly",
        MenuItem::Causes => "Causes",
        MenuItem::NextCheck => "Next check",
        MenuItem::Corrections => "Corrections",
        MenuItem::Records => "Records",
        MenuItem::Settings => "Settings",
        MenuItem::SelfTest => "Self-test",
        MenuItem::BackToStep => "Back to the step",
        MenuItem::LeaveJob => "Leave the job",
    }
}

/// At most 34 letters.
pub const fn setting(setting: SettingId) -> &'static str {
    match setting {
        SettingId::Loudness => "Loudness (alarms stay loud)",
        SettingId::Light => "Light",
        SettingId::InvertOnTarget => "Dark screen on target",
        SettingId::LeftHanded => "Keys turned round",
    }
}

/// One word.
pub const fn test_result(result: TestResult) -> &'static str {
    match result {
        TestResult::Running => "running",
        TestResult::Passed => "passed",
        TestResult::Failed => "failed",
        TestResult::Absent => "not there",
    }
}
