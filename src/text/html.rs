//! An HTML page that needs nothing but itself.

use maud::{DOCTYPE, Markup, PreEscaped, html};

/// A whole page. `policy` is its Content-Security-Policy: what a browser lets it do, fetching nothing in any case.
#[must_use]
pub fn document(title: &str, style: &str, policy: &str, body: &Markup) -> String {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="referrer" content="no-referrer";
                title { (title) }
                style { (PreEscaped(style)) }
            }
            body { (body) }
        }
    }
    .into_string()
}
