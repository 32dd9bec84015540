//! Who answers a run's questions: a person at a terminal, or an answers file.
