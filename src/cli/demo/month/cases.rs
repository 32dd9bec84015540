//! What comes into the demonstration's shop in its month. Vehicles, people and words are invented; which
//! cylinder is weak, and how the lead decides, follows from the day.

use crate::simulate::spoil::Spoil;

/// Days of the month, a job each.
pub(super) const DAYS: u32 = 30;

/// A kind of vehicle.
pub(super) struct Model {
    pub(super) name: &'static str,
    pub(super) firing_order: &'static [usize],
}

const MODELS: [Model; 3] = [
    Model {
        name: "Corrin Pell 1.4 hatchback, 2011, engine code CP4-14",
        firing_order: &[1, 3, 4, 2],
    },
    Model {
        name: "Corrin Marrow 3.0 saloon, 2009, engine code CM6-30",
        firing_order: &[1, 5, 3, 6, 2, 4],
    },
    Model {
        name: "Corrin Halden 5.0 V8 estate, 2014, engine code CH8-50",
        firing_order: &[1, 8, 4, 3, 6, 5, 7, 2],
    },
];

/// What is the matter, and how the work goes.
pub(super) struct Complaint {
    pub(super) words: &'static str,
    /// What the weak cylinder keeps, percent; none where the engine is sound.
    pub(super) keeps: Option<f64>,
    /// What is wrong with the first capture, and with every other too where `mended` is not set.
    pub(super) spoil: Option<Spoil>,
    pub(super) mended: bool,
    /// Answers that are not the usual ones: step, answer.
    pub(super) answers: &'static [(&'static str, &'static str)],
    /// Step that the lead waives, and why.
    pub(super) waived: Option<(&'static str, &'static str)>,
    /// Step at which the work is stopped, and why.
    pub(super) stopped: Option<(&'static str, &'static str)>,
}

const SOUND: Complaint = Complaint {
    words: "Hums when cold; the customer wants to know whether it is the engine",
    keeps: None,
    spoil: None,
    mended: false,
    answers: &[],
    waived: None,
    stopped: None,
};

const LEAKY: Complaint = Complaint {
    words: "Shakes at idle and lacks power uphill",
    keeps: Some(58.0),
    ..SOUND
};

const COMPLAINTS: [Complaint; 10] = [
    SOUND,
    Complaint {
        answers: &[
            ("leak-test/reading", "44 psi"),
            ("leak-test/escape", "exhaust"),
        ],
        ..LEAKY
    },
    Complaint {
        words: "Starts badly since the winter",
        spoil: Some(Spoil::Noisy),
        mended: true,
        ..SOUND
    },
    Complaint {
        words: "To be looked at before it is bought",
        ..SOUND
    },
    Complaint {
        answers: &[
            ("leak-test/reading", "40 psi"),
            ("leak-test/escape", "inlet"),
        ],
        ..LEAKY
    },
    Complaint {
        words: "Rattles for some seconds after the start",
        waived: Some(("quiet-posts", "I watched the line myself")),
        ..SOUND
    },
    Complaint {
        words: "Loses power, the lamp flashes",
        keeps: Some(60.0),
        answers: &[("leak-test/reading", "77 psi"), ("offer-running", "later")],
        ..SOUND
    },
    Complaint {
        words: "Cranks slowly, then starts",
        spoil: Some(Spoil::Short),
        answers: &[("offer-circuit", "later")],
        ..SOUND
    },
    Complaint {
        words: "Smokes under load and uses oil",
        keeps: Some(52.0),
        answers: &[
            ("leak-test/reading", "36 psi"),
            ("leak-test/escape", "crankcase"),
        ],
        ..SOUND
    },
    Complaint {
        words: "Makes a noise at the front",
        stopped: Some(("signal", "The customer needs the car today.")),
        ..SOUND
    },
];

/// What becomes of a job once it is sealed.
pub(super) enum Decision {
    Unsigned,
    Open,
    Accepted,
    Returned(&'static str),
    /// Returned, its odometer corrected, and accepted: why it was returned.
    Amended(&'static str),
}

/// One day's job.
pub(super) struct Case {
    pub(super) day: u32,
    pub(super) vehicle: u32,
    pub(super) model: &'static Model,
    pub(super) complaint: &'static Complaint,
    pub(super) decision: Decision,
}

impl Case {
    pub(super) fn of(day: u32) -> Case {
        // two come again, repaired
        let vehicle = match day {
            20 => 8,
            25 => 4,
            day => day,
        };
        let decision = match day {
            4 => Decision::Returned("Which document gives the firing order? Name the page."),
            11 => Decision::Amended("The odometer cannot be right for a car of that year."),
            17 | 29 => Decision::Open,
            23 => Decision::Unsigned,
            _ => Decision::Accepted,
        };
        Case {
            day,
            vehicle,
            model: &MODELS[day as usize % MODELS.len()],
            complaint: &COMPLAINTS[day as usize % COMPLAINTS.len()],
            decision,
        }
    }

    /// Cylinder that is weak where one is.
    pub(super) fn weak_place(&self) -> usize {
        self.vehicle as usize % self.model.firing_order.len()
    }

    fn odometer(&self) -> String {
        format!("{} km", 90_000 + 1700 * self.vehicle + self.day)
    }

    /// The same with the two digits exchanged that were, where it was mistyped.
    pub(super) fn odometer_as_it_is(&self) -> String {
        let mut digits: Vec<char> = self.odometer().chars().collect();
        digits.swap(2, 3);
        digits.into_iter().collect()
    }

    /// What is answered in this job, and not the usual.
    pub(super) fn answers(&self) -> Vec<(&'static str, String)> {
        let order: Vec<String> = self
            .model
            .firing_order
            .iter()
            .map(usize::to_string)
            .collect();
        let vehicle = self.vehicle;
        let mut answers = vec![
            ("vehicle", self.model.name.to_owned()),
            ("vehicle-identity", format!("CLW MONTH {vehicle:02}")),
            ("intake/odometer", self.odometer()),
            ("intake/complaint", self.complaint.words.to_owned()),
            ("intake/fuel", "petrol".to_owned()),
            ("intake/cylinders", order.len().to_string()),
            ("intake/firing-order", order.join("-")),
            (
                "intake/firing-order-source",
                "Corrin workshop manual, page 11-4".to_owned(),
            ),
            (
                "intake/numbering-source",
                "Corrin workshop manual, page 11-2".to_owned(),
            ),
            ("signal", "posts".to_owned()),
            ("leak-test/supply", "80 psi".to_owned()),
            ("circuit-test/loaded-voltage", "10.4 V".to_owned()),
        ];
        let own = self.complaint.answers.iter();
        answers.extend(own.map(|(step, answer)| (*step, (*answer).to_owned())));
        answers
    }
}
