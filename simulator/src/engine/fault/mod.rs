//! Faults.
