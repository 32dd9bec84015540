//! What is wrong with all cylinders alike, or with what turns them. No relative method sees it in the
//! percentages: the swing, the speed or the voltage may give it away.

use rand::Rng;

use super::draw::within;
use super::fault::weakened;
use super::plan::Plan;
use crate::engine::Loss;

/// Area of a spark plug's or glow plug's open hole: a 14 mm thread, 12 mm clear, m² (common practice, no source).
const PLUG_HOLE_M2: f64 = 1.1e-4;

/// One such fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum CommonFault {
    /// Every cylinder keeps about half of its compression: worn rings all over, cam timing out.
    AllLow,
    /// All plugs are out.
    PlugsOut,
    /// A battery that is flat and old.
    WeakBattery,
}

/// All of them.
pub const ALL: [CommonFault; 3] = [
    CommonFault::AllLow,
    CommonFault::PlugsOut,
    CommonFault::WeakBattery,
];

impl CommonFault {
    /// Its name, as an option writes it.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Self::AllLow => "all-low",
            Self::PlugsOut => "plugs-out",
            Self::WeakBattery => "weak-battery",
        }
    }

    /// Let it befall a vehicle whose starter was sized for `rpm`.
    pub fn befall(self, plan: &mut Plan, rpm: f64, random: &mut impl Rng) {
        match self {
            Self::AllLow => {
                let kept = within(random, 0.3, 0.6);
                for condition in &mut plan.conditions {
                    let share = kept * within(random, 0.98, 1.02);
                    *condition = weakened(*condition, &plan.cylinder, rpm, share, Loss::Leak);
                }
            }
            Self::PlugsOut => plan
                .conditions
                .iter_mut()
                .for_each(|condition| condition.leak_m2 += PLUG_HOLE_M2),
            Self::WeakBattery => {
                let systems = if plan.battery.rest_v > 15.0 { 2.0 } else { 1.0 };
                plan.battery.rest_v -= systems * within(random, 0.3, 0.8);
                plan.battery.resistance *= within(random, 1.6, 2.6);
            }
        }
    }
}
