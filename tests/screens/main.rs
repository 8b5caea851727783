//! The handheld's screens: nothing cut, overlapping or outside its room at the longest texts and largest
//! values; pictures as they were last looked at; a code that a reader reads; no view that stops the drawing.

mod code;
mod dice;
mod extremes;
mod goldens;
mod rooms;
mod strict;
mod widest;
