//! Completions and pages of the manual, from the definitions of the command line.

use std::process::Command;

use crate::fixture::evenfire;

/// The commands that `evenfire --help` lists.
fn commands() -> Vec<String> {
    let help = evenfire(&["--help"]).out;
    let lines = help.lines().take_while(|line| *line != "Options:");
    // a sentence that goes on in the next line is indented further
    let named = lines.filter_map(|line| line.strip_prefix("  ").filter(|l| !l.starts_with(' ')));
    let names = named.filter_map(|line| line.split_whitespace().next());
    let names: Vec<String> = names.filter(|n| *n != "help").map(str::to_owned).collect();
    assert!(
        names.len() > 20 && names.contains(&"run".to_owned()),
        "{help}"
    );
    names
}

#[test]
fn bash_reads_its_completions_and_completes_every_command() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("evenfire");
    let made = evenfire(&["completions", "bash"]);
    assert_eq!(made.status, 0, "{}", made.err);
    std::fs::write(&script, made.out).unwrap();
    let bash = |arguments: &[&str]| {
        let mut bash = Command::new("bash");
        let ran = bash.args(arguments).output().expect("bash is needed");
        let told = String::from_utf8(ran.stderr).unwrap();
        assert!(ran.status.success() && told.is_empty(), "{told}");
        String::from_utf8(ran.stdout).unwrap()
    };
    bash(&["-n", script.to_str().unwrap()]);
    let complete = format!(
        "source {}; COMP_WORDS=(evenfire ''); COMP_CWORD=1; _evenfire evenfire '' evenfire; printf '%s\\n' \"${{COMPREPLY[@]}}\"",
        script.display()
    );
    let completed = bash(&["-c", &complete]);
    let completed: Vec<&str> = completed.lines().collect();
    for command in commands() {
        assert!(
            completed.contains(&command.as_str()),
            "{command}: {completed:?}"
        );
    }
}

fn manual() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    let made = evenfire(&["manual", folder.path().to_str().unwrap()]);
    assert_eq!(made.status, 0, "{}", made.err);
    folder
}

#[test]
fn every_command_has_its_page_of_the_manual() {
    let folder = manual();
    for command in commands() {
        let page = folder.path().join(format!("evenfire-{command}.1"));
        let page = std::fs::read_to_string(page).unwrap();
        assert!(
            page.contains(&format!(".TH evenfire-{command} 1")),
            "{page}"
        );
    }
    assert!(folder.path().join("evenfire.1").exists());
}

#[test]
#[ignore = "needs man (man-db); by hand"]
fn man_renders_every_page_without_a_warning() {
    let folder = manual();
    for page in std::fs::read_dir(folder.path()).unwrap() {
        let page = page.unwrap().path();
        let mut man = Command::new("man");
        man.args(["--warnings", "-l"])
            .arg(&page)
            .env("MANPAGER", "cat");
        let ran = man.output().expect("man (man-db) is needed");
        let told = String::from_utf8(ran.stderr).unwrap();
        let shown = String::from_utf8(ran.stdout).unwrap();
        assert!(
            ran.status.success() && told.is_empty(),
            "{}: {told}",
            page.display()
        );
        assert!(shown.contains("SYNOPSIS"), "{}: {shown}", page.display());
    }
}
