//! An exercise written as the options that give it again.

use crate::cranking::answer::SignalKind;
use crate::practise::{Escape, Exercise};

/// The options that give an exercise again.
pub(super) fn options(exercise: &Exercise) -> String {
    let difficulty = exercise.difficulty.name();
    let mut text = format!("--seed {} --difficulty {difficulty}", exercise.seed);
    if let Some(signal) = exercise.signal {
        let name = match signal {
            SignalKind::StarterCurrent => "starter-current",
            SignalKind::BatteryVoltage => "battery-voltage",
            SignalKind::CrankSpeed => "crank-speed",
        };
        text += &format!(" --signal {name}");
    }
    if let Some(order) = &exercise.firing_order {
        let order: Vec<String> = order.iter().map(usize::to_string).collect();
        text += &format!(" --firing-order {}", order.join("-"));
    }
    if let Some(fuel) = exercise.fuel {
        text += &format!(" --fuel {}", fuel.name());
    }
    for (cylinder, percent) in exercise.weak.iter().flatten() {
        text += &format!(" --weak {cylinder}={percent}");
    }
    if let Some(escape) = exercise.escape {
        let name = match escape {
            Escape::Inlet => "inlet",
            Escape::Exhaust => "exhaust",
            Escape::Crankcase => "crankcase",
            Escape::Coolant => "coolant",
        };
        text += &format!(" --escape {name}");
    }
    if let Some(spoil) = exercise.spoil {
        text += &format!(" --spoil {}", spoil.name());
    }
    text
}
