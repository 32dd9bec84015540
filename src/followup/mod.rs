//! What follows a cranking capture: leak-down and its like, as plain computations.
