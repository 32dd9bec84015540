//! Which exercise is gone on with.

use super::is_exercise;
use crate::cli::{Failure, jobs};
use crate::record::shop::Shop;

pub(super) fn only(shop: &Shop) -> Result<String, Failure> {
    let exercises = jobs::Kind {
        name: "exercise",
        begin: "evenfire practise PROCEDURE",
        go_on: "evenfire resume",
    };
    let is_one = |number: &str| match is_exercise(shop, number) {
        true => Ok(()),
        false => Err(no_exercise(number).into()),
    };
    Ok(jobs::only(shop, &exercises, is_one)?.number())
}

pub(super) fn no_exercise(job: &str) -> String {
    format!("job {job} is no exercise: go on with `evenfire resume {job}`")
}
