//! The shop by whose policy procedures are proved: named, or found upward from the working folder.

use std::collections::{BTreeMap, BTreeSet};
use std::ops::Bound::{Excluded, Unbounded};
use std::path::{Path, PathBuf};

use chrono::Utc;

use crate::cli::Failure;
use crate::cli::check::read_text;
use crate::procedure::Problem;
use crate::procedure::model::Position;
use crate::procedure::nearest::nearest;
use crate::procedure::rules::Rules;
use crate::record::error::RecordError;
use crate::record::shop::Shop;
use crate::record::shop::founding::is_alike;
use crate::record::shop::policy::Policy;
use crate::record::shop::roster::{ROLES, Role, Roster};

/// The policy and what is said of it, or what is wrong with it; none without a shop.
pub(crate) type Found = Result<Option<(Policy, String)>, Wrong>;

/// A policy that has to be put right.
pub(crate) struct Wrong {
    /// All that is wrong with it, or with the roster.
    pub(crate) problems: Vec<Problem>,
    /// What is said of it where only the roster is wrong, so that it judges all the same; else empty.
    pub(crate) judged: String,
    /// What has to be said with whatever it judged; empty where only the roster is wrong.
    pub(crate) without: &'static str,
    /// What it demands of procedures, as far as that can be read.
    pub(crate) rules: Rules,
}

const AS_FAR_AS_RIGHT: &str = "; judged by the shop's policy only as far as that is right";

/// The policy of the shop by which the files are proved, and what is said of it.
pub(crate) fn shop_policy(
    shop: Option<&Path>,
    files: &[PathBuf],
    texts: &mut BTreeMap<String, String>,
) -> Result<Found, Failure> {
    let root = crate::cli::one_job::which_job::wanted(shop)?;
    let Some(root) = root else {
        return Ok(Ok(None));
    };
    let file = Shop::policy_file(&root);
    let shown = file.display().to_string();
    if !file.is_file() {
        // says what is missing
        Shop::open(&root)?;
    }
    let text = match read_text(&file, &shown) {
        Ok(text) => text,
        Err(problem) => {
            return Ok(Err(Wrong {
                problems: vec![*problem],
                judged: String::new(),
                without: AS_FAR_AS_RIGHT,
                rules: Rules::default(),
            }));
        }
    };
    texts.insert(shown.clone(), text.clone());
    let (rules, read) = Policy::read_with_rules(&shown, &text);
    let (policy, mut problems) = match read {
        Ok(policy) => (Some(policy), Vec::new()),
        Err(problems) => (None, problems),
    };
    problems.extend(unknown_procedures(&root, files, &rules));
    let mut of_roster = Vec::new();
    let people = match Roster::proved(&root) {
        Ok(roster) => {
            problems.extend(unknown_leads(&roster, &rules));
            of_roster.extend(nobody_signs(&roster, texts));
            people(&roster) + &nobody_waives(&roster, &rules)
        }
        Err(faults) => {
            let faults = faults.iter();
            of_roster.extend(faults.map(|fault| faulty_roster(&root, fault, texts)));
            String::new()
        }
    };
    let policy = policy.filter(|_| problems.is_empty());
    let judged = policy.as_ref().map(|policy| {
        let shop = policy.shop.text();
        format!("Judged by the policy of {shop} ({shown}) as well.\n{people}")
    });
    problems.extend(of_roster);
    match (policy, judged) {
        (Some(policy), Some(told)) if problems.is_empty() => Ok(Ok(Some((policy, told)))),
        (policy, judged) => Ok(Err(Wrong {
            problems,
            judged: judged.unwrap_or_default(),
            without: policy.map_or(AS_FAR_AS_RIGHT, |_| ""),
            rules,
        })),
    }
}

/// Procedures that the policy names and neither the shop nor the command has.
fn unknown_procedures(root: &Path, files: &[PathBuf], rules: &Rules) -> Vec<Problem> {
    let before = rules
        .steps_before
        .iter()
        .map(|rule| (&rule.procedure, &rule.position));
    let waivers = rules
        .waivers
        .iter()
        .map(|rule| (&rule.procedure, &rule.position));
    let revisions = rules
        .revisions
        .iter()
        .map(|(name, least)| (name, &least.position));
    let known = |name: &str| {
        let given = files
            .iter()
            .any(|file| file.file_stem().is_some_and(|stem| stem == name));
        given
            || root
                .join("procedures")
                .join(format!("{name}.yaml"))
                .is_file()
    };
    let unknown = before
        .chain(waivers)
        .chain(revisions)
        .filter(|(name, _)| !known(name));
    unknown
        .map(|(name, position)| {
            Problem::new(
                position,
                format!("the shop has no procedure `{name}`"),
                "A rule about a procedure that is not there protects nobody.",
                "Correct the name, or put the procedure into the shop.",
            )
        })
        .collect()
}

/// What keeps the roster or the list of revoked keys from being read.
fn faulty_roster(
    root: &Path,
    fault: &RecordError,
    texts: &mut BTreeMap<String, String>,
) -> Problem {
    let (file, line, column, message) = match fault {
        RecordError::Text {
            file,
            line,
            column,
            message,
        } => (file.clone(), *line, *column, message.clone()),
        other => (root.to_owned(), 1, 1, other.to_string()),
    };
    let shown = file.display().to_string();
    let remedy = if let Ok(text) = read_text(&file, &shown) {
        texts.insert(shown.clone(), text);
        "Correct that line as it says; the README shows how one looks."
    } else {
        "Put the file right, and whoever uses the shop must be able to read it."
    };
    let position = Position {
        file: shown,
        line,
        column,
    };
    let why = "Until it can be read nobody can sign, and no job can be verified.";
    Problem::new(&position, message, why, remedy)
}

/// Who is in the roster, as what, and what in it means nothing.
fn people(roster: &Roster) -> String {
    let now = Utc::now();
    let mut names: Vec<&str> = Vec::new();
    for entry in roster.entries() {
        if !names.contains(&entry.identity.as_str()) {
            names.push(&entry.identity);
        }
    }
    let one = |name: &str| {
        let roles = ROLES.iter().filter(|role| roster.has(name, **role));
        let roles: Vec<String> = roles
            .map(|role| match roster.hindrance(name, *role, now) {
                Some(why) => format!("{} ({why})", role.name()),
                None => format!("{}{}", role.name(), keys(roster, name, *role)),
            })
            .collect();
        match roles.as_slice() {
            [] => format!("{name} without a role"),
            _ => format!("{name} {}", roles.join(" and ")),
        }
    };
    let list: Vec<String> = names.into_iter().map(one).collect();
    let mut told = match list.as_slice() {
        [] => "Roster: nobody.\n".to_owned(),
        _ => format!("Roster: {}.\n", list.join("; ")),
    };
    for (one, other) in alike(roster) {
        told += &format!(
            "Remark: {one} and {other} differ in capitals only: if they are one person, nobody accepts their own work; if \
             they are two, give one another name.\n"
        );
    }
    for key in roster.revoked_of_nobody() {
        told += &format!(
            "Remark: the revoked key {key} is nobody's in the roster: hold it against the .pub file that was meant; \
             whoever has left keeps the line.\n"
        );
    }
    for entry in roster.entries() {
        for foreign in entry.foreign() {
            told += &format!(
                "Remark: {}:{}: namespace `{foreign}` gives {} no role here; {}\n",
                roster.file().display(),
                entry.line,
                entry.identity,
                match nearest_role(foreign) {
                    Some(meant) => format!("did you mean `{meant}`?"),
                    None => format!("roles are {}.", ROLES.map(Role::namespace).join(" and ")),
                }
            );
        }
    }
    told
}

/// Names in the roster that differ in capitals only, each pair once.
fn alike(roster: &Roster) -> BTreeSet<(&str, &str)> {
    let names: BTreeSet<&str> = roster
        .entries()
        .iter()
        .map(|entry| entry.identity.as_str())
        .collect();
    let pairs = names.iter().flat_map(|one| {
        names
            .range::<str, _>((Excluded(*one), Unbounded))
            .map(|other| (*one, *other))
    });
    pairs.filter(|(one, other)| is_alike(one, other)).collect()
}

/// That nobody can sign as technician now: no job could be begun.
fn nobody_signs(roster: &Roster, texts: &mut BTreeMap<String, String>) -> Option<Problem> {
    let (now, role) = (Utc::now(), Role::Technician);
    if !roster.signers(role, now).is_empty() {
        return None;
    }
    let entries = roster.entries().iter();
    let why: BTreeSet<String> = entries
        .clone()
        .filter_map(|entry| roster.hindrance(&entry.identity, role, now))
        .collect();
    let slips = entries.flat_map(|entry| entry.foreign().map(|own| (entry.line, own)));
    let mut slip = slips.filter_map(|(line, own)| Some((line, own, nearest_role(own)?)));
    let slip = slip.find(|(.., meant)| *meant == role.namespace());
    let shown = roster.file().display().to_string();
    if let Ok(text) = read_text(roster.file(), &shown) {
        texts.insert(shown.clone(), text);
    }
    let position = Position {
        file: shown,
        line: slip.map_or(1, |(line, ..)| line),
        column: 1,
    };
    let because = match why.is_empty() {
        true => String::new(),
        false => format!(": {}", why.into_iter().collect::<Vec<_>>().join("; ")),
    };
    let remedy = match slip {
        Some((_, own, meant)) => format!("Write {meant} where it says {own}."),
        None => "Write a line for whoever does the work, with a key that counts today; the README shows how one looks."
            .to_owned(),
    };
    let message = format!("nobody can sign as technician now{because}");
    let why = "No job can be begun that nobody could sign.";
    Some(Problem::new(&position, message, why, remedy))
}

/// That what may be waived by the policy can be waived by nobody now.
fn nobody_waives(roster: &Roster, rules: &Rules) -> String {
    let Some(first) = rules.waivers.first() else {
        return String::new();
    };
    if !roster.signers(Role::Lead, Utc::now()).is_empty() {
        return String::new();
    }
    format!(
        "Remark: {}:{}: a lead waives what stands under `waivers`, and nobody can sign as lead now, so nothing can be \
         waived: write a lead into the roster, or take the lines out.\n",
        first.position.file, first.position.line
    )
}

/// The namespace of a role that was probably meant.
fn nearest_role(namespace: &str) -> Option<&'static str> {
    nearest(namespace, ROLES.map(Role::namespace))
}

/// What is to be known of the keys with which somebody signs in a role: until when, and how many are revoked.
fn keys(roster: &Roster, name: &str, role: Role) -> String {
    let own = roster.entries().iter();
    let own: Vec<_> = own
        .filter(|entry| entry.identity == name && entry.has(role))
        .collect();
    let revoked = own.iter().filter(|entry| roster.has_revoked(entry)).count();
    let good = own.iter().filter(|entry| !roster.has_revoked(entry));
    // one that does not end is the last
    let ends: Option<Vec<_>> = good.map(|entry| entry.last_day()).collect();
    let mut told = Vec::new();
    if let Some(last) = ends.and_then(|days| days.into_iter().max()) {
        told.push(format!("until {last}"));
    }
    if revoked > 0 {
        told.push(format!("{revoked} of {} keys revoked", own.len()));
    }
    match told.as_slice() {
        [] => String::new(),
        _ => format!(" ({})", told.join(", ")),
    }
}

/// People who may waive something by the policy and are no leads by the roster.
fn unknown_leads(roster: &Roster, rules: &Rules) -> Vec<Problem> {
    let who = rules.waivers.iter().flat_map(|waiving| &waiving.who);
    who.filter(|who| who.name != "lead" && !roster.has(&who.name, Role::Lead))
        .map(|who| {
            Problem::new(
                &who.position,
                format!("`{}` is no lead in the roster", who.name),
                "A waiver counts only if a lead signs it.",
                "Name `lead`, for any lead, or a lead of the roster.",
            )
        })
        .collect()
}
