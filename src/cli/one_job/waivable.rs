//! Which steps may be waived and by whom, as a run decides it.

use std::collections::BTreeMap;
use std::path::PathBuf;

use crate::cli::one_job::answering::layout;
use crate::procedure::model::{Library, Question};
use crate::procedure::rules::Rules;
use crate::procedure::waiving::{indispensable_in, who_by};
use crate::text::counted;

/// A step of a procedure that can be run, and whether it may be waived there.
pub(crate) struct Waivable {
    /// The procedure that is run.
    root: String,
    /// `procedure/step`, as the policy names it.
    step: String,
    may: May,
}

enum May {
    /// By whom, in words.
    By(String),
    /// Nothing is against it, and the policy names nobody.
    Unruled,
    /// Why not, as a clause.
    Never(String),
}

impl Waivable {
    /// As programs read it.
    pub(crate) fn as_json(&self) -> serde_json::Value {
        let (by, why_not) = match &self.may {
            May::By(who) => (Some(who.as_str()), None),
            May::Unruled => (None, Some("the shop's policy names nobody who may")),
            May::Never(why) => (None, Some(why.as_str())),
        };
        serde_json::json!({
            "procedure": self.root, "step": self.step, "by": by, "why_not": why_not,
        })
    }
}

/// Every step that asks somebody, in the procedures that can be run by themselves.
pub(crate) fn steps(libraries: &[(PathBuf, Library)], rules: &Rules) -> Vec<Waivable> {
    let mut all = Vec::new();
    for (file, library) in libraries {
        let root = file.file_stem().unwrap_or_default().to_string_lossy();
        let outermost = library.procedures.get(&*root);
        if outermost.is_none_or(|procedure| !procedure.takes.is_empty()) {
            continue;
        }
        for procedure in library.procedures.values() {
            let asking = procedure.steps.iter().filter(|step| {
                !matches!(
                    step.question,
                    Question::Compute { .. } | Question::Call { .. } | Question::Outcome { .. }
                )
            });
            for step in asking {
                let may = match indispensable_in(library, step) {
                    Some(why) => May::Never(why),
                    None => who_by(rules, &procedure.name, &step.id).map_or(May::Unruled, May::By),
                };
                all.push(Waivable {
                    root: root.to_string(),
                    step: format!("{}/{}", procedure.name, step.id),
                    may,
                });
            }
        }
    }
    all
}

/// The list for people.
pub(crate) fn told(steps: &[Waivable]) -> String {
    let mut by_root: BTreeMap<&str, Vec<&Waivable>> = BTreeMap::new();
    for step in steps {
        by_root.entry(&step.root).or_default().push(step);
    }
    let mut text = String::new();
    for (root, steps) in by_root {
        let mut may = Vec::new();
        let mut unruled = Vec::new();
        let mut never: BTreeMap<&str, usize> = BTreeMap::new();
        for step in steps {
            match &step.may {
                May::By(who) => may.push(format!("{} by {who}", step.step)),
                May::Unruled => unruled.push(step.step.as_str()),
                May::Never(why) => *never.entry(why).or_default() += 1,
            }
        }
        let or_none = |names: String| {
            if names.is_empty() {
                "none".to_owned()
            } else {
                names
            }
        };
        text += &format!("\nWaivers in a job of {root}\n");
        let mut say = |sentence: String| text += &layout().sentence(&sentence);
        say(format!("May be waived: {}.", or_none(may.join("; "))));
        say(format!(
            "Could be, where the shop's policy names who, as in `waivers: {{PROCEDURE/STEP: lead}}`: {}.",
            or_none(unruled.join(", "))
        ));
        say(
            "Never, whatever a policy says, and no condition as such (--format json names each step):"
                .to_owned(),
        );
        for (why, count) in never {
            say(format!("{}: {why}", counted(count, "step")));
        }
    }
    text
}
