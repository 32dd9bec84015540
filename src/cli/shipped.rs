//! The files that come with the program, inside it, and laying them into a shop.

use std::path::{Path, PathBuf};

use crate::cli::Failure;
use crate::procedure::model::Library;
use crate::procedure::read_library;
use crate::record::durable;

include!(concat!(env!("OUT_DIR"), "/shipped.rs"));

/// Write those of the files that are not in the folder yet; what lies there is the shop's and stays. Gives the
/// paths of those that stayed and say something else.
pub(crate) fn lay(files: &[(&str, &str)], folder: &Path) -> Result<Vec<PathBuf>, Failure> {
    let mut others = Vec::new();
    for (name, text) in files {
        let own = folder.join(name);
        if !own.exists() {
            fs_err::create_dir_all(own.parent().unwrap_or(folder))?;
            durable::write_new(&own, text.as_bytes())?;
        } else if fs_err::read(&own)? != text.as_bytes() {
            others.push(own);
        }
    }
    Ok(others)
}

/// Whether a procedure's text is that of the shipped one of its name, or there is none.
pub(crate) fn is_as_shipped(name: &str, text: &str) -> bool {
    procedure(name).is_none_or(|own| own == text)
}

/// The shipped procedure of that name with all that it calls; none where there is none.
pub(crate) fn library(name: &str) -> Option<Library> {
    let source = |name: &str| Some((format!("{name}.yaml"), procedure(name)?.to_owned()));
    procedure(name)?;
    read_library(name, &source).ok()
}

fn procedure(name: &str) -> Option<&'static str> {
    let mut files = PROCEDURES.iter();
    let file = files.find(|(file, _)| file.strip_suffix(".yaml") == Some(name));
    file.map(|(_, text)| *text)
}
