//! `evenfire simulate`: practice captures with known truth.

pub(crate) mod options;
pub(crate) mod weak;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Args;

use crate::capture::setup;
use crate::cli::simulate::options::Wished;
use crate::cli::{Failure, say};
use crate::simulate::practice::{Practice, practice};

/// Make a practice capture: NAME.csv, NAME.setup.yaml and NAME.truth.yaml
///
/// What is not given is drawn from the seed. The same arguments give the same files. Examples:
///
/// evenfire simulate burnt-valve --engine i4 --weak 3=62 --signal starter-current --reference trigger
///
/// evenfire simulate worn-cam --engine v8 --fault poor-filling --signal connector-voltage --coupling ac
///
/// evenfire simulate slack-clamp --signal battery-voltage --spoil loose
///
/// evenfire simulate plugs-out --fault plugs-out --signal crank-speed --wheel 60-2 --reference cam
#[derive(Debug, Args)]
pub(crate) struct SimulateArguments {
    /// Name of the files, without ending
    name: String,
    /// Folder to put them in
    #[arg(long, value_name = "DIR", default_value = ".")]
    into: PathBuf,
    /// Number that everything random is drawn from
    #[arg(long, default_value_t = 1)]
    seed: u64,
    #[command(flatten)]
    wished: Wished,
}

pub(crate) fn run(arguments: &SimulateArguments) -> Result<ExitCode, Failure> {
    if arguments.name.is_empty() || arguments.name.contains(['/', '\\']) {
        return Err(format!(
            "{:?} is no file name; name the folder with --into",
            arguments.name
        )
        .into());
    }
    let wish = arguments.wished.wish(arguments.seed)?;
    let made = practice(arguments.seed, &wish)
        .ok_or("with this seed the starter cannot turn the engine steadily; take another --seed, or another --speed")?;
    write(&arguments.into, &arguments.name, &made)?;
    say(&format!(
        "{} cylinders at {:.0} rpm, {} rows: {}\n",
        made.engine().cylinders(),
        made.truth.mean_rpm,
        made.table.time.len(),
        arguments
            .into
            .join(format!("{}.csv", arguments.name))
            .display()
    ));
    Ok(ExitCode::SUCCESS)
}

fn write(folder: &Path, name: &str, made: &Practice) -> Result<(), Failure> {
    fs_err::create_dir_all(folder)?;
    let files = [
        ("csv", made.csv()),
        ("setup.yaml", setup::write(&made.setup())),
        ("truth.yaml", serde_yaml::to_string(&made.truth)?),
    ];
    for (ending, _) in &files {
        let path = folder.join(format!("{name}.{ending}"));
        if path.exists() {
            return Err(format!("{}: exists already; take another name", path.display()).into());
        }
    }
    for (ending, text) in files {
        fs_err::write(folder.join(format!("{name}.{ending}")), text)?;
    }
    Ok(())
}
