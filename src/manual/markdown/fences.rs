//! Fenced blocks of our own: `figure`, `assembly`, `comic`, `qr`, `barcode`, `write-in`, `fold`, `cut`. Any other fence is code.

use std::ops::Range;

use super::fence::{Fence, missing_alt, width};
use super::{lettered, model_fences};
use crate::geometry::{Point, Rect};
use crate::lengths::Mm;
use crate::manual::Error;
use crate::manual::document::{
    Background, Balloon, BalloonKind, Callout, Comic, ComicPanel, Figure, Fit, Ground, Inline, InlineKind, Kind, Numbers,
    PanelHeight, Pen, Permille, Screen, Sound, Symbology, Tone, Treatment, plain_text,
};
use crate::manual::literal::{self, Breaks};
use crate::manual::source::{Level, Remark, Span};
use crate::manual::tables::{Keys, Toml, permille};

type Reader = fn(&Fence, &mut Vec<Remark>) -> Result<Kind, Error>;

/// The words after a fence that the program knows: a line each. What else a new kind needs stands in DEVELOPERS.md, "How to add".
const KINDS: &[(&str, Reader)] = &[
    ("figure", figure),
    ("assembly", model_fences::assembly),
    ("comic", comic),
    ("qr", qr),
    ("barcode", barcode),
    ("write-in", write_in),
    ("fold", fold),
    ("cut", cut),
];

/// The words after a fence of this format.
pub fn names() -> impl Iterator<Item = &'static str> {
    KINDS.iter().map(|(name, _)| *name)
}

const SCREENS: &[(&str, Screen)] = &[
    ("photo", Screen::Photo),
    ("halftone", Screen::Halftone),
    ("line", Screen::Line),
    ("ink", Screen::Ink),
    ("drawing", Screen::Drawing),
    ("none", Screen::None),
];

const NUMBERS: &[(&str, Numbers)] = &[("placed", Numbers::Placed), ("written", Numbers::Written)];

const AT: &str = "[50, 50]";

/// `None` when the fence is one of code.
///
/// # Errors
/// When a block of ours is not TOML, lacks a key it needs, or has a value that means nothing.
pub(super) fn read(info: &str, fence: &Fence, remarks: &mut Vec<Remark>) -> Result<Option<Kind>, Error> {
    match KINDS.iter().find(|(name, _)| *name == info) {
        Some((_, reader)) => reader(fence, remarks).map(Some),
        None => Ok(None),
    }
}

fn figure(fence: &Fence, remarks: &mut Vec<Remark>) -> Result<Kind, Error> {
    let toml = fence.toml();
    let table = toml.parse()?;
    let keys = Keys { table: table.get_ref(), name: "a figure" };
    if table.get_ref().contains_key("model") {
        return model_fences::figure(fence, &toml, &keys, remarks);
    }
    toml.check_keys(
        &keys,
        &["picture", "alt", "caption", "width", "crop", "screen", "tone", "background", "drawing", "numbers", "callouts"],
        |_| None,
        remarks,
    );
    let (picture, at) = fence.required(&toml, &keys, "picture")?;
    let picture_span = toml.span(at);
    let alt = toml.text(&keys, "alt")?.map(|(alt, _)| alt.to_owned()).unwrap_or_default();
    if alt.trim().is_empty() && !picture.starts_with("sign:") {
        remarks.push(missing_alt(picture, picture_span));
    }
    let caption = match toml.text(&keys, "caption")? {
        Some((text, range)) => vec![Inline { span: toml.span(range), kind: InlineKind::Text(text.to_owned()) }],
        None => Vec::new(),
    };
    let mut callouts = Vec::new();
    for (callout, range) in toml.tables(&keys, "callouts", "a callout")? {
        toml.check_keys(&callout, &["at", "label"], |_| None, remarks);
        let span = toml.span(range.clone());
        let (at, at_range) = toml
            .numbers::<2>(&callout, "at", AT)?
            .ok_or_else(|| toml.error(range.clone(), "a callout needs `at`".into(), Some(format!("for example: at = {AT}"))))?;
        let (label, _) = toml.required(&callout, "label", range)?;
        remarks.extend(shares("at", &at, toml.span(at_range)));
        let callout = Callout { span, at: Point::from(at).map(permille), label: label.to_owned() };
        if callout.is_beside() {
            remarks.push(Remark {
                rule: "callout-off-picture",
                level: Level::Error,
                message: format!("the callout {label:?} points beside the picture"),
                hint: Some(
                    "`at` is measured in % of the picture's width and height, from 0 to 100, from its top left corner".into(),
                ),
                span,
            });
        }
        callouts.push(callout);
    }
    Ok(Kind::Figure(Figure {
        picture: picture.to_owned(),
        picture_span,
        alt,
        caption,
        number: None,
        width: width(&toml, &keys)?,
        crop: crop(&toml, &keys, remarks)?,
        screen: toml.choice(&keys, "screen", SCREENS)?,
        treatment: treatment(&toml, &keys, remarks)?,
        numbers: toml.choice(&keys, "numbers", NUMBERS)?.unwrap_or_default(),
        callouts,
    }))
}

fn treatment(toml: &Toml, keys: &Keys, remarks: &mut Vec<Remark>) -> Result<Treatment, Error> {
    const TONES: &[(&str, Tone)] = &[("flat", Tone::Flat), ("as-is", Tone::AsIs)];
    const BACKGROUNDS: &[(&str, Background)] = &[("keep", Background::Keep), ("white", Background::White)];
    let mut pen = Pen::default();
    if let Some(drawing) = toml.table(keys, "drawing", "a drawing")? {
        toml.check_keys(&drawing, &["strength", "line", "black"], |_| None, remarks);
        let said = |key: &str, example: &str, least: f64, most: f64, times: f64| -> Result<Option<u8>, Error> {
            let Some((number, range)) = toml.number(&drawing, key, example)? else { return Ok(None) };
            if (least..=most).contains(&number) {
                return Ok(Some((number * times + 0.5) as u8));
            }
            let told = format!("`{key}` of a drawing is between {least} and {most}");
            Err(toml.error(range, told, Some(format!("for example: drawing = {{ {key} = {example} }}"))))
        };
        pen = Pen {
            strength: said("strength", "50", 0.0, 100.0, 1.0)?,
            line: said("line", "2.5", 2.0, 6.0, 10.0)?,
            black: said("black", "20", 0.0, 60.0, 1.0)?,
        };
    }
    Ok(Treatment {
        tone: toml.choice(keys, "tone", TONES)?.unwrap_or_default(),
        background: toml.choice(keys, "background", BACKGROUNDS)?.unwrap_or_default(),
        pen,
    })
}

fn off(at: Point<Permille>) -> bool {
    at.to_array().iter().any(|side| !(0..=1000).contains(side))
}

/// Shares of 1 where percent are meant: `[0.87, 0.60]` would be a speck of the top left corner.
fn shares(key: &str, numbers: &[f64], span: Span) -> Option<Remark> {
    let meant = numbers.iter().all(|number| (0.0..=1.0).contains(number)) && numbers.iter().any(|number| number.fract() != 0.0);
    let percent = |number: &f64| format!("{}", (number * 1000.0).round() / 10.0);
    let inside = numbers.iter().map(percent).collect::<Vec<_>>().join(", ");
    meant.then(|| Remark {
        rule: "share-for-percent",
        level: Level::Warning,
        message: format!("`{key}` is measured in percent: as written it means the top left corner"),
        hint: Some(format!("if shares of 1 were meant: {key} = [{inside}]")),
        span,
    })
}

fn crop(toml: &Toml, keys: &Keys, remarks: &mut Vec<Remark>) -> Result<Option<Rect<Permille>>, Error> {
    const EXAMPLE: &str = "[10, 0, 80, 100]";
    let Some((sides, range)) = toml.numbers::<4>(keys, "crop", EXAMPLE)? else {
        return Ok(None);
    };
    remarks.extend(shares("crop", &sides, toml.span(range.clone())));
    let crop = Rect::from(sides.map(permille));
    let inside = crop.x >= 0
        && crop.y >= 0
        && crop.width > 0
        && crop.height > 0
        && crop.x + crop.width <= 1000
        && crop.y + crop.height <= 1000;
    if inside {
        return Ok(Some(crop));
    }
    let hint = format!("left, top, width and height in % of the picture, for example: crop = {EXAMPLE}");
    Err(toml.error(range, "`crop` leaves the picture".into(), Some(hint)))
}

fn comic(fence: &Fence, remarks: &mut Vec<Remark>) -> Result<Kind, Error> {
    let toml = fence.toml();
    let table = toml.parse()?;
    let keys = Keys { table: table.get_ref(), name: "a comic" };
    toml.check_keys(&keys, &["columns", "panel"], |_| None, remarks);
    let columns = small(&toml, &keys, "columns", 2)?.unwrap_or(1);
    let mut panels = Vec::new();
    for (panel, range) in toml.tables(&keys, "panel", "a panel")? {
        panels.push(comic_panel(&toml, &panel, range, columns, remarks)?);
    }
    if panels.is_empty() {
        return Err(fence.error("a comic needs a panel", "begin each panel with a line of [[panel]]"));
    }
    Ok(Kind::Comic(Comic { columns, panels }))
}

/// A whole number from 1 to `most`.
fn small(toml: &Toml, keys: &Keys, key: &str, most: u8) -> Result<Option<u8>, Error> {
    let Some((number, range)) = toml.number(keys, key, "1")? else {
        return Ok(None);
    };
    let found = (1..=most).find(|whole| f64::from(*whole) == number);
    found.map(Some).ok_or_else(|| {
        let told = if most > 1 { format!("`{key}` is 1 or {most}") } else { format!("`{key}` can only be 1 here") };
        let hint = match key {
            "span" => "`span` counts columns: a panel takes one of them, or both where `columns = 2`",
            _ => "a strip has room for two columns of panels at most; a panel that takes both says `span = 2`",
        };
        toml.error(range, told, Some(hint.into()))
    })
}

fn comic_panel(
    toml: &Toml,
    keys: &Keys,
    range: Range<usize>,
    columns: u8,
    remarks: &mut Vec<Remark>,
) -> Result<ComicPanel, Error> {
    const GROUNDS: &[(&str, Ground)] =
        &[("plain", Ground::Plain), ("dots", Ground::Dots), ("rays", Ground::Rays), ("hatch", Ground::Hatch)];
    let elsewhere =
        |name: &str| BALLOON_KEYS.contains(&name).then(|| format!("`{name}` belongs to a balloon: [[panel.balloon]]"));
    const FITS: &[(&str, Fit)] = &[("whole", Fit::Whole), ("cover", Fit::Cover)];
    const KEYS: &[&str] = &["picture", "alt", "caption", "span", "height", "aspect", "fit", "ground", "screen", "balloon"];
    toml.check_keys(keys, KEYS, elsewhere, remarks);
    let span = toml.span(range);
    let picture = toml.text(keys, "picture")?;
    let picture_span = picture.as_ref().map_or(span, |(_, at)| toml.span(at.clone()));
    let alt = toml.text(keys, "alt")?.map(|(alt, _)| alt.to_owned()).unwrap_or_default();
    if let Some((address, _)) = &picture
        && alt.trim().is_empty()
        && !address.starts_with("sign:")
    {
        remarks.push(missing_alt(address, picture_span));
    }
    let mut balloons = Vec::new();
    for (balloon, range) in toml.tables(keys, "balloon", "a balloon")? {
        balloons.extend(self::balloon(toml, &balloon, range, remarks)?);
    }
    let caption = toml.text(keys, "caption")?;
    Ok(ComicPanel {
        span,
        picture: picture.map(|(address, _)| address.to_owned()),
        picture_span,
        alt,
        caption_span: caption.as_ref().map_or(span, |(_, at)| toml.span(at.clone())),
        caption: caption.map(|(caption, _)| caption.to_owned()),
        columns: small(toml, keys, "span", columns)?.unwrap_or(1),
        height: panel_height(toml, keys)?,
        fit: toml.choice(keys, "fit", FITS)?.unwrap_or_default(),
        ground: toml.choice(keys, "ground", GROUNDS)?.unwrap_or_default(),
        screen: toml.choice(keys, "screen", SCREENS)?,
        balloons,
    })
}

const BALLOON_KEYS: &[&str] = &["text", "at", "tail", "kind", "reverse", "size", "rise", "outline", "cross"];

/// A length, or what the width is to the height.
fn panel_height(toml: &Toml, keys: &Keys) -> Result<Option<PanelHeight>, Error> {
    let height = toml.length(keys, "height")?;
    let Some((text, range)) = toml.text(keys, "aspect")? else { return Ok(height.map(PanelHeight::Length)) };
    if height.is_some() {
        let hint = "leave one of them out: `aspect` says how high the panel is for its width";
        return Err(toml.error(range, "a panel has `height` or `aspect`, not both".into(), Some(hint.into())));
    }
    let parts = text.split_once(':').map(|(wide, high)| [wide, high].map(|part| part.trim().parse::<u8>().ok()));
    match parts {
        // Neither a stripe nor a tower.
        Some([Some(wide), Some(high)])
            if wide > 0 && high > 0 && wide <= high.saturating_mul(10) && high <= wide.saturating_mul(5) =>
        {
            Ok(Some(PanelHeight::Aspect([wide, high])))
        }
        _ => {
            let hint = "width to height in whole numbers, from \"10:1\" to \"1:5\", for example: aspect = \"3:2\"";
            Err(toml.error(range, format!("`aspect` cannot be {text:?}"), Some(hint.into())))
        }
    }
}

fn balloon(toml: &Toml, keys: &Keys, range: Range<usize>, remarks: &mut Vec<Remark>) -> Result<Option<Balloon>, Error> {
    const KINDS: &[(&str, BalloonKind)] = &[
        ("speech", BalloonKind::Speech),
        ("thought", BalloonKind::Thought),
        ("shout", BalloonKind::Shout),
        ("whisper", BalloonKind::Whisper),
        ("sound", BalloonKind::Sound),
    ];
    toml.check_keys(keys, BALLOON_KEYS, |_| None, remarks);
    let span = toml.span(range.clone());
    let (text, text_range) = toml.required(keys, "text", range.clone())?;
    let text_span = toml.span(text_range);
    let at = toml.numbers::<2>(keys, "at", AT)?.ok_or_else(|| {
        toml.error(range, "a balloon needs `at`".into(), Some(format!("where its centre is, for example: at = {AT}")))
    })?;
    let tail = toml.numbers::<2>(keys, "tail", AT)?;
    for (key, ends) in [("at", Some(&at)), ("tail", tail.as_ref())] {
        remarks.extend(ends.and_then(|(point, range)| shares(key, point, toml.span(range.clone()))));
        if let Some((point, range)) = ends
            && off(Point::from(*point).map(permille))
        {
            remarks.push(Remark {
                rule: "balloon-off-panel",
                level: Level::Error,
                message: format!("`{key}` of this balloon lies beside its panel"),
                hint: Some("it is measured in % of the panel, from 0 to 100, from its top left corner".into()),
                span: toml.span(range.clone()),
            });
        }
    }
    let reverse = toml.flag(keys, "reverse")?.unwrap_or_default();
    if literal::turn_back(text, Breaks::Spaces).trim().is_empty() {
        remarks.push(Remark {
            rule: "balloon-empty",
            level: Level::Warning,
            message: "this balloon says nothing: it is left out".into(),
            hint: Some("write what is said, or delete the balloon".into()),
            span: text_span,
        });
        return Ok(None);
    }
    let words = lettered::inlines(text, text_span);
    let kind = toml.choice(keys, "kind", KINDS)?.unwrap_or_default();
    let sound = sound(toml, keys, kind)?;
    Ok(Some(Balloon {
        span,
        text: plain_text(&words),
        text_span,
        words,
        reverse,
        at: Point::from(at.0).map(permille),
        tail: tail.map(|(point, _)| Point::from(point).map(permille)),
        kind,
        sound,
    }))
}

/// How free lettering is drawn.
fn sound(toml: &Toml, keys: &Keys, kind: BalloonKind) -> Result<Sound, Error> {
    let usual = Sound::default();
    let within = |key: &str, example: &str, least: f64, most: f64| -> Result<Option<f64>, Error> {
        let Some((number, range)) = toml.number(keys, key, example)? else { return Ok(None) };
        let hint = Some(format!("for example: {key} = {example}"));
        match kind {
            BalloonKind::Sound if (least..=most).contains(&number) => Ok(Some(number)),
            BalloonKind::Sound => Err(toml.error(range, format!("`{key}` of a sound is between {least} and {most}"), hint)),
            _ => Err(toml.error(range, format!("only a sound has a `{key}`"), Some("write kind = \"sound\" beside it".into()))),
        }
    };
    Ok(Sound {
        size: within("size", "200", 60.0, 400.0)?.map_or(usual.size, |size| size as u16),
        rise: within("rise", "10", -50.0, 50.0)?.map_or(usual.rise, |rise| rise as i8),
        outline: toml.flag(keys, "outline")?.unwrap_or_default(),
        cross: kind == BalloonKind::Sound && toml.flag(keys, "cross")?.unwrap_or_default(),
    })
}

fn qr(fence: &Fence, _: &mut Vec<Remark>) -> Result<Kind, Error> {
    let data = fence.text.trim();
    match data.is_empty() {
        true => Err(fence.error("this qr block is empty", "write the address or text to be coded between the fences")),
        false => Ok(Kind::Qr { data: data.to_owned() }),
    }
}

fn barcode(fence: &Fence, remarks: &mut Vec<Remark>) -> Result<Kind, Error> {
    const SYMBOLOGIES: &[(&str, Symbology)] = &[("code128", Symbology::Code128), ("ean13", Symbology::Ean13)];
    let toml = fence.toml();
    let table = toml.parse()?;
    let keys = Keys { table: table.get_ref(), name: "a barcode" };
    toml.check_keys(&keys, &["kind", "data"], |_| None, remarks);
    let (data, at) = fence.required(&toml, &keys, "data")?;
    if literal::turn_back(data, Breaks::Kept).is_empty() {
        return Err(toml.error(at, "`data` of this barcode is empty".into(), Some("write what is to be coded".into())));
    }
    let symbology = toml.choice(&keys, "kind", SYMBOLOGIES)?.unwrap_or(Symbology::Code128);
    Ok(Kind::Barcode { symbology, data: data.to_owned() })
}

/// How high a box to write in is when nothing is said, and at most.
const WRITE_IN: [Mm; 2] = [Mm::from_micrometres(15_000), Mm::from_micrometres(200_000)];

fn write_in(fence: &Fence, remarks: &mut Vec<Remark>) -> Result<Kind, Error> {
    let toml = fence.toml();
    let table = toml.parse()?;
    let keys = Keys { table: table.get_ref(), name: "a write-in" };
    toml.check_keys(&keys, &["height", "label"], |_| None, remarks);
    let (label, at) = fence.required(&toml, &keys, "label")?;
    if literal::turn_back(label, Breaks::Spaces).trim().is_empty() {
        let hint = "write what belongs into the box, for example: label = \"Tested by, date\"";
        return Err(toml.error(at, "`label` of this write-in is empty".into(), Some(hint.into())));
    }
    let [usual, most] = WRITE_IN;
    let height = toml.length(&keys, "height")?.unwrap_or(usual);
    if height > most {
        let range = keys.entry("height").map_or(at, |value| value.span());
        let hint = "for a stamp or a signature 15 mm are enough: height = \"15 mm\"";
        return Err(toml.error(range, format!("`height` of a write-in is at most {most}"), Some(hint.into())));
    }
    Ok(Kind::WriteIn { height, label: label.to_owned() })
}

fn fold(fence: &Fence, _: &mut Vec<Remark>) -> Result<Kind, Error> {
    empty(fence, "fold", Kind::Fold)
}

fn cut(fence: &Fence, _: &mut Vec<Remark>) -> Result<Kind, Error> {
    empty(fence, "cut", Kind::Cut)
}

fn empty(fence: &Fence, name: &str, kind: Kind) -> Result<Kind, Error> {
    match fence.text.trim().is_empty() {
        true => Ok(kind),
        false => Err(fence.error(&format!("a {name} block holds nothing"), "take the text out of the fences")),
    }
}
