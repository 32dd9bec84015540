//! Photographs that were laid to the job or to an amendment, in the page itself: a data URL is all that
//! its policy lets in, and a picture in an `img` runs nothing.

use base64ct::{Base64, Encoding};
use maud::{Markup, html};

use crate::report::signatures::{Attachment, Picture, Signatures};
use crate::text::clean;

/// All pictures, in the order of the files; nothing where there are none.
pub(super) fn section(signatures: &Signatures) -> Markup {
    let pictures: Vec<(&Attachment, &Picture)> = signatures
        .attachments
        .iter()
        .filter_map(|attachment| Some((attachment, attachment.picture.as_ref()?)))
        .collect();
    html! {
        @if !pictures.is_empty() {
            h3 { "Pictures" }
            div.pictures { @for (attachment, picture) in pictures { figure {
                img src=(url(picture)) alt={ "The picture " (clean(&attachment.file)) };
                figcaption { (clean(&attachment.file)) }
            } } }
        }
    }
}

fn url(picture: &Picture) -> String {
    let bytes = Base64::encode_string(&picture.bytes);
    format!("data:{};base64,{bytes}", picture.media)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::{example, html};

    #[test]
    fn attachments_are_listed_and_pictures_shown() {
        let mut signatures = example::signatures();
        let attachment = |file: &str, picture| Attachment {
            file: file.to_owned(),
            sha256: "ab".repeat(32),
            bytes: 7,
            picture,
        };
        let picture = Picture {
            media: "image/png",
            bytes: vec![0x89, 0x50, 0x4e],
        };
        signatures.attachments = vec![
            attachment("attachments/1.png", Some(picture)),
            attachment("amendments/1/attachments/film.mp4", None),
        ];
        let page = html::page(&example::record(), &signatures);
        // RFC 4648, section 4
        let shown =
            "<img src=\"data:image/png;base64,iVBO\" alt=\"The picture attachments/1.png\">";
        assert_eq!(page.matches("<img").count(), 1);
        assert!(page.contains(shown));
        let listed = format!(
            "amendments/1/attachments/film.mp4</th><td>file as handed over, not shown here; 7 bytes</td><td><code>{}",
            "ab".repeat(32)
        );
        assert!(page.contains(&listed));
        assert!(!html::page(&example::record(), &example::signatures()).contains("<img"));
    }
}
