//! One picture of a manual in several screens, small, to choose from; and the lines that choose one.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use super::turning::lines;
use crate::desk::Sample;
use crate::geometry::Rect;
use crate::lengths::{Dots, Paper};
use crate::manual::document::{Background, Document, Figure, Kind, Screen, Treatment, plain_text};
use crate::manual::source::Source;
use crate::pictures::{Error, PictureSet, Remark, Request};

/// Width of a small proof, dots.
const WIDE: i32 = 208;

/// What is offered.
const OFFERED: [(&str, Screen, Background); 4] = [
    ("photo", Screen::Photo, Background::Keep),
    ("halftone", Screen::Halftone, Background::Keep),
    ("drawing", Screen::Drawing, Background::Keep),
    ("drawing on white", Screen::Drawing, Background::White),
];

/// Small proofs of the picture whose box names this file and line; `None` where there is no picture that has a screen.
///
/// # Errors
/// When the picture cannot be used.
pub fn samples(
    document: &Document,
    source: &Source,
    pictures: &PictureSet,
    paper: Paper,
    file: &str,
    line: u32,
) -> Option<Result<Vec<Sample>, Error>> {
    // The box of a picture begins at its block's first line or, in a fence, at the line that names it.
    let is_here = |span| lines(source, span).hold(file, line);
    let mut found = None;
    document.walk(&mut |span, block| match &block.kind {
        Kind::Figure(figure) if found.is_none() && is_here(span) => found = Some((figure.clone(), span)),
        Kind::Row(figures) if found.is_none() && is_here(span) => {
            found = figures.first().map(|figure| (figure.clone(), span));
        }
        _ => {}
    });
    let (figure, span) = found?;
    let fenced =
        source.text.get(span.start as usize..).is_some_and(|text| text.trim_start_matches(['`', '~']).starts_with("figure"));
    Some(
        OFFERED
            .iter()
            .map(|&(name, screen, background)| sample(pictures, paper, &figure, fenced, name, screen, background))
            .collect(),
    )
}

fn sample(
    pictures: &PictureSet,
    paper: Paper,
    figure: &Figure,
    fenced: bool,
    name: &'static str,
    screen: Screen,
    background: Background,
) -> Result<Sample, Error> {
    let info = pictures.look(&figure.picture)?;
    let shown = figure.crop.unwrap_or(Rect::new(0, 0, 1000, 1000));
    let (across, down) = (i64::from(info.width) * i64::from(shown.width), i64::from(info.height) * i64::from(shown.height));
    let high = (i64::from(WIDE) * down / across.max(1)).clamp(1, i64::from(WIDE) * 3 / 2) as i32;
    let wide = (i64::from(high) * across / down.max(1)).clamp(1, i64::from(WIDE)) as i32;
    let request = Request {
        crop: figure.crop,
        width: Dots(wide),
        height: Dots(high),
        screen: Some(screen),
        treatment: Treatment { background, ..figure.treatment },
        paper,
    };
    let screened = pictures.screen(&figure.picture, &request)?;
    let mut words = String::new();
    if !fenced {
        words += &format!("```figure\npicture = {}\nalt = {}\n", quoted(&figure.picture), quoted(&figure.alt));
        let caption = plain_text(&figure.caption);
        if !caption.is_empty() {
            words += &format!("caption = {}\n", quoted(&caption));
        }
    }
    let screen = name.split(' ').next().unwrap_or(name);
    let white = background == Background::White;
    words += &format!("screen = \"{screen}\"\n");
    if white {
        words += "background = \"white\"\n";
    }
    if !fenced {
        words += "```\n";
    }
    let kept = screened.remarks.contains(&Remark::BackgroundKept);
    Ok(Sample {
        name: name.into(),
        screen: screen.into(),
        background: if white { "white" } else { "keep" }.into(),
        words,
        note: if kept { "The ground cannot be told from the thing: it is kept.".into() } else { String::new() },
        width: screened.bitmap.width(),
        height: screened.bitmap.height(),
        rows: STANDARD.encode(screened.bitmap.data()),
    })
}

/// As a string of TOML.
fn quoted(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}
