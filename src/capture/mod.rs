//! A recording and its set-up: the table read, channels scaled and named by what they measure.
