//! What is said before the first question of an exercise, by what its procedure asks.

use std::path::Path;

use crate::cli::one_job::which_job::from_here;
use crate::practise::NOT_GRADED;

/// What is said before the first question.
pub(super) fn told(vehicle: &str, is_graded: bool, pages: &Path) -> Vec<String> {
    let mut told = vec![
        "PRACTICE: the vehicle is simulated. What is wrong with it, if anything, is hidden. Say y to what would be so \
         once you had done it at a vehicle.".to_owned(),
        format!("{vehicle}."),
    ];
    if !is_graded {
        told.push(format!(
            "This procedure {NOT_GRADED}: it will not be graded."
        ));
    }
    let page = from_here(&pages.join("vehicle.txt"));
    let mut known = format!("Look up what is asked: {page} for vehicle and instruments");
    if is_graded {
        known += ", cylinder-N.txt beside it only where you measure at that cylinder";
    }
    told.push(format!("{known}."));
    told
}
