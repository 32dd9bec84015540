//! What was returned is corrected: which of several jobs is said by its number.

use crate::fixture::{ANSWERS, Bay};
use crate::pty::at_terminal;

#[test]
fn one_of_several_returned_jobs_is_named_by_its_number() {
    let bay = Bay::new();
    let answers = bay.write("all.yaml", ANSWERS);
    let key = |name: &str| bay.shop.join("keys").join(name).display().to_string();
    let (technician, lead) = (key("technician"), key("lead"));
    for job in ["1", "2", "3"] {
        for command in [
            &["run", "look", "--answers", &answers][..],
            &["sign", job, "--key", &technician],
            &[
                "countersign",
                job,
                "--key",
                &lead,
                "--return",
                "--reason",
                "No source.",
            ],
        ] {
            let ran = bay.run(command);
            assert_eq!(ran.status, 0, "{command:?}: {}", ran.err);
        }
    }
    let mut person = at_terminal(&bay, &["amend"]);
    person
        .exp_string("0003  was returned: \"No source.\"")
        .unwrap();
    person.exp_string("Number of the job to add to").unwrap();
    person.send_line("4").unwrap();
    person.exp_string("Returned: 0001, 0002, 0003.").unwrap();
    person.send_line("2").unwrap();
    person.exp_string("Job 0002 is added to").unwrap();
    person.exp_string("What it corrects").unwrap();
    person.send_control('c').unwrap();
    person.exp_string("Nothing was signed.").unwrap();
    person.exp_eof().unwrap();
    let mut person = at_terminal(&bay, &["amend"]);
    person.exp_string("Enter: none").unwrap();
    person.send_line("").unwrap();
    person.exp_string("Nothing was signed.").unwrap();
    person.exp_eof().unwrap();
}
