//! Relative compression per cylinder from a cranking capture, with an interval, or the reason why
//! there can be no verdict.

pub mod answer;
pub mod balance;
pub mod cycles;
pub mod explain;
pub mod fit;
pub mod model;
pub mod pulse;
pub mod reference;
pub mod uncertainty;
pub mod verdict;
pub mod window;
