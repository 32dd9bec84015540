//! What each job of the register holds, drawn from its number.

/// What a job is made of, by its number. The numbers are such that each kind is there in a register of
/// sixty.
#[derive(Debug, Clone, Copy)]
pub struct Drawn(pub u64);

impl Drawn {
    pub fn is_practice(self) -> bool {
        self.0 % 20 == 7
    }
    pub fn awaits_decision(self) -> bool {
        self.0 % 10 == 3
    }
    pub fn is_returned(self) -> bool {
        self.0 % 30 == 11
    }
    pub fn is_low(self) -> bool {
        self.0.is_multiple_of(3)
    }
    /// Leak-down of the suspected cylinder, and whether it leaked.
    pub fn leak_down(self) -> Option<bool> {
        (self.is_low() && self.0.is_multiple_of(2)).then_some(!self.0.is_multiple_of(12))
    }
    pub fn is_clipped(self) -> bool {
        self.0 % 5 == 4
    }
    /// No cylinder low, and one that cannot be told from the limit: no verdict, though every check passed.
    pub fn is_undecided(self) -> bool {
        self.0 % 11 == 10 && !self.is_clipped() && !self.is_low()
    }
    /// Jobs of one vehicle stand thirty apart.
    pub fn vehicle(self) -> String {
        format!(
            "QL {:05}",
            if self.0 % 4 == 1 {
                self.0 % 30
            } else {
                100 + self.0
            }
        )
    }
    pub fn is_six(self) -> bool {
        self.0 % 6 == 5
    }
}
