//! Four keys, freed of bounce, and a stuck one noticed.
//!
//! A change counts once the contact has been steady for [`STEADY_MS`]; contacts of such keys bounce for a
//! few milliseconds (common practice, no source). A key that is held longer than [`STUCK_MS`] is stuck: it is
//! reported let go, counted as a fault, and not heard again until it comes up.

use embedded_hal::digital::InputPin;

/// A contact must rest for so long, ms.
pub const STEADY_MS: u8 = 10;
/// No one holds a key for so long, ms.
pub const STUCK_MS: u32 = 30_000;

/// What a key did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeyEvent {
    /// Pressed (true) or let go, 0 to 3 from left to right.
    Change(u8, bool),
    /// Held for so long that it must be stuck; it counts as let go.
    Stuck(u8),
}

#[derive(Debug, Clone, Copy, Default)]
struct Contact {
    down: bool,
    differs_ms: u8,
    held_ms: u32,
    stuck: bool,
}

/// The four keys, active low.
#[derive(Debug)]
pub struct Keys<P> {
    pins: [P; 4],
    contacts: [Contact; 4],
}

impl<P: InputPin> Keys<P> {
    /// All up.
    pub fn new(pins: [P; 4]) -> Self {
        Self { pins, contacts: [Contact::default(); 4] }
    }

    /// Looks at the contacts; call once a millisecond. Tells `heard` of each change.
    pub fn scan(&mut self, mut heard: impl FnMut(KeyEvent)) {
        for ((number, pin), contact) in (0_u8..).zip(&mut self.pins).zip(&mut self.contacts) {
            // A pin that can't be read reads as up: no key is pressed by a fault.
            let down = pin.is_low().unwrap_or(false);
            if let Some(event) = contact.sample(number, down) {
                heard(event);
            }
        }
    }
}

impl Contact {
    fn sample(&mut self, number: u8, down: bool) -> Option<KeyEvent> {
        self.held_ms = if self.down { self.held_ms.saturating_add(1) } else { 0 };
        if down == self.down {
            self.differs_ms = 0;
            if self.held_ms == STUCK_MS {
                self.stuck = true;
                return Some(KeyEvent::Stuck(number));
            }
            return None;
        }
        self.differs_ms += 1;
        if self.differs_ms < STEADY_MS {
            return None;
        }
        self.differs_ms = 0;
        self.down = down;
        let silent = core::mem::take(&mut self.stuck);
        (!silent).then_some(KeyEvent::Change(number, down))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use core::convert::Infallible;
    use std::cell::Cell;
    use std::rc::Rc;
    use std::vec::Vec;

    struct Pin(Rc<Cell<bool>>);

    impl embedded_hal::digital::ErrorType for Pin {
        type Error = Infallible;
    }

    impl InputPin for Pin {
        fn is_high(&mut self) -> Result<bool, Infallible> {
            Ok(!self.0.get())
        }
        fn is_low(&mut self) -> Result<bool, Infallible> {
            Ok(self.0.get())
        }
    }

    fn keys() -> (Keys<Pin>, [Rc<Cell<bool>>; 4]) {
        let contacts: [Rc<Cell<bool>>; 4] = Default::default();
        (Keys::new(contacts.clone().map(Pin)), contacts)
    }

    fn scan(keys: &mut Keys<Pin>, ms: u32) -> Vec<KeyEvent> {
        let mut heard = Vec::new();
        for _ in 0..ms {
            keys.scan(|event| heard.push(event));
        }
        heard
    }

    #[test]
    fn a_bouncing_contact_is_one_press() {
        let (mut keys, contacts) = keys();
        let mut heard = Vec::new();
        for bounce in 0..12 {
            contacts[1].set(bounce % 3 != 1);
            heard.extend(scan(&mut keys, 2));
        }
        contacts[1].set(true);
        heard.extend(scan(&mut keys, 50));
        assert_eq!(heard, [KeyEvent::Change(1, true)]);
        contacts[1].set(false);
        assert_eq!(scan(&mut keys, 50), [KeyEvent::Change(1, false)]);
    }

    #[test]
    fn a_spike_shorter_than_the_rest_is_no_press() {
        let (mut keys, contacts) = keys();
        contacts[3].set(true);
        assert_eq!(scan(&mut keys, u32::from(STEADY_MS) - 1), []);
        contacts[3].set(false);
        assert_eq!(scan(&mut keys, 100), []);
    }

    #[test]
    fn a_stuck_key_is_told_once_and_heard_again_after_it_came_up() {
        let (mut keys, contacts) = keys();
        contacts[0].set(true);
        let heard = scan(&mut keys, STUCK_MS + 20_000);
        assert_eq!(heard, [KeyEvent::Change(0, true), KeyEvent::Stuck(0)]);
        contacts[0].set(false);
        assert_eq!(scan(&mut keys, 100), []);
        contacts[0].set(true);
        assert_eq!(scan(&mut keys, 100), [KeyEvent::Change(0, true)]);
    }

    #[test]
    fn two_keys_at_once_are_both_heard() {
        let (mut keys, contacts) = keys();
        contacts[0].set(true);
        contacts[2].set(true);
        assert_eq!(scan(&mut keys, 20), [KeyEvent::Change(0, true), KeyEvent::Change(2, true)]);
    }
}
