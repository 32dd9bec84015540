//! Who does the work: named, the only one who could, or asked for.

use chrono::{DateTime, Utc};

use crate::cli::Failure;
use crate::cli::person::Person;
use crate::record::shop::roster::{Role, Roster};

/// Who does the work at a time: the named one, the only one who could, or whoever the person says; `asks`
/// is whether there may be a person to ask.
pub(crate) fn technician(
    roster: &Roster,
    named: Option<&str>,
    at: DateTime<Utc>,
    asks: bool,
) -> Result<String, Failure> {
    let all: Vec<&str> = roster.signers(Role::Technician, at).into_iter().collect();
    let why = match (named, all.as_slice()) {
        (Some(name), _) if all.contains(&name) => return Ok(name.to_owned()),
        (Some(name), _) if roster.hindrance(name, Role::Technician, at).is_some() => {
            let why = roster.hindrance(name, Role::Technician, at);
            format!(
                "{}; what {name} does now could not be signed",
                why.unwrap_or_default()
            )
        }
        (_, []) => {
            "nobody in it signs as technician now; add a line for whoever does the work".into()
        }
        (None, [only]) => return Ok((*only).to_owned()),
        (None, several) => match Person::there("nothing was begun").filter(|_| asks) {
            Some(mut person) => {
                let who = person.one_of("Who does the work?", several)?;
                return Ok(several[who].to_owned());
            }
            None => format!(
                "several sign as technician; say who you are with --technician: {}",
                several.join(", ")
            ),
        },
        (Some(name), there) => format!(
            "{name} does not sign as technician; there are {}",
            there.join(", ")
        ),
    };
    Err(format!("{}: {why}", roster.file().display()).into())
}
