//! The keys that answer a question, and what one of them brings about.

use super::Terminal;
use crate::ask::keys::Keys;
use crate::ask::layout::GAP;
use crate::run::screen::{Form, Screen};
use crate::text::list;

/// Keys that work at every question.
const ALWAYS: &str = "? why   b back   t note   f file   r record   p pause";

/// Joins them where the work can still be stopped: not once all goes back.
const STOP: &str = "   s stop";

/// The same where a line is typed.
const ALWAYS_TYPED: &str = ":? why   :b back   :t note   :f file   :r record   :p pause   :s stop";

/// Joins those keys where the starter is turned for a capture.
const CRANKED: &str = "   :c cranked, no capture";

/// Joins them where the file of a crank that was is asked for again.
const ANEW: &str = "   :n crank anew";

/// Joins the way to a waiver to those keys, where the shop's policy knows one.
const WAIVE: &str = "l lead waives";

impl<K: Keys> Terminal<K> {
    /// The keys that answer, after what an answer ends.
    pub(in crate::ask) fn prompt(&self, screen: &Screen) -> String {
        let by_key = self.by_key(&screen.form);
        let (yes, no) = if by_key { ("y", "n") } else { ("1", "2") };
        let bare = matches!(
            screen.form,
            Form::Confirm | Form::PutBack | Form::Trouble | Form::Choose(_)
        );
        let mut keys = match &screen.form {
            Form::Confirm if screen.closing => format!("{yes} yes   {no} no   {ALWAYS}"),
            Form::Confirm => format!("{yes} yes   {no} no   {ALWAYS}{STOP}"),
            Form::PutBack => format!("{yes} yes   {no} not yet   {ALWAYS}"),
            Form::Trouble => {
                format!("{yes} try again   b back   t note   r record   p pause   s stop")
            }
            Form::Choose(choices) => format!("1–{} choose   {ALWAYS}{STOP}", choices.len()),
            _ => ALWAYS_TYPED.to_owned(),
        };
        if screen.same_crank {
            keys += ANEW;
        }
        if screen.cranks() {
            keys += CRANKED;
        }
        if screen.waiver.is_ok() {
            keys += if bare { GAP } else { "   :" };
            keys += WAIVE;
        }
        let layout = self.layout();
        let ends = self.ends(screen).map(|text| layout.sentence(&text));
        format!("\n{}{}", ends.unwrap_or_default(), layout.keys(&keys))
    }

    /// What is said before an answer ends the job, which is not to be had back.
    fn ends(&self, screen: &Screen) -> Option<String> {
        let ends = screen.ends.as_ref()?;
        let by_key = self.by_key(&screen.form);
        let key = |answer: &str| match (&screen.form, answer) {
            (Form::Choose(choices), name) => {
                let at = choices.iter().position(|choice| choice.name == name);
                at.map_or_else(String::new, |at| (at + 1).to_string())
            }
            (_, "yes") => if by_key { "y" } else { "1" }.to_owned(),
            _ => if by_key { "n" } else { "2" }.to_owned(),
        };
        let each = ends.answers.iter().map(|(answer, kind)| {
            let key = key(answer);
            format!("{key} ends the job and seals it ({})", kind.words())
        });
        let each: Vec<String> = each.collect();
        let back = if ends.back { "b goes back, p" } else { "p" };
        let off = match ends.off.as_slice() {
            [] => String::new(),
            off => format!(
                "What was switched or taken off must be back: {}.\n",
                list(off)
            ),
        };
        Some(format!(
            "{off}{}. Nothing can be changed after that; {back} leaves the job open.",
            each.join("; ")
        ))
    }
}
