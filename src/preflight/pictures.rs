//! Paper: pictures as they come out in dots; and whether they are there at all.

use std::collections::BTreeSet;

use crate::layout::PlacedBox;
use crate::lengths::Paper;
use crate::manual::document::{Document, Screen, is_drawn_by_name};
use crate::manual::source::{Level, Span};
use crate::pictures::{PictureSet, Request};

use super::evidence::PictureFacts;
use super::index::Index;
use super::indexing::gathered;
use super::passages::PictureSeen;
use super::rule::{Check, Note, Rule};

/// Thousandths of a picture that may run together: the deepest shadows of a good photograph do.
const CLOGGED: u32 = 150;

/// Thousandths of a picture that may stay bare: the highest lights of a good photograph do.
const WASHED_OUT: u32 = 250;

/// Looks at every picture as it was set. Pictures that could not be used have no facts: layout has remarked on them.
pub fn facts(document: &Document, boxes: &[PlacedBox], pictures: &PictureSet, paper: Paper) -> Vec<PictureFacts> {
    let look = |picture: PictureSeen| {
        let placed = boxes.iter().find(|placed| placed.kind == "picture" && placed.span == picture.span)?;
        let request = Request {
            crop: picture.crop,
            width: placed.width,
            height: placed.height,
            screen: picture.screen,
            treatment: picture.treatment,
            paper,
        };
        let screened = pictures.screen(&picture.address, &request).ok()?;
        Some(PictureFacts {
            address: picture.address,
            span: picture.span,
            screen: screened.used,
            photograph: screened.photograph,
            scale_percent: screened.scale_percent,
            clogged: screened.clogged,
            washed_out: screened.washed_out,
        })
    };
    gathered(document).pictures.into_iter().filter(|picture| !is_drawn_by_name(&picture.address)).filter_map(look).collect()
}

pub const PICTURE_ENLARGED: Rule = Rule {
    name: "picture-enlarged",
    level: Level::Warning,
    what: "a picture of pixels set larger than a dot a pixel",
    why: "there is nothing in the file to fill the dots with: it comes out soft or in steps",
    mend: "use a larger file, a drawing (SVG), or a smaller `width`",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let large = index.evidence.pictures.iter().filter(|facts| facts.scale_percent > 100);
        large
            .map(|facts| Note::new(facts.span, format!("\"{}\" is enlarged to {} %", facts.address, facts.scale_percent)))
            .collect()
    }),
};

pub const PICTURE_CLOGGED: Rule = Rule {
    name: "picture-clogged",
    level: Level::Warning,
    what: "a photograph more than 15 % of which runs together to black after dot gain",
    why: "what the reader is to find there cannot be seen",
    mend: "lighten the shadows in the file, crop them off, or set `screen = \"halftone\"`",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let lost = photographs(index).filter(|facts| facts.clogged > CLOGGED);
        lost.map(|facts| {
            Note::new(facts.span, format!("{} % of \"{}\" will run together to black", facts.clogged / 10, facts.address))
        })
        .collect()
    }),
};

pub const PICTURE_WASHED_OUT: Rule = Rule {
    name: "picture-washed-out",
    level: Level::Warning,
    what: "a photograph more than 25 % of which comes out as bare paper though it is not white",
    why: "what the reader is to find there cannot be seen",
    mend: "leave out `screen = \"line\"`; else darken the lights in the file, or photograph it before a darker ground",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let lost = photographs(index).filter(|facts| facts.washed_out > WASHED_OUT);
        lost.map(|facts| {
            Note::new(facts.span, format!("{} % of \"{}\" will be bare paper", facts.washed_out / 10, facts.address))
        })
        .collect()
    }),
};

pub const PICTURE_UNUSED: Rule = Rule {
    name: "picture-unused",
    level: Level::Advice,
    what: "picture files that the manual does not name, in folders from which it names others",
    why: "they were meant to be shown, or they are in the way",
    mend: "show them, or take them out of the folder",
    source: "common practice, no source",
    check: Check::Looks(|index| {
        let shown: BTreeSet<&str> =
            index.entries.pictures.iter().map(|picture| picture.address.trim_start_matches("./")).collect();
        let folder = |name: &str| name.rsplit_once('/').map_or(String::new(), |(folder, _)| folder.to_string());
        let folders: BTreeSet<String> = shown.iter().filter(|name| !name.contains(':')).map(|name| folder(name)).collect();
        // A file that is named with other capitals is used; that it will not be found elsewhere is said by another rule.
        let in_small: BTreeSet<String> = shown.iter().map(|name| name.to_lowercase()).collect();
        // A picture that only another unit shows is named in the text all the same, between its fields.
        let unused: Vec<&String> = index
            .evidence
            .folder
            .iter()
            .filter(|name| folders.contains(&folder(name)) && !in_small.contains(&name.to_lowercase()) && !named(index, name))
            .collect();
        let Some(first) = unused.first() else { return Vec::new() };
        const NAMED: usize = 12;
        let mut message = match unused.len() {
            1 => format!("\"{first}\" lies beside the manual's pictures and is not used"),
            count => format!("{count} files lie beside the manual's pictures and are not used: "),
        };
        if unused.len() > 1 {
            message.push_str(&unused.iter().take(NAMED).map(|name| format!("\"{name}\"")).collect::<Vec<_>>().join(", "));
            if unused.len() > NAMED {
                message.push_str(&format!(" and {} more", unused.len() - NAMED));
            }
        }
        vec![Note::new(Span::default(), message)]
    }),
};

/// Pictures whose tones are to be seen: set in tones, or photographs that a threshold was asked for.
fn photographs<'s>(index: &'s Index) -> impl Iterator<Item = &'s PictureFacts> + use<'s> {
    index.evidence.pictures.iter().filter(|facts| match facts.screen {
        Screen::Photo | Screen::Halftone => true,
        Screen::Line | Screen::Ink => facts.photograph,
        Screen::Drawing | Screen::None => false,
    })
}

/// Whether the name stands in any file that the writer wrote.
fn named(index: &Index, name: &str) -> bool {
    index.evidence.source.files.iter().any(|file| file.text().contains(name))
}
