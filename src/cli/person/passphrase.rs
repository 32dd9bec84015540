//! Where passphrases come from: a file descriptor, SSH_ASKPASS, or the terminal. Never the command
//! line, which others can see and shells keep.

use std::ffi::{OsStr, OsString};
use std::io::{IsTerminal, Read};
use std::process::{Command, Stdio};

use clap::Args;
use ssh_key::PrivateKey;

use crate::cli::one_job::interrupt::Watch;
use crate::cli::warn;
use crate::record::error::RecordError;
use crate::record::signing::key::{KeyFault, Locked};

/// Longest passphrase, bytes; our own choice.
const LONGEST: usize = 1024;

/// Fewest characters of a new key's passphrase. Whoever copies the key file can try passphrases as fast as a
/// machine goes. Common practice; NIST SP 800-63B asks for 8 at least and recommends 15 (from memory).
const FEWEST: usize = 12;

/// How often something is asked for at a terminal that cannot be right; our own choice.
pub(crate) const TRIES: u32 = 3;

/// What is said where a new key would have none.
const NEEDED: &str = "the passphrase is empty; keys without one are for practice (--practice-keys)";

#[derive(Debug, Args)]
pub(crate) struct PassphraseArguments {
    /// Read passphrases from this file descriptor, one a line
    #[arg(long, value_name = "N")]
    passphrase_fd: Option<u32>,
}

/// Gives passphrases one after another.
pub(crate) struct Passphrases {
    descriptor: Option<(u32, Option<std::fs::File>)>,
}

impl Passphrases {
    pub(crate) fn new(arguments: &PassphraseArguments) -> Passphrases {
        Passphrases {
            descriptor: arguments.passphrase_fd.map(|number| (number, None)),
        }
    }

    /// From whoever is there: no descriptor.
    pub(crate) fn of_person() -> Passphrases {
        Passphrases { descriptor: None }
    }

    /// Open a key. A passphrase that was mistyped at the terminal is asked for again there: whoever was sent
    /// back to another question would type it where it is shown.
    pub(crate) fn open(&mut self, key: &Locked, prompt: &str) -> Result<PrivateKey, RecordError> {
        let mut left = if self.descriptor.is_none() && askpass().is_none() {
            TRIES
        } else {
            1
        };
        loop {
            left -= 1;
            match key.open(&mut || self.ask(prompt)) {
                Err(RecordError::Key(KeyFault::WrongPassphrase { .. })) if left > 0 => {
                    warn("This is not its passphrase; type it again (Enter: leave it).\n");
                }
                opened => return opened,
            }
        }
    }

    /// The passphrase of a key that there is; the error says why there is none.
    fn ask(&mut self, prompt: &str) -> Result<String, String> {
        self.get(prompt, false)
    }

    /// A passphrase for a new key; at a terminal it is typed twice.
    pub(crate) fn choose(&mut self, prompt: &str) -> Result<String, String> {
        let prompt = format!("{prompt}, {FEWEST} characters or more");
        let chosen = self.get(&prompt, true)?;
        long_enough(&chosen)?;
        Ok(chosen)
    }

    fn get(&mut self, prompt: &str, twice: bool) -> Result<String, String> {
        if let Some((number, open)) = &mut self.descriptor {
            return line_of(*number, open);
        }
        match askpass() {
            Some(program) => asked_of(&program, prompt),
            None if is_terminal() => typed(prompt, twice),
            None => Err(
                "there is no terminal to ask for it at; use --passphrase-fd or SSH_ASKPASS".into(),
            ),
        }
    }
}

fn is_terminal() -> bool {
    std::io::stdin().is_terminal() && std::io::stderr().is_terminal()
}

/// The program that asks in place of the terminal, as OpenSSH's own commands choose it.
fn askpass() -> Option<OsString> {
    let required = std::env::var("SSH_ASKPASS_REQUIRE").unwrap_or_default();
    let preferred = matches!(required.as_str(), "force" | "prefer");
    std::env::var_os("SSH_ASKPASS").filter(|_| required != "never" && (preferred || !is_terminal()))
}

fn line_of(number: u32, open: &mut Option<std::fs::File>) -> Result<String, String> {
    let failed =
        |error: std::io::Error| format!("file descriptor {number} cannot be read: {error}");
    if open.is_none() {
        *open = Some(std::fs::File::open(format!("/dev/fd/{number}")).map_err(failed)?);
    }
    let Some(file) = open else {
        return Err(format!("file descriptor {number} is not open"));
    };
    let mut line = Vec::new();
    let mut byte = [0];
    // Byte by byte, so that what follows the line stays for the next key.
    while file.read(&mut byte).map_err(failed)? == 1 {
        match byte[0] {
            b'\n' => return text(line),
            byte if line.len() < LONGEST => line.push(byte),
            _ => return Err(format!("the passphrase is longer than {LONGEST} bytes")),
        }
    }
    if line.is_empty() {
        return Err(format!("file descriptor {number} holds no further line"));
    }
    text(line)
}

fn asked_of(program: &OsStr, prompt: &str) -> Result<String, String> {
    let name = program.to_string_lossy();
    let answered = Command::new(program)
        .arg(prompt)
        .stdin(Stdio::null())
        .stderr(Stdio::inherit())
        .output()
        .map_err(|error| format!("SSH_ASKPASS ({name}) cannot be run: {error}"))?;
    if !answered.status.success() {
        return Err(format!("SSH_ASKPASS ({name}) gave none"));
    }
    let answer = text(answered.stdout)?;
    Ok(answer.trim_end_matches(['\n', '\r']).to_owned())
}

/// Whether a new key's passphrase holds up; keys that are there already keep theirs.
fn long_enough(passphrase: &str) -> Result<(), String> {
    match passphrase.chars().count() {
        FEWEST.. => Ok(()),
        0 => Err(NEEDED.to_owned()),
        count => Err(format!(
            "the passphrase has {count} characters; take {FEWEST} or more, such as a few words: a machine guesses \
             short ones from a copy of the key file"
        )),
    }
}

fn typed(prompt: &str, twice: bool) -> Result<String, String> {
    let mut question = dialoguer::Password::new()
        .with_prompt(prompt)
        .allow_empty_password(true);
    if twice {
        question = question
            .validate_with(|typed: &String| long_enough(typed))
            .with_confirmation("The same again", "The two differ");
    }
    // a terminal that does not show what is typed must be put right again, and whoever left knows where they stand
    let left = if twice {
        "Nothing was made."
    } else {
        "Nothing was signed."
    };
    let watch = Watch::begin(left.to_owned()).map_err(|why| why.to_string())?;
    let typed = question.interact();
    watch.over();
    let typed = typed.map_err(|error| format!("none was typed: {error}"))?;
    match typed.as_str() {
        "" => Err("nothing was typed".into()),
        _ => Ok(typed),
    }
}

fn text(bytes: Vec<u8>) -> Result<String, String> {
    String::from_utf8(bytes).map_err(|_| "the passphrase is not text".into())
}
