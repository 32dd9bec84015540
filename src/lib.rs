//! `evenfire` finds out, without dismantling, whether an engine has a sealing fault, in which
//! cylinder, and what to test next; it leads the technician through the work safely and leaves a
//! signed record.
//!
//! The rooms, in the direction in which data flows: none knows one below it in this list, nor beside it.
#![cfg_attr(
    test,
    allow(
        clippy::too_many_lines,
        reason = "a table of cases reads best as a whole"
    )
)]
pub mod text; // texts made fit to show

pub mod engine; // cylinders, firing order, intervals, companions
pub mod quantity; // numbers with units

pub mod capture; // a recording and its set-up, read and scaled
pub mod procedure; // the trainer's file: loaded, resolved, proved

pub mod cranking; // capture in, relative compression per cylinder out

pub mod advise; // which signal to take and how to set the scope, before there is a capture

pub mod followup; // leak-down and the other tests that follow
pub mod simulate; // practice captures with known truth

pub mod run; // procedure and answers in, events out; the journal on disk

pub mod ask; // who answers: terminal or answers file
pub mod record; // the signed bundle of a job

pub mod practise; // an exercise with a hidden fault, judged once it is sealed
pub mod rehearse; // scenarios gone through without a car; what they reached

pub mod map; // a procedure as a picture, as text, as a work sheet
pub mod report; // terminal and HTML renderings of a record

pub mod cli; // the command line; the only room that knows the process
