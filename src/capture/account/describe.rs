//! A capture looked at before it is used: what was understood, every column that holds numbers, and which
//! channel each may be.

use std::io::Read;

use serde::{Deserialize, Serialize};

use super::propose::{Proposal, propose};
use super::understood::{SCHEMA, Understood};
use crate::capture::ReadError;
use crate::capture::channels;
use crate::capture::recording::{Which, account, clamp_remarks, taken};
use crate::capture::setup::Setup;
use crate::capture::unit;

/// A capture, described.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Description {
    /// `evenfire.capture/1`.
    pub schema: String,
    /// What was understood.
    pub understood: Understood,
    /// Which channel each column may be.
    pub proposals: Vec<Proposal>,
}

/// Describe a capture, by its set-up where there is one. `file` names it in errors.
///
/// # Errors
/// Where it cannot be read, or is in doubt.
pub fn describe(
    input: impl Read + Send,
    file: &str,
    setup: Option<&Setup>,
) -> Result<Description, ReadError> {
    let taken = taken(input, file, setup, Which::All)?;
    let mut understood = taken.understood;
    let mut proposals = Vec::new();
    let time = taken.gathered.time;
    let columns = taken.gathered.columns.into_iter();
    for ((channel, mut values), span) in
        taken.channels.iter().zip(columns).zip(taken.gathered.spans)
    {
        let line = account(&taken.layout, channel, span);
        channels::scale(&mut values, channel, span, None);
        if let Some(setup) = setup {
            understood
                .remarks
                .extend(clamp_remarks(setup, channel, span));
        }
        let unit = line.unit.as_deref().and_then(unit::parse);
        let base = unit.map(|unit| unit.dimension.base());
        let proposal = propose(line.number, &line.heading, base, &time, &values);
        if let Some(looks) = &proposal.channel
            && !line.channels.is_empty()
            && !line.channels.contains(looks)
        {
            understood.remarks.push(format!(
                "column {:?} is {} in the set-up, and looks like {looks}: {}",
                line.heading,
                line.channels.join(" and "),
                proposal.because
            ));
        }
        proposals.push(proposal);
        understood.columns.push(line);
    }
    understood.columns.sort_by_key(|column| column.number);
    proposals.sort_by_key(|proposal| proposal.column);
    Ok(Description {
        schema: SCHEMA.to_owned(),
        understood,
        proposals,
    })
}
