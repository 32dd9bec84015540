//! Whether the chain of a shop's jobs is whole: each job names the one that was sealed before it, so
//! one that was taken out or exchanged leaves a gap. The chain's last jobs are named by none; whether
//! some were taken off its end only an audit's memory tells.

use std::collections::BTreeMap;

use crate::record::bundle::manifest::shown;

/// What the chain needs of a sealed job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Link<'a> {
    /// Number under which it lies.
    pub job: &'a str,
    /// Digest of its manifest.
    pub own: &'a str,
    /// Digest that it names.
    pub previous: Option<&'a str>,
    /// Whether it is practice, and so no part of the chain.
    pub practice: bool,
}

/// A fault, and the job that it belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Fault {
    pub job: String,
    pub sentence: String,
}

/// Every fault of the chain, in the order of the links.
pub(super) fn faults(links: &[Link<'_>]) -> Vec<Fault> {
    let mut owners: BTreeMap<&str, &Link<'_>> = BTreeMap::new();
    let mut followers: BTreeMap<&str, &str> = BTreeMap::new();
    let mut first: Option<&str> = None;
    let mut faults = Vec::new();
    let mut fault = |link: &Link<'_>, sentence: String| {
        faults.push(Fault {
            job: link.job.to_owned(),
            sentence,
        });
    };
    for link in links {
        if let Some(other) = owners.insert(link.own, link) {
            let told = format!("its manifest is that of job {} as well", other.job);
            fault(link, told);
        }
    }
    for link in links {
        if link.practice {
            if link.previous.is_some() {
                fault(link, "it is practice, but names a job before it".into());
            }
            continue;
        }
        let Some(previous) = link.previous else {
            match first {
                None => first = Some(link.job),
                Some(other) => {
                    let told = format!("it names no job before it, and neither does job {other}");
                    fault(link, told);
                }
            }
            continue;
        };
        match owners.get(previous) {
            None => {
                let told = format!(
                    "the job that was sealed before it (manifest {}) is not here: it was taken out, or its manifest was changed",
                    shown(previous)
                );
                fault(link, told);
            }
            Some(before) if before.practice => {
                let told = format!(
                    "the job that it names as sealed before it, {}, is practice",
                    before.job
                );
                fault(link, told);
            }
            Some(_) => {}
        }
        if let Some(other) = followers.insert(previous, link.job) {
            let told = format!("it names the same job before it as job {other}");
            fault(link, told);
        }
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    fn link<'a>(job: &'a str, own: &'a str, previous: Option<&'a str>) -> Link<'a> {
        Link {
            job,
            own,
            previous,
            practice: false,
        }
    }

    fn told(links: &[Link<'_>]) -> Vec<String> {
        let faults = faults(links).into_iter();
        faults
            .map(|f| format!("{}: {}", f.job, f.sentence))
            .collect()
    }

    #[test]
    fn a_whole_chain_has_no_fault() {
        let mut practice = link("0003", "c", None);
        practice.practice = true;
        let links = [
            link("0001", "a", None),
            link("0004", "d", Some("b")),
            link("0002", "b", Some("a")),
            practice,
        ];
        assert_eq!(told(&links), Vec::<String>::new());
        assert!(faults(&[]).is_empty());
    }

    #[test]
    fn each_break_is_told_with_its_job() {
        let taken_out = [link("0001", "a", None), link("0003", "c", Some("b"))];
        assert!(told(&taken_out)[0].starts_with("0003: the job that was sealed before it"));
        let forked = [
            link("0001", "a", None),
            link("0002", "b", Some("a")),
            link("0003", "c", Some("a")),
        ];
        assert_eq!(
            told(&forked),
            ["0003: it names the same job before it as job 0002"]
        );
        let begun_twice = [link("0001", "a", None), link("0002", "b", None)];
        assert_eq!(
            told(&begun_twice),
            ["0002: it names no job before it, and neither does job 0001"]
        );
        let copied = [link("0001", "a", None), link("0002", "a", None)];
        assert_eq!(told(&copied).len(), 2);
        let mut exercise = link("0001", "a", Some("x"));
        exercise.practice = true;
        let on_practice = [exercise, link("0002", "b", Some("a"))];
        assert_eq!(told(&on_practice).len(), 2);
    }
}
