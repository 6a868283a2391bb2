//! How a strip looks: sizes, spaces, lines, and the few choices of shape. Three styles are built in; a file may change any key.
//!
//! A style never holds dots: it is written in points and millimetres and becomes dots only in a context with its paper.

use serde::Deserialize;
use toml::de::{DeTable, DeValue};

use crate::lengths::{Dots, Mm, Pt};
use crate::manual::document::Pen;
use crate::names;
use crate::type_setting::Family;

const PLAIN: &str = include_str!("styles/plain.toml");
const COMPACT: &str = include_str!("styles/compact.toml");
const COMIC: &str = include_str!("styles/comic.toml");

/// Names of the built-in styles and their files, which document every key.
pub const BUILT_IN: [(&str, &str); 3] = [("plain", PLAIN), ("comic", COMIC), ("compact", COMPACT)];

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Style {
    /// The style whose keys this one changes.
    pub base: String,
    pub links: Links,
    #[serde(rename = "type")]
    pub type_: TypeStyle,
    pub space: SpaceStyle,
    pub line: LineStyle,
    pub title: TitleStyle,
    pub cover: CoverStyle,
    pub section: SectionStyle,
    pub subsection: SubsectionStyle,
    pub list: ListStyle,
    pub aside: AsideStyle,
    pub rule: RuleStyle,
    pub step: StepStyle,
    pub safety: SafetyStyle,
    pub figure: FigureStyle,
    pub drawing: DrawingStyle,
    pub fold: FoldStyle,
    pub comic: ComicStyle,
}

/// What becomes of the addresses that links lead to: paper cannot be clicked.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Links {
    /// A numbered note each, at the end of the section.
    Notes,
    /// One QR code a section with more than three, else notes.
    Codes,
    None,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TypeStyle {
    pub family: FamilyName,
    pub heading_family: FamilyName,
    pub body: Size,
    pub small: Size,
    pub title: Size,
    pub subtitle: Size,
    pub section: Size,
    pub subsection: Size,
    pub code: Size,
    pub signal: Size,
    pub lettering: Size,
    pub minimum: Size,
    pub leading: u16,
    pub narrow: u16,
    pub justified: bool,
    pub hyphenate: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpaceStyle {
    pub top: Space,
    pub bottom: Space,
    pub side: Space,
    pub paragraph: Space,
    pub section: Space,
    pub subsection: Space,
    pub after_heading: Space,
    pub item: Space,
    pub step: Space,
    pub block: Space,
    pub indent: Space,
    pub padding: Space,
    pub gutter: Space,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LineStyle {
    pub thin: Space,
    pub medium: Space,
    pub title: Space,
    pub section: Space,
    pub safety: Space,
    pub aside: Space,
    pub imprint: Space,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SectionStyle {
    pub look: SectionLook,
    pub capitals: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TitleStyle {
    pub align: Align,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CoverStyle {
    pub fill: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SubsectionStyle {
    pub look: SectionLook,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ListStyle {
    pub bullet: Bullet,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Bullet {
    /// Disc, ring and square by depth.
    Turns,
    Disc,
    Ring,
    Square,
    Dash,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AsideStyle {
    pub look: AsideLook,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum AsideLook {
    Bar,
    Band,
    Frame,
    /// A light grey behind it.
    Tone,
    /// White on black.
    Reverse,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RuleStyle {
    pub look: RuleLook,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum RuleLook {
    Line,
    Dots,
    Ornament,
}

/// Where something stands that is narrower than its column. Left follows the direction of the language: it is where lines begin.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Align {
    Left,
    Centre,
}

impl Align {
    /// How far in something begins that leaves so much of its column.
    pub fn left(self, spare: Dots) -> Dots {
        match self {
            Align::Left => Dots(0),
            Align::Centre => spare.max(Dots(0)) / 2,
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Side {
    Below,
    Above,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum SectionLook {
    Bar,
    Reverse,
    Rule,
    Plain,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StepStyle {
    pub badge: Badge,
    pub size: Space,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Badge {
    Disc,
    Box,
    Burst,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SafetyStyle {
    pub sign: Space,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FigureStyle {
    pub frame: bool,
    pub number: bool,
    pub caption: Side,
    pub align: Align,
    pub outline: Space,
    pub edge: Space,
    pub beside: bool,
    pub largest: ColumnShare,
}

/// How a photograph becomes a drawing.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DrawingStyle {
    pub strength: Share,
    pub line: LineDots,
    pub black: Share,
}

impl DrawingStyle {
    pub fn pen(&self) -> Pen {
        Pen { strength: Some(self.strength.0), line: Some(self.line.0), black: Some(self.black.0) }
    }
}

/// 0 to 100.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(try_from = "u8")]
pub struct Share(pub u8);

impl TryFrom<u8> for Share {
    type Error = String;
    fn try_from(percent: u8) -> Result<Share, String> {
        if percent <= 100 { Ok(Share(percent)) } else { Err(format!("a share is between 0 and 100, not {percent}")) }
    }
}

/// Width of a drawn line in tenths of a dot, 2 to 6 dots.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(try_from = "f64")]
pub struct LineDots(pub u8);

impl TryFrom<f64> for LineDots {
    type Error = String;
    fn try_from(dots: f64) -> Result<LineDots, String> {
        match (2.0..=6.0).contains(&dots) {
            true => Ok(LineDots((dots * 10.0 + 0.5) as u8)),
            false => Err(format!("a drawn line is between 2 and 6 dots wide, not {dots}")),
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FoldStyle {
    pub mark: Space,
    pub number: bool,
}

#[derive(Clone, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ComicStyle {
    pub border: Space,
    pub number: bool,
}

/// A size of type, 4 to 96 pt.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(try_from = "f64")]
pub struct Size(pub Pt);

impl TryFrom<f64> for Size {
    type Error = String;
    fn try_from(points: f64) -> Result<Size, String> {
        match (4.0..=96.0).contains(&points) {
            true => Ok(Size(Pt::new(points))),
            false => Err(format!("a size of type is between 4 and 96 points, not {points}")),
        }
    }
}

/// A space or the thickness of a line, 0 to 50 mm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(try_from = "f64")]
pub struct Space(pub Mm);

impl TryFrom<f64> for Space {
    type Error = String;
    fn try_from(millimetres: f64) -> Result<Space, String> {
        match (0.0..=50.0).contains(&millimetres) {
            true => Ok(Space(Mm::new(millimetres))),
            false => Err(format!("a space is between 0 and 50 mm, not {millimetres}")),
        }
    }
}

/// A share of the column, 20 to 100 %.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(try_from = "u8")]
pub struct ColumnShare(u8);

impl TryFrom<u8> for ColumnShare {
    type Error = String;
    fn try_from(percent: u8) -> Result<ColumnShare, String> {
        match (20..=100).contains(&percent) {
            true => Ok(ColumnShare(percent)),
            false => Err(format!("a picture's share of the column is between 20 and 100 %, not {percent}")),
        }
    }
}

impl ColumnShare {
    pub fn percent(self) -> i32 {
        i32::from(self.0)
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum FamilyName {
    Sans,
    Mono,
    Lettering,
}

impl From<FamilyName> for Family {
    fn from(name: FamilyName) -> Family {
        match name {
            FamilyName::Sans => Family::Sans,
            FamilyName::Mono => Family::Mono,
            FamilyName::Lettering => Family::Lettering,
        }
    }
}

/// Why a style file cannot be used, and the byte at which the reason stands.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct StyleError {
    pub message: String,
    pub hint: Option<String>,
    pub offset: Option<usize>,
}

impl Style {
    /// A built-in style by name.
    pub fn named(name: &str) -> Option<Style> {
        let (_, text) = BUILT_IN.iter().find(|(known, _)| *known == name)?;
        Some(Style::read(text).expect("a built-in style is sound"))
    }

    /// Reads a style file: its keys laid over those of its `base` ("plain" when it names none).
    ///
    /// # Errors
    /// Text that is not TOML, a key that no style has (with the nearest that one has), a value out of range.
    pub fn read(text: &str) -> Result<Style, StyleError> {
        let parsed = DeTable::parse(text).map_err(|error| StyleError {
            message: error.message().to_string(),
            hint: None,
            offset: error.span().map(|span| span.start),
        })?;
        let known: toml::Table = toml::from_str(PLAIN).expect("a built-in style is sound");
        refuse_unknown(parsed.get_ref(), &known)?;
        let own: toml::Table = toml::from_str(text).map_err(|error| StyleError {
            message: error.message().to_string(),
            hint: None,
            offset: error.span().map(|span| span.start),
        })?;
        let base = own.get("base").and_then(|value| value.as_str()).unwrap_or("plain");
        let mut whole = known;
        match base {
            "plain" => {}
            "comic" => lay_over(&mut whole, toml::from_str(COMIC).expect("a built-in style is sound")),
            "compact" => lay_over(&mut whole, toml::from_str(COMPACT).expect("a built-in style is sound")),
            other => {
                return Err(StyleError {
                    message: format!("there is no style {other:?} to start from"),
                    hint: Some("base is \"plain\", \"comic\" or \"compact\"".into()),
                    offset: text.find("base"),
                });
            }
        }
        lay_over(&mut whole, own);
        Style::deserialize(toml::Value::Table(whole)).map_err(|error| {
            let message = error.message().trim().to_string();
            StyleError { offset: blamed(text), message, hint: Some("every key is explained in the style \"plain\"".into()) }
        })
    }
}

/// The first value of the file that no style could hold on its own.
fn blamed(text: &str) -> Option<usize> {
    let parsed = DeTable::parse(text).ok()?;
    let plain: toml::Table = toml::from_str(PLAIN).expect("a built-in style is sound");
    for (section, value) in parsed.get_ref() {
        let DeValue::Table(table) = value.get_ref() else { continue };
        for (key, value) in table {
            let mut trial = plain.clone();
            let own: toml::Table = toml::from_str(text).ok()?;
            let changed = own.get(section.get_ref().as_ref())?.get(key.get_ref().as_ref())?.clone();
            trial.get_mut(section.get_ref().as_ref())?.as_table_mut()?.insert(key.get_ref().to_string(), changed);
            if Style::deserialize(toml::Value::Table(trial)).is_err() {
                return Some(value.span().start);
            }
        }
    }
    None
}

fn lay_over(under: &mut toml::Table, over: toml::Table) {
    for (key, value) in over {
        match (under.get_mut(&key), value) {
            (Some(toml::Value::Table(under)), toml::Value::Table(over)) => lay_over(under, over),
            (_, value) => {
                under.insert(key, value);
            }
        }
    }
}

fn refuse_unknown(table: &DeTable<'_>, known: &toml::Table) -> Result<(), StyleError> {
    for (key, value) in table {
        let name = key.get_ref().as_ref();
        match (known.get(name), value.get_ref()) {
            (None, _) => {
                let known = || known.keys().map(String::as_str);
                let hint = match names::nearest(name, known()) {
                    Some(near) => format!("the nearest is {near:?}"),
                    None => format!("this table knows {}", known().collect::<Vec<_>>().join(", ")),
                };
                return Err(StyleError {
                    message: format!("no style has a key {name:?}"),
                    hint: Some(hint),
                    offset: Some(key.span().start),
                });
            }
            (Some(toml::Value::Table(known)), DeValue::Table(inner)) => refuse_unknown(inner, known)?,
            _ => {}
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn built_in_styles_are_sound_and_differ() {
        let (plain, comic) = (Style::named("plain").unwrap(), Style::named("comic").unwrap());
        assert_ne!(plain, comic);
        assert_eq!(plain.type_.body, comic.type_.body);
        assert!(Style::named("grand").is_none());
    }

    #[test]
    fn a_file_changes_only_its_own_keys() {
        let style = Style::read("base = \"comic\"\n[type]\nbody = 8\n").unwrap();
        assert_eq!(style.type_.body, Size(Pt::new(8.0)));
        assert_eq!(style.type_.title, Style::named("comic").unwrap().type_.title);
    }

    #[test]
    fn an_unknown_key_names_the_nearest_and_its_place() {
        let error = Style::read("[type]\nboddy = 8\n").unwrap_err();
        assert_eq!((error.offset, error.hint.as_deref()), (Some(7), Some("the nearest is \"body\"")));
    }

    #[test]
    fn a_value_out_of_range_is_blamed_where_it_stands() {
        let error = Style::read("[space]\ntop = 1\nside = 90\n").unwrap_err();
        assert_eq!(error.offset, Some(23));
        assert!(error.message.contains("between 0 and 50 mm"), "{}", error.message);
    }
}
