//! The procedures that come with the program.

/// Each by its file name, with its text.
pub(crate) const PROCEDURES: [(&str, &str); 9] = [
    (
        "after-repair.yaml",
        include_str!("../../procedures/after-repair.yaml"),
    ),
    (
        "cam-correlation.yaml",
        include_str!("../../procedures/cam-correlation.yaml"),
    ),
    (
        "cranking-circuit.yaml",
        include_str!("../../procedures/cranking-circuit.yaml"),
    ),
    (
        "follow-up.yaml",
        include_str!("../../procedures/follow-up.yaml"),
    ),
    ("intake.yaml", include_str!("../../procedures/intake.yaml")),
    (
        "leak-down.yaml",
        include_str!("../../procedures/leak-down.yaml"),
    ),
    (
        "relative-compression.yaml",
        include_str!("../../procedures/relative-compression.yaml"),
    ),
    (
        "running-compression.yaml",
        include_str!("../../procedures/running-compression.yaml"),
    ),
    (
        "static-compression.yaml",
        include_str!("../../procedures/static-compression.yaml"),
    ),
];

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn all_of_the_folder_are_here() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/procedures");
        let names = fs_err::read_dir(folder).unwrap();
        let names = names.map(|entry| entry.unwrap().file_name().into_string().unwrap());
        let there: BTreeSet<String> = names.filter(|name| name.ends_with(".yaml")).collect();
        let here: BTreeSet<String> = PROCEDURES
            .iter()
            .map(|(name, _)| (*name).to_owned())
            .collect();
        assert_eq!(here, there);
    }
}
