//! One line of a roster: read strictly, written plainly. What is wrong with it is told at its place.

use chrono::{NaiveDate, NaiveDateTime};
use ssh_key::{Algorithm, PublicKey};

use super::{ROLES, Role};
use crate::record::moment;
use crate::text::one_of;

/// Words in a key's comment that say that it signs practice only.
pub const PRACTICE_MARK: &str = "evenfire practice key";

/// What is wrong with a line, and the part of it at whose beginning that is.
#[derive(Debug)]
pub(super) struct Slip<'t> {
    at: &'t str,
    pub(super) why: String,
}

impl<'t> Slip<'t> {
    pub(super) fn new(at: &'t str, why: impl Into<String>) -> Self {
        let why = why.into();
        Slip { at, why }
    }

    /// The column, from 1 and in characters, of the line that the part was taken from.
    pub(super) fn column(&self, line: &str) -> usize {
        let before = self.at.as_ptr().addr().wrapping_sub(line.as_ptr().addr());
        let before = line.get(..before).unwrap_or_default();
        before.chars().count() + 1
    }
}

/// One line of the roster.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Line in the file, from 1.
    pub line: usize,
    /// Who.
    pub identity: String,
    /// Namespaces that the key may sign in.
    pub namespaces: Vec<String>,
    /// From when, seconds since 1970.
    pub valid_after: Option<i64>,
    /// Until when, the second itself included as in OpenSSH.
    pub valid_before: Option<i64>,
    /// The key, with its comment.
    pub key: PublicKey,
}

impl Entry {
    /// Whether the key may sign in a role.
    #[must_use]
    pub fn has(&self, role: Role) -> bool {
        self.namespaces.iter().any(|own| own == role.namespace())
    }

    /// Namespaces of other programs, or of nobody: they let nobody sign a job.
    pub fn foreign(&self) -> impl Iterator<Item = &str> {
        let all = self.namespaces.iter().map(String::as_str);
        all.filter(|own| ROLES.iter().all(|role| role.namespace() != *own))
    }

    /// Whether the key signs practice only.
    #[must_use]
    pub fn is_practice(&self) -> bool {
        self.key.comment().contains(PRACTICE_MARK)
    }

    pub(in crate::record) fn valid_at(&self, second: i64) -> bool {
        self.valid_after.is_none_or(|after| after <= second) && !self.ended_before(second)
    }

    /// Why the key does not sign at a time: "ended 2026-03-31", the day that its line gives; none where it does.
    pub(in crate::record) fn hindered(&self, second: i64) -> Option<String> {
        let day = |second: i64| {
            let time = chrono::DateTime::from_timestamp(second, 0).unwrap_or_default();
            time.format("%Y-%m-%d").to_string()
        };
        match (self.valid_after, self.valid_before) {
            (_, Some(before)) if before < second => {
                Some(format!("ended {}{}", day(before), self.slip(second)))
            }
            (Some(after), _) if second < after => Some(format!("counts from {}", day(after))),
            _ => None,
        }
    }

    /// The last day on which the key counts, where it ends; UTC.
    #[must_use]
    pub fn last_day(&self) -> Option<NaiveDate> {
        let last = chrono::DateTime::from_timestamp(self.valid_before? - 1, 0)?;
        Some(last.date_naive())
    }

    /// When the key is valid, in words.
    pub(in crate::record) fn validity(&self) -> String {
        let shown = |second: i64| {
            let time = chrono::DateTime::from_timestamp(second, 0).unwrap_or_default();
            moment::text(time)
        };
        let from = self.valid_after.map(|s| format!("from {}", shown(s)));
        let until = self.valid_before.map(|s| format!("until {}", shown(s)));
        let bounds: Vec<String> = from.into_iter().chain(until).collect();
        bounds.join(" ")
    }

    /// How to mend a line that ends at the beginning of the very day, where its last day of work was meant; empty
    /// where that cannot be.
    pub(in crate::record) fn slip(&self, second: i64) -> String {
        const DAY: i64 = 24 * 60 * 60;
        let slipped = |before: &i64| before % DAY == 0 && (1..DAY).contains(&(second - before));
        let next = self.valid_before.filter(slipped).map(|before| before + DAY);
        let next = next.and_then(|next| chrono::DateTime::from_timestamp(next, 0));
        next.map_or_else(String::new, |next| {
            format!(
                " (valid-before names the first day that no longer counts; where that day was still worked, write \
                 {}Z)",
                next.format("%Y%m%d")
            )
        })
    }

    pub(in crate::record) fn ended_before(&self, second: i64) -> bool {
        self.valid_before.is_some_and(|before| before < second)
    }
}

/// Whether a name can be an identity: one word without characters that a roster gives a meaning.
#[must_use]
pub fn is_identity(name: &str) -> bool {
    !name.is_empty()
        && name
            .chars()
            .all(|c| c.is_alphanumeric() || "._@+-".contains(c))
        && !name.starts_with(['-', '.'])
}

/// The text of a line for a new roster.
#[must_use]
pub fn text(identity: &str, role: Role, key: &PublicKey) -> String {
    let fields = [key.algorithm().as_str().to_owned(), base64_of(key)];
    let comment = key.comment().trim();
    let space = if comment.is_empty() { "" } else { " " };
    format!(
        "{identity} namespaces=\"{}\" {}{space}{comment}\n",
        role.namespace(),
        fields.join(" ")
    )
}

/// What is wrong where a line holds more than one key, as after a missing end of line.
pub(super) const TWO_IN_ONE: &str = "two keys on one line, of which only the first would count (a line before had no end?); \
                                     begin each on a line of its own";

/// How kinds of keys begin (RFC 4253, RFC 5656, RFC 8709).
const KINDS: [&str; 4] = ["ssh-ed25519", "ssh-rsa", "ssh-dss", "ecdsa-sha2-"];

/// How every key's base64 begins, since each begins with the length of a short name, and how much of it a
/// comment would hardly have by chance; the latter is our own choice.
const BASE64_HEAD: (&str, usize) = ("AAAA", 20);

/// Refuse a key whose comment is another key or another person's line; `text` is what the key was read from.
pub(super) fn one_key<'t>(text: &'t str, key: &PublicKey) -> Result<(), Slip<'t>> {
    let comment = key.comment();
    let comment = &text[text.len() - comment.len().min(text.len())..];
    let is_key = |at: &usize| {
        let rest = comment[*at..].bytes();
        let base64 = |byte: &u8| byte.is_ascii_alphanumeric() || b"+/=".contains(byte);
        rest.take_while(base64).count() >= BASE64_HEAD.1
    };
    let all = |sign: &'static str| comment.match_indices(sign).map(|(at, _)| at);
    let others = KINDS.into_iter().chain(["namespaces="]).flat_map(all);
    match others.chain(all(BASE64_HEAD.0).filter(is_key)).min() {
        Some(at) => Err(Slip::new(&comment[at..], TWO_IN_ONE)),
        None => Ok(()),
    }
}

/// A key that begins in the middle of a remark's word. One with a space before it was put into the remark.
pub(super) fn glued_key(remark: &str) -> Option<&str> {
    let found = KINDS.iter().flat_map(|kind| remark.match_indices(kind));
    let glued = found.map(|(at, _)| at).filter(|at| {
        let before = &remark[..*at];
        !before.ends_with(|c: char| c.is_whitespace() || c == '#') && !before.ends_with("sk-")
    });
    glued.min().map(|at| &remark[at..])
}

fn base64_of(key: &PublicKey) -> String {
    let plain = PublicKey::from(key.key_data().clone()).to_string();
    plain.split(' ').nth(1).unwrap_or_default().to_owned()
}

/// The kind of key that is taken, as it stands before the key.
const TAKEN: &str = "ssh-ed25519 ";

/// The part of a line from its key on; all of it where that does not show.
pub(super) fn key_of(text: &str) -> &str {
    text.find(TAKEN).map_or(text, |at| &text[at..])
}

impl Entry {
    /// Read a line; the error says what is wrong with it.
    pub(super) fn parse(line: usize, text: &str) -> Result<Entry, Slip<'_>> {
        let (identity, rest) = text.split_once([' ', '\t']).ok_or_else(|| {
            Slip::new(
                text,
                "a line is: identity namespaces=\"…\" ssh-ed25519 KEY comment",
            )
        })?;
        if identity == TAKEN.trim_end() {
            let form = format!(
                "NAME namespaces=\"{}\" ssh-ed25519 …",
                Role::Technician.namespace()
            );
            return Err(Slip::new(
                text,
                format!("the name is missing before ssh-ed25519: {form}"),
            ));
        }
        if !is_identity(identity) {
            let form = "exactly one name of letters, digits and ._@+- (no list, pattern or quotes)";
            return Err(Slip::new(
                identity,
                format!("{identity:?} is no plain identity: {form}"),
            ));
        }
        let Some(at) = rest.find(TAKEN) else {
            let other = KINDS.iter().filter_map(|kind| rest.find(kind)).min();
            let why = "no ssh-ed25519 key; other kinds of key are not taken";
            return Err(Slip::new(&rest[other.unwrap_or_default()..], why));
        };
        let (options, text) = rest.split_at(at);
        if !options.is_empty() && !options.ends_with([' ', '\t']) {
            return Err(Slip::new(text, "a space is missing before ssh-ed25519"));
        }
        let key = PublicKey::from_openssh(text).map_err(|fault| {
            let why = "unreadable key, cut short perhaps: copy the whole line of the .pub file";
            Slip::new(&text[TAKEN.len()..], format!("{why} ({fault})"))
        })?;
        if key.algorithm() != Algorithm::Ed25519 {
            return Err(Slip::new(text, "the key is not ssh-ed25519"));
        }
        one_key(text, &key)?;
        let mut entry = Entry {
            line,
            identity: identity.to_owned(),
            namespaces: Vec::new(),
            valid_after: None,
            valid_before: None,
            key,
        };
        read_options(&mut entry, options.trim())?;
        if entry.namespaces.is_empty() {
            let why = "namespaces=\"…\" is missing: it says in which role the key signs";
            return Err(Slip::new(rest, why));
        }
        Ok(entry)
    }
}

fn read_options<'t>(entry: &mut Entry, options: &'t str) -> Result<(), Slip<'t>> {
    let mut rest = options;
    while !rest.is_empty() {
        let told = |why: String| Slip::new(rest, why);
        let (name, quoted) = rest.split_once("=\"").ok_or_else(|| told(unknown(rest)))?;
        let (value, after) = quoted
            .split_once('"')
            .ok_or_else(|| told(format!("{name}: the closing quote is missing")))?;
        match name {
            "namespaces" if entry.namespaces.is_empty() => entry.namespaces = namespaces(value)?,
            "valid-after" if entry.valid_after.is_none() => entry.valid_after = Some(time(value)?),
            "valid-before" if entry.valid_before.is_none() => {
                entry.valid_before = Some(time(value)?);
            }
            "namespaces" | "valid-after" | "valid-before" => {
                return Err(told(format!("{name} is given twice")));
            }
            _ => return Err(told(unknown(name))),
        }
        rest = match after.strip_prefix(',') {
            Some("") => return Err(Slip::new(after, "an option is missing after the comma")),
            Some(more) => more,
            None if after.is_empty() => after,
            None => {
                let why = format!("{after:?} after {name}: separate options by commas");
                return Err(Slip::new(after, why));
            }
        };
    }
    Ok(())
}

fn unknown(option: &str) -> String {
    if let Some(value) = option.strip_prefix("namespaces=") {
        let value = value.trim_matches(['"', '\'', '“', '”', '„']);
        return format!("quotes are missing: write namespaces=\"{value}\", with the quotes");
    }
    if option.contains([' ', '\t']) && !option.starts_with("valid-") {
        return format!(
            "{option:?} after the name: a name is one word, as first.last; options follow after one space"
        );
    }
    format!(
        "unknown option {option:?}; known are namespaces=\"…\", valid-after=\"…\", valid-before=\"…\""
    )
}

fn namespaces(value: &str) -> Result<Vec<String>, Slip<'_>> {
    let all = value.split(',');
    all.map(|name| namespace(name).map_err(|why| Slip::new(name, why)))
        .collect()
}

/// Other programs' namespaces may stand there too; one that is meant for us and is none of ours would let
/// nobody sign, and nothing would say so.
fn namespace(name: &str) -> Result<String, String> {
    if !is_identity(name) {
        return Err(format!("{name:?} is no plain namespace"));
    }
    let bare = name.strip_suffix("@evenfire");
    let meant = ROLES.iter().find(|role| {
        let own = bare.unwrap_or(name);
        own.eq_ignore_ascii_case(role.name())
    });
    match meant {
        Some(role) if role.namespace() != name => Err(format!(
            "role `{name}` is unknown: write {}",
            role.namespace()
        )),
        None if bare.is_some() => Err(format!(
            "role `{name}` is unknown: write {}",
            one_of(&ROLES.map(Role::namespace))
        )),
        _ => Ok(name.to_owned()),
    }
}

/// OpenSSH's times: YYYYMMDD, with or without HHMM or HHMMSS. Without Z they would mean another
/// moment on another computer.
fn time(value: &str) -> Result<i64, Slip<'_>> {
    let form = || {
        let why = format!("{value:?} is no time; write it in UTC as 20260131Z or 20260131235959Z");
        Slip::new(value, why)
    };
    let digits = value.strip_suffix('Z').ok_or_else(form)?;
    if !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return Err(form());
    }
    let moment = match digits.len() {
        8 => NaiveDate::parse_from_str(digits, "%Y%m%d")
            .ok()
            .and_then(|day| day.and_hms_opt(0, 0, 0)),
        12 => NaiveDateTime::parse_from_str(&format!("{digits}00"), "%Y%m%d%H%M%S").ok(),
        14 => NaiveDateTime::parse_from_str(digits, "%Y%m%d%H%M%S").ok(),
        _ => None,
    };
    moment.map(|m| m.and_utc().timestamp()).ok_or_else(form)
}
