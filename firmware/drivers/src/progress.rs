//! The watchdog is fed by progress only: each of the duties must have been done since the last feeding.
//!
//! A loop that turns without doing its work starves the watchdog just as one that hangs.

/// What must go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Duty {
    /// The millisecond's interrupt came: keys and sounder live.
    Beat = 1,
    /// The capture rings were read to their end.
    Drained = 2,
    /// The instrument's tick came.
    Ticked = 4,
    /// The supply was measured.
    Measured = 8,
}

const ALL: u8 = Duty::Beat as u8 | Duty::Drained as u8 | Duty::Ticked as u8 | Duty::Measured as u8;

/// Which duties were done since the last feeding.
#[derive(Debug, Default)]
pub struct Progress(u8);

impl Progress {
    /// None yet.
    pub const fn new() -> Self {
        Self(0)
    }

    /// This one was done.
    pub fn done(&mut self, duty: Duty) {
        self.0 |= duty as u8;
    }

    /// Whether the watchdog may be fed now; if so, all duties are due again.
    pub fn may_feed(&mut self) -> bool {
        let all = self.0 == ALL;
        if all {
            self.0 = 0;
        }
        all
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_duty_left_undone_starves_the_watchdog_whatever_the_others_do() {
        let duties = [Duty::Beat, Duty::Drained, Duty::Ticked, Duty::Measured];
        for undone in duties {
            let mut progress = Progress::new();
            for _ in 0..1000 {
                for duty in duties.into_iter().filter(|duty| *duty != undone) {
                    progress.done(duty);
                    assert!(!progress.may_feed());
                }
            }
            progress.done(undone);
            assert!(progress.may_feed());
            assert!(!progress.may_feed());
        }
    }
}
