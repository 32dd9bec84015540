//! A denial goes the scenario's own way up to the statement that is denied. So a play is parted there: the player is kept
//! as it stands when the statement is asked for the first time, and goes on from the no, not from the beginning.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::play::{Played, Player};
use crate::run::Input;
use crate::run::walk::Walk;

/// A play that stands at a statement which is asked for the first time.
#[derive(Clone)]
pub(super) struct Parted<'p> {
    statement: String,
    player: Player<'p>,
}

impl<'p> Player<'p> {
    /// Keep the play as it stands at a statement, where denials are wanted and no other play has met it.
    pub(super) fn part(&mut self, statement: &str) {
        let Some(met) = &self.met else { return };
        if met.contains(statement) {
            return;
        }
        let before = std::mem::take(&mut self.parted);
        let player = self.clone();
        self.parted = before;
        self.parted.push(Parted {
            statement: statement.to_owned(),
            player,
        });
    }

    /// Play to the end; parted at the statements that are not among those `met`, at none without a list.
    pub(super) fn ended(mut self, met: Option<Arc<BTreeSet<String>>>) -> (Played, Vec<Parted<'p>>) {
        self.met = met;
        self.play();
        self.finished()
    }

    fn finished(mut self) -> (Played, Vec<Parted<'p>>) {
        self.judge();
        self.played.made.extend(self.visits.into_keys());
        (self.played, self.parted)
    }
}

impl<'p> Parted<'p> {
    /// The statement that is asked.
    pub(super) fn statement(&self) -> &str {
        &self.statement
    }

    /// Deny the statement and play to the end: the statements that were denied, and how it went.
    pub(super) fn denied(
        self,
        met: Arc<BTreeSet<String>>,
    ) -> (Vec<String>, Played, Vec<Parted<'p>>) {
        let mut player = self.player;
        player.met = Some(met);
        player.denied.push(self.statement.clone());
        // the player stands at a statement that it was asked for, so its events lead there
        let no = Input::Confirm(false);
        if let Ok(walk) = Walk::through(player.library, &player.state)
            && player.put(&walk, None, &self.statement, no)
        {
            player.play();
        }
        let denied = player.denied.clone();
        let (played, parted) = player.finished();
        (denied, played, parted)
    }
}
