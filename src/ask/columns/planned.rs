//! The signal that the job was planned for: Enter alone takes it, and another one is taken on a second word only.

use std::io;

use super::asking::{Asked, Choice};
use super::{AC, CLAMP, DC, KINDS, REFERENCE, TEETH, help, in_ampere};
use crate::advise::signals::Signal as Planned;
use crate::ask::keys::Keys;
use crate::run::keeper::{Heading, Signal, SignalTold};

/// The kind, of those that are asked for.
fn kind_of(planned: Planned) -> usize {
    match planned {
        Planned::Clamp => CLAMP,
        Planned::PostsAc | Planned::Connector => AC,
        Planned::PostsDc => DC,
        Planned::CrankSensor => TEETH,
    }
}

impl<K: Keys> Asked<'_, K> {
    /// What the job was planned for, and what proposals call it.
    fn planned(&self) -> Option<(usize, &'static str)> {
        let kind = kind_of(self.headings.planned?);
        Some((kind, KINDS[kind].1))
    }

    /// Whether that channel is the planned one; so is any where nothing was planned.
    pub(super) fn is_planned(&self, channel: &str) -> bool {
        self.planned().is_none_or(|(_, planned)| planned == channel)
    }

    /// The column that looks like the planned signal, else the first that looks like any.
    pub(super) fn usual_column(&self) -> Option<usize> {
        let like = |heading: &Heading| heading.looks_like.clone();
        let mut columns = self.headings.columns.iter().map(like);
        let planned = self.planned().and_then(|(_, planned)| {
            columns
                .clone()
                .position(|like| like.as_deref() == Some(planned))
        });
        planned.or_else(|| columns.position(|like| like.is_some_and(|like| like != REFERENCE)))
    }

    /// The planned kind, where the column's unit does not speak against it; where nothing was planned, what the column
    /// looks like.
    pub(super) fn usual_kind(&self, column: &Heading) -> Option<usize> {
        match self.planned() {
            Some((kind, _)) => Some(kind).filter(|kind| *kind == CLAMP || !in_ampere(column)),
            None => {
                let like = column.looks_like.as_deref();
                KINDS.iter().position(|(_, name)| Some(*name) == like)
            }
        }
    }

    /// The signal; one that the job was not planned for on a second word, or said anew. None where a colon leaves.
    pub(super) fn planned_signal(&mut self) -> io::Result<Option<Signal>> {
        loop {
            let Some(signal) = self.signal()? else {
                return Ok(None);
            };
            let kind = match signal.kind {
                SignalTold::Current(_) => CLAMP,
                SignalTold::Voltage(_) => AC,
                SignalTold::Teeth(_) => TEETH,
            };
            let (label, name) = KINDS[kind];
            match self.goes_on_with(label, name)? {
                None => return Ok(None),
                Some(true) => return Ok(Some(signal)),
                Some(false) => {}
            }
        }
    }

    /// Whether it is that channel after all, although the job was planned for another; none where a colon leaves.
    pub(super) fn goes_on_with(&mut self, label: &str, channel: &str) -> io::Result<Option<bool>> {
        let Some((planned, _)) = self.planned().filter(|_| !self.is_planned(channel)) else {
            return Ok(Some(true));
        };
        let told = |label: &str| label.split(',').next().unwrap_or(label).to_lowercase();
        let (planned, told) = (told(KINDS[planned].0), told(label));
        let labels = [
            format!("Yes, it is {told}"),
            "No: say anew what the columns hold".to_owned(),
        ];
        let chosen = self.choose(&Choice {
            asked: &format!("This job is for {planned}. Go on with {told}?"),
            help: help::OTHER,
            labels: &labels,
            usual: None,
        })?;
        Ok(chosen.map(|chosen| chosen == 0))
    }
}
