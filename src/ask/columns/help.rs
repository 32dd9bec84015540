//! What `?` says at the questions of columns.

pub(super) const SIGNAL: &str = "The signal is the column that shows the compressions: starter current by a clamp, battery \
                           voltage, or the crank sensor. Its heading and its numbers tell which it is.";

pub(super) const BEFORE: &str = "What was said of columns with these headings is kept for the next recording. Say it anew \
    where a word of it was wrong, or where the clip or clamp was on something else this time; from then on that holds.";

pub(super) const KIND: &str = "What your lead or clamp was on, and how that input was coupled. AC coupling takes the twelve \
                         volts away and leaves the swing around zero.";

pub(super) const RANGE: &str = "What you set on the scope for this input: 2 12 means ±2 in the column's unit, by a converter \
                          of 12 bits. The scope's data sheet says the bits.";

pub(super) const COLUMN: &str = "The reference is the second lead's trace: a cam sensor, a coil, an injector or the crank \
                           sensor. By it cylinders get their names; without one the result names places in the firing \
                           sequence only.";

pub(super) const CYLINDER: &str = "The event's cylinder is in the maker's document for this engine. A coil or an injector \
                             belongs to the cylinder that it sits on; a cam sensor's edge to the one that the document \
                             names. A guess names the wrong cylinder, and nothing else shows it.";

pub(super) const EVERY: &str = "A cam turns once in two turns of the crank. What sits on the crank, or a coil that fires two \
                          cylinders at once, comes in every turn.";

pub(super) const DEGREES: &str = "Degrees of the crank from the event on to the compression's top dead centre of that \
                            cylinder, from the maker's document for this engine; below zero where the event comes after \
                            it. A guess names the wrong cylinder, and nothing else shows it.";

pub(super) const EDGE: &str = "The maker's document says which edge or peak it gives the degrees for. The other edge of a cam \
                         sensor stands many degrees away and names another cylinder.";

pub(super) const OTHER: &str = "Leads and scope were set for the signal that was chosen in this job. Another one is right \
                          only if you really recorded it; a wrong column gives no verdict, or a wrong one.";
