//! The grades of a shop's exercises, one line each, for the trainer.

use super::ending::{Graded, graded_as};
use super::{files, kept_in};
use crate::cli::Failure;
use crate::record::bundle::model::Record;
use crate::record::folder::RECORD;
use crate::record::shop::Shop;
use crate::text::clean;

/// Nothing to list.
const NONE: &str = "No exercise was done in this shop yet.\n";

/// Each exercise of the shop in the order of its jobs: who did which procedure, and its grade.
pub(super) fn list(shop: &Shop) -> Result<String, Failure> {
    let mut rows: Vec<[String; 5]> = Vec::new();
    for job in shop.all_jobs()? {
        let (kept, _) = files(shop, &job.number());
        if !kept.is_file() {
            continue;
        }
        let exercise = kept_in(&kept)?;
        let difficulty = exercise.difficulty.name().to_owned();
        let file = job.file(RECORD);
        let open = ["", ""].map(str::to_owned);
        let ([who, procedure], grade) = match file.is_file() {
            false => (open, "open: go on with it by --resume".to_owned()),
            true => {
                let record: Record = serde_json::from_str(&fs_err::read_to_string(&file)?)?;
                let grade = match graded_as(&record, &exercise, &job)? {
                    Graded::As(grade, _) => grade.told().to_owned(),
                    Graded::Unknown => "none: its procedure looks at no cylinder".to_owned(),
                    Graded::Refused(why) => format!("none: {why}"),
                };
                ([record.technician, record.procedure], grade)
            }
        };
        rows.push([job.number(), clean(&who), procedure, difficulty, grade]);
    }
    if rows.is_empty() {
        return Ok(NONE.to_owned());
    }
    let wide = |at: usize| rows.iter().map(|row| row[at].chars().count()).max();
    let wide: Vec<usize> = (0..4).map(|at| wide(at).unwrap_or(0)).collect();
    let line = |row: &[String; 5]| {
        let cells = row.iter().zip(&wide);
        let cells: Vec<String> = cells.map(|(cell, wide)| format!("{cell:wide$}")).collect();
        format!("{}  {}\n", cells.join("  "), row[4])
    };
    Ok(rows.iter().map(line).collect())
}
