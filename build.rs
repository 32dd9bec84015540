//! What the program is told of its sources: the files that it carries inside, so that it needs no folder beside
//! it, and the commit it is built from, as `evenfire --version` and every record say it.

use std::fmt::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What the name of a commit is cut to.
const LETTERS: usize = 12;

/// What is carried inside: a list's name, its folder, the endings of its files.
const CARRIED: [(&str, &str, &[&str]); 2] = [
    ("PROCEDURES", "procedures", &["yaml", "md"]),
    ("SAMPLES", "sample-captures", &["yaml", "csv"]),
];

fn main() -> std::io::Result<()> {
    println!("cargo::rerun-if-changed=build.rs");
    name_commit();
    let mut lists = String::new();
    for (name, folder, endings) in CARRIED {
        println!("cargo::rerun-if-changed={folder}");
        list(&mut lists, name, folder, endings)?;
    }
    let out = std::env::var_os("OUT_DIR")
        .map(PathBuf::from)
        .unwrap_or_default();
    std::fs::write(out.join("shipped.rs"), lists)
}

/// A constant that holds each file of a folder and the folders in it: its path from there, and its text.
fn list(text: &mut String, name: &str, folder: &str, endings: &[&str]) -> std::io::Result<()> {
    let mut files = Vec::new();
    let mut folders = vec![PathBuf::from(folder)];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder)? {
            let path = entry?.path();
            if path.is_dir() {
                folders.push(path);
            } else if path
                .extension()
                .is_some_and(|e| endings.iter().any(|ending| e == *ending))
            {
                files.push(path);
            }
        }
    }
    files.sort();
    // writing to a String does not fail
    let _ = writeln!(text, "/// The files of `{folder}`, each with its text.");
    let _ = writeln!(
        text,
        "pub(crate) const {name}: [(&str, &str); {}] = [",
        files.len()
    );
    for file in files {
        let inside = file.strip_prefix(folder).unwrap_or(&file).display();
        let file = file.display();
        let _ = writeln!(
            text,
            "(\"{inside}\", include_str!(concat!(env!(\"CARGO_MANIFEST_DIR\"), \"/{file}\"))),"
        );
    }
    text.push_str("];\n");
    Ok(())
}

fn name_commit() {
    let package = std::env::var("CARGO_PKG_VERSION").unwrap_or_default();
    // a build for tests names none: after each commit all of it would be compiled anew
    let released = std::env::var("PROFILE").is_ok_and(|profile| profile == "release");
    let version = match released.then(commit).flatten() {
        Some(commit) => format!("{package} ({commit})"),
        None => package,
    };
    println!("cargo::rustc-env=EVENFIRE_VERSION={version}");
}

/// The commit of the tree that this package is the top of, and whether anything in it was changed since;
/// of a package without a tree, the commit that it was packed from.
fn commit() -> Option<String> {
    let here = std::env::var("CARGO_MANIFEST_DIR").ok()?;
    let top = git(&["rev-parse", "--show-toplevel"]);
    if top.is_none_or(|top| {
        Path::new(&top).canonicalize().ok() != Path::new(&here).canonicalize().ok()
    }) {
        return packed();
    }
    for moves in ["HEAD", "logs/HEAD"] {
        if let Some(path) = git(&["rev-parse", "--git-path", moves]) {
            println!("cargo::rerun-if-changed={path}");
        }
    }
    for part in git(&[
        "ls-files",
        "--",
        ":(top,glob)*",
        "src",
        "procedures",
        "sample-captures",
    ])?
    .lines()
    {
        println!("cargo::rerun-if-changed={part}");
    }
    let name: String = git(&["rev-parse", "HEAD"])?.chars().take(LETTERS).collect();
    let changed = git(&["status", "--porcelain", "--untracked-files=no"])?;
    Some(if changed.is_empty() {
        name
    } else {
        format!("{name} and changes")
    })
}

/// What `cargo package` wrote of the commit.
fn packed() -> Option<String> {
    let text = std::fs::read_to_string(".cargo_vcs_info.json").ok()?;
    let (_, rest) = text.split_once("\"sha1\"")?;
    let name: String = rest
        .chars()
        .filter(char::is_ascii_hexdigit)
        .take(LETTERS)
        .collect();
    (name.len() == LETTERS).then_some(name)
}

fn git(arguments: &[&str]) -> Option<String> {
    let ran = Command::new("git").args(arguments).output().ok()?;
    let said = String::from_utf8(ran.stdout).ok()?;
    ran.status.success().then(|| said.trim_end().to_owned())
}
