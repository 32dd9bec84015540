//! Captures as they come: odd files, each named for its oddity; whatever the simulator writes, in any
//! dialect; sound files; how a capture is described; and bounds on time and memory.

#![allow(clippy::unwrap_used)]
#![allow(
    clippy::too_many_lines,
    reason = "a table of cases reads best as a whole"
)]

mod bounds;
mod clamps;
mod described;
mod doubts;
mod fixture;
mod marks;
mod odd;
mod round_trip;
mod wave;
