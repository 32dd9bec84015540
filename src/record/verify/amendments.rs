//! The amendments of a signed job: each whole, linked to what stood before it, signed by a technician.

use std::collections::BTreeSet;

use super::signatures::{Over, Signer, signature, time};
use super::{Bundle, FindingKind};
use crate::record::bundle::amendment::{self, Amendment, Layer};
use crate::record::bundle::manifest::{self, Manifest, shown};
use crate::record::bundle::model::Record;
use crate::record::digest;
use crate::record::folder;
use crate::record::moment;
use crate::record::shop::roster::{Role, Roster};

/// The amendments that are there; a gap is found.
pub(super) fn layers(bundle: &mut Bundle<'_>) -> Vec<Layer> {
    let of = |name: &String| Layer::of(name).map(|(layer, _)| layer);
    let there: BTreeSet<Layer> = bundle.inventory.files.keys().filter_map(of).collect();
    let layers: Vec<Layer> = there
        .into_iter()
        .filter(|layer| *layer != Layer::JOB)
        .collect();
    for (wanted, layer) in (1..).zip(&layers) {
        if layer.number() != wanted {
            let told = format!(
                "amendment {wanted} is missing, and {} is there",
                layer.shown()
            );
            bundle.found(FindingKind::AmendmentIncomplete, told);
            break;
        }
    }
    layers
}

/// Check an amendment over what stands before it; what can be signed over in its turn.
pub(super) fn check(
    bundle: &mut Bundle<'_>,
    roster: &Roster,
    record: &Record,
    layer: Layer,
    before: &Over,
) -> Option<Over> {
    for name in [
        folder::MANIFEST,
        folder::AMENDMENT,
        folder::TECHNICIAN_SIGNATURE,
    ] {
        if !bundle.has(&layer.file(name)) {
            let told = format!("{} has no {name}: it is not whole", layer.shown());
            bundle.found(FindingKind::AmendmentIncomplete, told);
        }
    }
    let list = layer.file(folder::MANIFEST);
    let bytes = bundle.read(&list, manifest::LONGEST_FILE)?;
    let manifest = bundle.manifest(&list, &bytes)?;
    bundle.compare(&list, &manifest);
    listed(bundle, layer, before, &list, &manifest);
    let amendment = read(bundle, record, layer)?;
    let under = before.layer.file(folder::MANIFEST);
    if manifest.digest(&under) != Some(amendment.previous.as_str()) {
        let told = format!("{} does not name the manifest before it", layer.shown());
        bundle.found(FindingKind::AmendmentUnreadable, told);
    }
    let at = time(bundle, "amendment.json gives", &amendment.time);
    let key = signature(
        bundle,
        &layer.file(folder::TECHNICIAN_SIGNATURE),
        Role::Technician,
        &bytes,
    );
    if let Some(key) = &key {
        let signer = Signer {
            of: layer.shown(),
            identity: &amendment.name,
            key,
            role: Role::Technician,
            time: at,
        };
        signer.check(bundle, roster, record);
    }
    if let (Some(at), Some(since)) = (at, before.since)
        && at < since
        && !record.simulated_clock
    {
        let told = format!(
            "{} is of {at}, before what it amends ({since})",
            layer.shown()
        );
        bundle.found(FindingKind::TimesDisagree, told);
    }
    tell(bundle, layer, &amendment);
    let mut people = before.people.clone();
    people.push((amendment.name, key));
    Some(Over {
        layer,
        people,
        since: at,
        manifest: digest::of_bytes(&bytes),
    })
}

fn tell(bundle: &mut Bundle<'_>, layer: Layer, amendment: &Amendment) {
    let told = format!(
        "{} by {}, {}: corrects {}, adds {}, because {}",
        layer.shown(),
        shown(&amendment.name),
        shown(&amendment.time),
        shown(&amendment.corrects),
        shown(&amendment.adds),
        shown(&amendment.reason)
    );
    bundle.found(FindingKind::Amended, told);
}

/// The manifest lists its own layer's files and what stands over the layer before, and nothing else.
fn listed(bundle: &mut Bundle<'_>, layer: Layer, before: &Over, list: &str, manifest: &Manifest) {
    let carried = Layer::CARRIED.map(|name| before.layer.file(name));
    let there = carried.iter().filter(|name| bundle.has(name)).cloned();
    let own = bundle.inventory.files.keys().filter(|name| {
        Layer::of(name).is_some_and(|(of, own)| of == layer && !layer.is_unlisted(own))
    });
    let needed: BTreeSet<String> = own.cloned().chain(there).collect();
    for name in needed.iter().filter(|name| manifest.digest(name).is_none()) {
        let told = format!("{} is in the folder and not in {list}", shown(name));
        bundle.found(FindingKind::FileUnlisted, told);
    }
    for line in manifest.lines() {
        let is_own = Layer::of(&line.name).is_some_and(|(of, own)| of == layer && layer.lists(own));
        if !is_own && !carried.contains(&line.name) {
            let told = format!(
                "{list} lists {}, which has no place in it",
                shown(&line.name)
            );
            bundle.found(FindingKind::ManifestMalformed, told);
        }
    }
    for name in [
        layer.file(folder::AMENDMENT),
        carried[0].clone(),
        carried[1].clone(),
    ] {
        if manifest.digest(&name).is_none() {
            bundle.found(
                FindingKind::NotListed,
                format!("{list} does not list {name}"),
            );
        }
    }
}

fn read(bundle: &mut Bundle<'_>, record: &Record, layer: Layer) -> Option<Amendment> {
    let name = layer.file(folder::AMENDMENT);
    let bytes = bundle.read(&name, amendment::LONGEST_FILE)?;
    let why = match Amendment::parse(&bytes) {
        Ok(amendment) if amendment.job != record.job => {
            format!("it is about job {}", shown(&amendment.job))
        }
        Ok(amendment) if amendment.number != layer.number() => {
            format!("it is amendment {}", amendment.number)
        }
        Ok(amendment) if moment::read(&amendment.time).is_none() => "its time is none".to_owned(),
        Ok(amendment) => return Some(amendment),
        Err(why) => why,
    };
    bundle.found(FindingKind::AmendmentUnreadable, format!("{name}: {why}"));
    None
}
