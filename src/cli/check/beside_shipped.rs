//! A shop's own revision of a procedure that comes with the program, beside that one: each protection that is gone may have
//! its reason, and whoever approves the sheet should have seen it.

use std::path::{Path, PathBuf};

use crate::cli::shipped;
use crate::procedure::Problem;
use crate::procedure::compare::{About, Weakens, changes};
use crate::procedure::model::Library;
use crate::text::{counted, shell_quoted};

/// A remark for each file that has a shipped one's name, is no older, and lacks some of what protects there.
pub(super) fn remarks(libraries: &[(PathBuf, Library)]) -> Vec<Problem> {
    let files = libraries.iter();
    files
        .filter_map(|(file, library)| remark(file, library))
        .collect()
}

fn remark(file: &Path, library: &Library) -> Option<Problem> {
    let name = file.file_stem()?.to_str()?;
    let own = library.procedures.get(name)?;
    if shipped::is_as_shipped(name, &own.source.text) {
        return None;
    }
    let shipped = shipped::library(name)?;
    let revision = shipped.procedures.get(name)?.revision;
    if own.revision < revision {
        return None; // what came later is missing in it, not taken away
    }
    let found = changes(&shipped, library).into_iter();
    let weaker = found.filter(|change| {
        change.weakens == Weakens::Yes && change.procedure == name && change.about != About::File
    });
    let weaker = weaker.count() as u64;
    let remark = Problem::new(
        &own.source.place_of_key("revision"),
        format!(
            "{} from revision {revision}, which comes with the program, may take a protection away",
            counted(weaker, "change")
        ),
        "They may have their reasons. Whoever approves this file should have seen each.",
        format!(
            "`evenfire diff {}` lists them, marked with !.",
            shell_quoted(&file.display().to_string())
        ),
    );
    (weaker > 0).then_some(remark)
}
