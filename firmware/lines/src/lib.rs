//! The lines that go over the handheld's USB port.
#![no_std]
