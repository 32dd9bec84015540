//! A shop in which exercises are gone through by the dozen.

use super::*;

/// How one exercise ended.
pub(super) struct Ending {
    pub(super) outcome: String,
    pub(super) grade: Grade,
    pub(super) questions: usize,
}

/// A shop with all procedures, to practise in.
pub(super) struct School {
    shop: Shop,
    roster: Roster,
    _folder: tempfile::TempDir,
}

impl School {
    pub(super) fn new() -> School {
        let folder = tempfile::tempdir().unwrap();
        let (identity, key) = ("jo".to_owned(), KeySource::Practice);
        let technician = NewSigner { identity, key };
        let shop = found(&folder.path().join("shop"), "School", &technician, None).unwrap();
        shipped::lay(&shipped::PROCEDURES, &shop.procedures()).unwrap();
        let roster = Roster::of(&shop).unwrap();
        School {
            shop,
            roster,
            _folder: folder,
        }
    }

    /// Go through an exercise to its ending; what is wrong where it comes to none.
    fn practise(&self, procedure: &str, exercise: &Exercise) -> Result<Ending, String> {
        let named = format!("{procedure}, {exercise:?}");
        let file = self.shop.procedures().join(format!("{procedure}.yaml"));
        let library = load(&file, &self.shop.policy().rules).map_err(|e| e.to_string())?;
        let made = exercise.capture(0)?;
        let mut apprentice = Apprentice::new(exercise, &made);
        let beginning = Beginning {
            shop: &self.shop,
            roster: &self.roster,
            technician: "jo",
            procedure,
            library,
            unattended: None,
            exercise: true,
        };
        let opened = beginning
            .begin(apprentice.now())
            .map_err(|e| e.to_string())?;
        let mut keeper = Simulated {
            job: opened.folder.clone(),
            exercise: exercise.clone(),
        };
        let mut job = Job::new(&opened.library, opened.journal, opened.state);
        let ended = job.drive(&mut Hands {
            asker: &mut apprentice,
            keeper: &mut keeper,
            computing: &mut Bench {
                job: &opened.folder,
                shop: &self.shop,
            },
        });
        if !matches!(ended, Ok(Ended::Sealed)) {
            return Err(format!("{named}: {ended:?}, {:?}", apprentice.stuck));
        }
        let end = JournalEnd {
            lines: job.journal().lines(),
            head: job.journal().head().to_owned(),
        };
        let record = assemble(job.library(), job.state(), &end).map_err(|e| e.to_string())?;
        // also where no capture was handed over, and whoever's key it is
        assert!(
            record.practice.iter().any(|why| why.contains("exercise")),
            "{named}"
        );
        std::fs::remove_dir_all(opened.folder.path()).map_err(|e| e.to_string())?;
        Ok(Ending {
            outcome: record.outcome.step.clone(),
            grade: grade(&record, &made, exercise.escape()).0,
            questions: apprentice.questions,
        })
    }

    /// All of these exercises, each a procedure and a seed.
    pub(super) fn all(&self, exercises: Vec<(&str, u64)>) -> Vec<Ending> {
        let ended: Vec<Result<Ending, String>> = exercises
            .into_par_iter()
            .map(|(procedure, seed)| {
                let exercise = Exercise {
                    fuel: None,
                    seed,
                    difficulty: Difficulty::drawn(seed),
                    signal: None,
                    firing_order: None,
                    weak: None,
                    escape: None,
                    // now and then the first capture is one that has to be refused
                    spoil: (seed % 5 == 0).then_some(Spoil::Short),
                };
                self.practise(procedure, &exercise)
            })
            .collect();
        let stuck: Vec<&String> = ended.iter().filter_map(|e| e.as_ref().err()).collect();
        assert!(
            stuck.is_empty(),
            "{} without an ending: {stuck:#?}",
            stuck.len()
        );
        ended.into_iter().flatten().collect()
    }
}

pub(super) fn counted(endings: &[Ending]) -> String {
    let mut by: BTreeMap<String, usize> = BTreeMap::new();
    for ending in endings {
        *by.entry(format!("outcome {}", ending.outcome)).or_default() += 1;
        *by.entry(format!("grade {:?}", ending.grade)).or_default() += 1;
    }
    let longest = endings.iter().map(|ending| ending.questions).max();
    format!(
        "{} exercises, at most {longest:?} questions: {by:#?}",
        endings.len()
    )
}
