//! Screens as lines of text, wrapped. Nothing here is said by colour alone: colour only repeats what
//! the words say.

use dialoguer::console::{Style, measure_text_width};

use crate::ask::hints::hint;
use crate::procedure::computation::Computation;
use crate::procedure::model::{OutcomeKind, SignalWord};
use crate::run::asker::Told;
use crate::run::compute::Computed;
use crate::run::event::Event;
use crate::run::screen::{Form, Screen};
use crate::text::wrap;

/// Narrowest and widest text, columns. Lines beyond 80 are hard to read from a bench away.
const NARROWEST: usize = 60;
const WIDEST: usize = 80;

/// Indentation of what is to be read before the question.
const INDENT: &str = "  ";

/// What stands between the keys that answer.
pub(super) const GAP: &str = "   ";

/// The colour of a warning (ANSI Z535.1) among a terminal's 256.
const ORANGE: u8 = 208;

/// How screens are laid out.
#[derive(Debug, Clone, Copy)]
pub struct Layout {
    width: usize,
    colour: bool,
}

/// How a computed result is shown: handed in, because a table of it belongs to another room.
pub type ShowResult = Box<dyn Fn(&Computed) -> Option<String>>;

impl Layout {
    /// For a terminal of that many columns.
    #[must_use]
    pub fn new(columns: usize, colour: bool) -> Self {
        Layout {
            width: columns.clamp(NARROWEST, WIDEST),
            colour,
        }
    }

    /// The heading, hazards and action of a screen, then the question; without what answers it.
    #[must_use]
    pub fn screen(self, screen: &Screen) -> String {
        let mut out = String::from("\n");
        out.push_str(&self.heading(screen));
        if let Some(condition) = &screen.again_for {
            out.push('\n');
            let text = format!(
                "Once more before the step that is due, because this may have changed since: {condition}."
            );
            self.paragraph(&mut out, INDENT, INDENT, &text);
        }
        for hazard in &screen.hazards {
            out.push('\n');
            let word = hazard.word.text();
            let first = format!("{INDENT}{}  ", self.signal(hazard.word));
            let rest = " ".repeat(INDENT.len() + word.len() + 2);
            self.paragraph(&mut out, &first, &rest, &hazard.text);
        }
        if let Some(action) = &screen.action {
            out.push('\n');
            self.paragraph(&mut out, INDENT, INDENT, action);
        }
        out.push('\n');
        self.paragraph(&mut out, "", "", &screen.asked);
        if let Form::Choose(choices) = &screen.form {
            for (number, choice) in (1..).zip(choices) {
                let first = format!("{INDENT}{number:>2}  ");
                self.paragraph(&mut out, &first, "      ", &choice.label);
            }
        }
        if let Some(hint) = screen.hint.clone().or_else(|| hint(&screen.form)) {
            self.paragraph(&mut out, INDENT, INDENT, &hint);
        }
        out + &self.was(screen)
    }

    /// What was typed at a question before, and what an empty line does now; said anew with every refusal, or it
    /// would pass for what was typed last. Nothing where nothing was.
    pub(super) fn was(self, screen: &Screen) -> String {
        let Some(was) = &screen.was else {
            return String::new();
        };
        let then = match was.keeps {
            true => "Enter alone keeps it",
            false => "type what is so now",
        };
        self.sentence(&format!("was {}; {then}", was.text))
    }

    /// Why a step is there, what good looks like, what goes wrong.
    #[must_use]
    pub fn explained(self, screen: &Screen) -> String {
        let mut out = String::from("\n");
        let parts = [
            ("Why", &screen.why),
            ("Good looks like", &screen.good),
            ("Common mistakes", &screen.mistakes),
        ];
        let mut said = false;
        for (name, text) in parts {
            if let Some(text) = text {
                self.paragraph(&mut out, &format!("{INDENT}{name}: "), "    ", text);
                said = true;
            }
        }
        if !said {
            self.paragraph(
                &mut out,
                INDENT,
                INDENT,
                "The procedure says nothing more here.",
            );
        }
        out
    }

    /// The record so far: what was asked and answered, what is not as it was on the vehicle.
    #[must_use]
    pub fn so_far(self, screen: &Screen) -> String {
        let mut out = String::from("\n");
        if screen.so_far.is_empty() {
            self.paragraph(&mut out, INDENT, INDENT, "Nothing is answered yet.");
        }
        for (number, said) in (1..).zip(&screen.so_far) {
            let text = format!("{number}. {} → {}", said.asked, said.answered);
            self.paragraph(&mut out, INDENT, "      ", &text);
        }
        if screen.so_far.len() > 1 {
            let back =
                "b goes back to the question before; :b with a number, as in :b 1, to that step.";
            self.paragraph(&mut out, INDENT, INDENT, back);
        }
        self.disabled(&mut out, &screen.disabled);
        out
    }

    /// What is not as it was on the vehicle; nothing where all is.
    pub fn disabled(self, out: &mut String, disabled: &[String]) {
        if disabled.is_empty() {
            return;
        }
        out.push('\n');
        let told = "Not as it was on the vehicle, to be put back before it leaves:";
        self.paragraph(out, INDENT, INDENT, told);
        for text in disabled {
            self.paragraph(out, INDENT, "      ", &format!("- {text}"));
        }
    }

    /// What no longer counts after a break; nothing where all does.
    pub fn lapsed(self, out: &mut String, lapsed: &[&str]) {
        if lapsed.is_empty() {
            return;
        }
        out.push('\n');
        let told = "May have changed in the break, so it is asked again before work that needs it:";
        self.paragraph(out, INDENT, INDENT, told);
        for condition in lapsed {
            self.paragraph(out, INDENT, "      ", &format!("- {condition}"));
        }
    }

    /// Why a reply was not taken. Reasons come as clauses, to be joined to others; alone on the screen one
    /// begins with a capital letter and ends with a full stop. A name or path at its beginning stays as it is.
    #[must_use]
    pub fn refusal(self, why: &str) -> String {
        self.sentence(&whole(why))
    }

    /// A sentence for the person.
    #[must_use]
    pub fn sentence(self, text: &str) -> String {
        let mut out = String::new();
        self.paragraph(&mut out, INDENT, INDENT, text);
        out
    }

    /// The keys that answer, each with its word, `GAP` between them; a key is never parted from its word.
    #[must_use]
    pub fn keys(self, keys: &str) -> String {
        let mut out = String::new();
        let mut line = String::new();
        for key in keys.split(GAP) {
            let gap = if line.is_empty() { INDENT } else { GAP };
            let width = measure_text_width(&line) + gap.len() + measure_text_width(key);
            if !line.is_empty() && width > self.width {
                out.push_str(&line);
                out.push('\n');
                line = INDENT.to_owned();
            } else {
                line.push_str(gap);
            }
            line.push_str(key);
        }
        out.push_str(&line);
        out.push('\n');
        out
    }

    /// What needs no reply.
    #[must_use]
    pub fn told(self, told: &Told<'_>, show: &ShowResult) -> String {
        let mut out = String::from("\n");
        match told {
            Told::Reading => out.clear(),
            Told::Said(what) => {
                out.clear();
                self.paragraph(&mut out, INDENT, INDENT, what);
            }
            Told::Understood(lines) => {
                self.paragraph(&mut out, INDENT, INDENT, "The capture was read so:");
                for line in *lines {
                    self.paragraph(&mut out, "    ", "      ", line);
                }
            }
            // all others are done before they are read of
            Told::Computing(what) if *what == Computation::RelativeCompression.name() => {
                self.paragraph(&mut out, INDENT, INDENT, &format!("Computing: {what} …"))
            }
            Told::Computing(_) => out.clear(),
            Told::Computed {
                computation,
                computed,
                ..
            } => match show(computed) {
                Some(text) => out.push_str(&text),
                None => self.computed(&mut out, computation, computed),
            },
            Told::Returned(returned) => {
                // the job goes on: neither its verdict nor the end of anything but a part
                let word = match returned.kind {
                    OutcomeKind::NotDone => "This part was left",
                    _ => "This part is done",
                };
                let told = format!("{word}: {}", returned.finding);
                self.paragraph(&mut out, "", "", &told);
                if let Some(advice) = &returned.advice {
                    self.paragraph(&mut out, "", "", &format!("For later: {advice}"));
                }
            }
            Told::Concluded {
                event: Event::Concluded {
                    finding, advice, ..
                },
                found,
            } => self.ending(&mut out, found, finding, advice.as_deref()),
            Told::Concluded { .. } => {}
        }
        out
    }

    /// What was computed, where no table shows it.
    fn computed(self, out: &mut String, computation: &str, computed: &Computed) {
        let mut facts = computed.facts.iter();
        if let (Some((_, fact)), None) = (facts.next(), facts.next()) {
            let told = capitalised(&format!("{computation}: {fact}"));
            self.paragraph(out, INDENT, "      ", &told);
            return;
        }
        self.paragraph(out, "", "", &format!("Computed: {computation}"));
        for (name, fact) in &computed.facts {
            self.paragraph(out, INDENT, "      ", &format!("{name}: {fact}"));
        }
    }

    fn ending(self, out: &mut String, found: &str, finding: &str, advice: Option<&str>) {
        self.paragraph(out, "", "", &format!("{found}: {finding}"));
        if let Some(advice) = advice {
            self.paragraph(out, "", "", &format!("Next: {advice}"));
        }
    }

    fn heading(self, screen: &Screen) -> String {
        let phase = capitalised(&screen.phase);
        let mut left = phase;
        if screen.number > 0 {
            left += &format!(" · step {}", screen.number);
            if screen.again {
                left += ", asked again";
            }
        }
        if let Some((time, most)) = screen.time {
            left += &format!(", time {time} of at most {most}");
        }
        let mark = if screen.practice { "practice, " } else { "" };
        let right = format!("{mark}job {}", screen.job);
        let used = measure_text_width(&left) + measure_text_width(&right);
        if used >= self.width {
            let left = self.styled(&left, Style::new().bold());
            return format!("{left}\n{right}\n");
        }
        let gap = " ".repeat(self.width - used);
        format!("{}{gap}{right}\n", self.styled(&left, Style::new().bold()))
    }

    fn signal(self, word: SignalWord) -> String {
        let style = Style::new().bold();
        let style = match word {
            SignalWord::Danger => style.white().on_red(),
            // orange is none of a terminal's eight colours
            SignalWord::Warning if has_orange() => style.black().on_color256(ORANGE),
            SignalWord::Warning => style,
            SignalWord::Caution => style.black().on_yellow(),
            SignalWord::Notice => style.blue(),
        };
        self.styled(word.text(), style)
    }

    fn styled(self, text: &str, style: Style) -> String {
        if self.colour {
            style.force_styling(true).apply_to(text).to_string()
        } else {
            text.to_owned()
        }
    }

    /// A text after `first`, its further lines after `rest`; line ends in it are kept.
    fn paragraph(self, out: &mut String, first: &str, rest: &str, text: &str) {
        let mut lead = first;
        for part in text.trim_end().split('\n') {
            // stands for the lead, whose colours have no width
            let room = "x".repeat(measure_text_width(lead).saturating_sub(1));
            let lines = wrap(&format!("{room} {part}"), self.width, rest.len());
            let lines = lines.strip_prefix(&room).unwrap_or(&lines);
            let line = format!("{lead}{}", lines.strip_prefix(' ').unwrap_or(lines));
            out.push_str(line.trim_end());
            out.push('\n');
            lead = rest;
        }
    }
}

/// Whether the terminal knows more than eight colours, as it says of itself.
fn has_orange() -> bool {
    let says = |name: &str| std::env::var(name).unwrap_or_default();
    says("TERM").contains("256color") || !says("COLORTERM").is_empty()
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// A clause as a whole sentence.
pub(crate) fn whole(text: &str) -> String {
    let text = text.trim_end();
    let first = text.split_whitespace().next().unwrap_or_default();
    let is_word = first.chars().all(char::is_alphabetic);
    let mut letters = text.chars();
    let begun = match letters.next() {
        Some(letter) if is_word => letter.to_uppercase().chain(letters).collect(),
        _ => text.to_owned(),
    };
    if begun.is_empty() || begun.ends_with(['.', '!', '?', ':']) {
        begun
    } else {
        begun + "."
    }
}
