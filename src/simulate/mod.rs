//! Practice captures with known truth, from a physical model richer than the one that is fitted.
