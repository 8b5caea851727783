//! What happens before the first reading: a panic of the last run is shown, and the capture path tested.

use crate::board_rp2040::pattern::PatternMachine;
use crate::board_rp2040::{self as board, Board};
use crate::pins;
use crate::screen::Screen;
use keyway_core::view::TestResult;
use keyway_drivers::keys::KeyEvent;
use keyway_drivers::selftest::{Pattern, Trial};

/// The fault page stays at most so long, µs.
const FAULT_PAGE_US: u32 = 8_000_000;
/// The self-test is given up after so long, µs: the pattern lasts 560 ms.
const TEST_US: u32 = 900_000;
/// Edges are waited for so long after the last step, µs.
const TAIL_US: u32 = 20_000;

/// Shows what a panic left behind until a key is pressed, for eight seconds at most.
pub(crate) fn show_fault(board: &mut Board, screen: &mut Screen, message: &str) {
    screen.fault_page(message);
    let began = board::microseconds();
    while board::microseconds().wrapping_sub(began) < FAULT_PAGE_US {
        screen.send(board);
        board::log::send();
        // Bounded by the loop's end, not by progress: the only such place.
        board.watchdog.feed();
        if let Some(KeyEvent::Change(_, true)) = board::beat::next_key() {
            break;
        }
        board::sleep();
    }
}

/// Drives the pattern on the spare pins and captures it: the result, and the largest error in degrees.
#[inline(never)]
pub(crate) fn test_capture(board: &mut Board, screen: &mut Screen) -> (TestResult, Option<f32>) {
    let (Some(mut trial), Some(mut machine)) =
        (Trial::new(), board.pattern.take().map(PatternMachine::start))
    else {
        return (TestResult::Failed, None);
    };
    board.capture.start(pins::CRANK_LOOP, pins::SPARK_LOOP);
    board.watchdog.feed();
    let mut steps = Pattern::new().peekable();
    let began = board::microseconds();
    let mut ended = began;
    loop {
        while let Some(step) = steps.peek() {
            if !machine.push(*step) {
                break;
            }
            ended = board::microseconds();
            steps.next();
        }
        let now = board.capture.now();
        let channels = board.capture.waiting();
        while let Some((channel, captured)) = channels.next(now) {
            trial.on_lost(captured.lost);
            if let Some((level, at)) = captured.edge {
                trial.on_edge(channel, level, at);
            }
        }
        screen.send(board);
        board::log::send();
        let us = board::microseconds();
        let over = steps.peek().is_none() && us.wrapping_sub(ended) > TAIL_US;
        if over || us.wrapping_sub(began) > TEST_US {
            break;
        }
    }
    machine.stop();
    board.watchdog.feed();
    let result = if trial.passed() { TestResult::Passed } else { TestResult::Failed };
    defmt::info!(
        "self-test: passed {=bool}, error {=f32} degrees",
        trial.passed(),
        trial.error().unwrap_or(f32::NAN)
    );
    (result, trial.error())
}
