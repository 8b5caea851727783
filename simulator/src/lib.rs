//! Keyway on the desktop.
