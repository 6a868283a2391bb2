//! Fences drawn from models: a `figure` with `model`, and `assembly`.

use std::ops::Range;

use toml::Spanned;
use toml::de::DeValue;

use super::fence::{Fence, missing_alt, width};
use crate::manual::Error;
use crate::manual::document::ModelFigure;
use crate::manual::document::{Block, Inline, InlineKind, Kind, Step};
use crate::manual::literal::{self, Breaks};
use crate::manual::models::{Explode, Move, Named, PartCallout, Stage, StageStep, View};
use crate::manual::source::Remark;
use crate::manual::tables::{Keys, Toml};

const FIGURE: &[&str] = &["model", "alt", "caption", "width", "view", "hide", "ghost", "hatch", "explode", "callouts", "parts"];
/// The farthest that a part may be moved, mm.
const FAR: f64 = 100_000.0;

/// A `figure` that has `model`.
pub(super) fn figure(fence: &Fence, toml: &Toml, keys: &Keys, remarks: &mut Vec<Remark>) -> Result<Kind, Error> {
    let pictured = |name: &str| {
        ["picture", "crop", "screen", "background", "tone", "numbers"]
            .contains(&name)
            .then(|| format!("`{name}` is for pictures; this figure is drawn from a model"))
    };
    toml.check_keys(keys, FIGURE, pictured, remarks);
    let models = names(toml, keys, "model")?;
    if models.is_empty() {
        return Err(fence.error("`model` names no file", "for example: model = [\"body.stl\", \"lid.stl\"]"));
    }
    let alt = toml.text(keys, "alt")?.map(|(alt, _)| alt.to_owned()).unwrap_or_default();
    if alt.trim().is_empty() {
        remarks.push(missing_alt(&models[0].name, models[0].span));
    }
    let caption = match toml.text(keys, "caption")? {
        Some((text, range)) => vec![Inline { span: toml.span(range), kind: InlineKind::Text(text.to_owned()) }],
        None => Vec::new(),
    };
    let mut callouts = Vec::new();
    for (callout, range) in toml.tables(keys, "callouts", "a callout")? {
        toml.check_keys(&callout, &["part", "label"], |_| None, remarks);
        let span = toml.span(range.clone());
        let (part, _) = toml.required(&callout, "part", range)?;
        let label = toml.text(&callout, "label")?.map_or(part, |(label, _)| label);
        callouts.push(PartCallout { part: Named { name: part.to_owned(), span }, label: label.to_owned() });
    }
    Ok(Kind::Model(Box::new(ModelFigure {
        models,
        alt,
        caption,
        number: None,
        width: width(toml, keys)?,
        view: view(toml, keys)?,
        hide: names(toml, keys, "hide")?,
        ghost: names(toml, keys, "ghost")?,
        hatch: names(toml, keys, "hatch")?,
        explode: explode(toml, keys)?,
        callouts,
        parts: toml.flag(keys, "parts")?.unwrap_or(false),
        stage: None,
    })))
}

/// Steps in pictures and words: a procedure.
pub(super) fn assembly(fence: &Fence, remarks: &mut Vec<Remark>) -> Result<Kind, Error> {
    let toml = fence.toml();
    let table = toml.parse()?;
    let keys = Keys { table: table.get_ref(), name: "an assembly" };
    toml.check_keys(&keys, &["model", "view", "width", "hide", "hatch", "step"], |_| None, remarks);
    let models = names(&toml, &keys, "model")?;
    if models.is_empty() {
        return Err(fence.error("an assembly needs `model`", "for example: model = [\"body.stl\", \"lid.stl\"]"));
    }
    let view = view(&toml, &keys)?;
    let width = width(&toml, &keys)?;
    let (hide, hatch) = (names(&toml, &keys, "hide")?, names(&toml, &keys, "hatch")?);
    let mut read = Vec::new();
    for (step, range) in toml.tables(&keys, "step", "a step")? {
        toml.check_keys(&step, &["add", "from", "text", "alt", "zoom"], |_| None, remarks);
        let span = toml.span(range.clone());
        let add = names(&toml, &step, "add")?;
        let from = match toml.numbers::<3>(&step, "from", "[0, 0, 40]")? {
            None => None,
            Some((by, range)) => Some(moved(&toml, by, range)?),
        };
        let zoom = toml.text(&step, "zoom")?.map(|(name, range)| Named { name: name.to_owned(), span: toml.span(range) });
        let (text, at) = toml.required(&step, "text", range)?;
        let alt = toml.text(&step, "alt")?.map_or(text, |(alt, _)| alt);
        read.push((
            span,
            Inline { span: toml.span(at), kind: InlineKind::Text(text.to_owned()) },
            alt.to_owned(),
            StageStep { add, from, zoom },
        ));
    }
    if read.is_empty() {
        return Err(fence.error("an assembly needs a step", "begin each step with a line of [[step]]"));
    }
    let stages: Vec<StageStep> = read.iter().map(|(_, _, _, step)| step.clone()).collect();
    let steps = read.into_iter().enumerate().map(|(at, (span, text, alt, _))| {
        let figure = ModelFigure {
            models: models.clone(),
            alt,
            caption: Vec::new(),
            number: None,
            width,
            view,
            hide: hide.clone(),
            ghost: Vec::new(),
            hatch: hatch.clone(),
            explode: Explode::Together,
            callouts: Vec::new(),
            parts: false,
            stage: Some(Stage { steps: stages.clone(), at }),
        };
        let blocks = vec![
            Block { span: text.span, kind: Kind::Paragraph(vec![text]) },
            Block { span, kind: Kind::Model(Box::new(figure)) },
        ];
        Step { span, number: at as u64 + 1, blocks }
    });
    Ok(Kind::Procedure { steps: steps.collect() })
}

/// One name, or a list of them.
fn names(toml: &Toml, keys: &Keys, key: &str) -> Result<Vec<Named>, Error> {
    let named = |text: &str, range: Range<usize>| Named { name: text.to_owned(), span: toml.span(range) };
    if let Some(value) = keys.table.get(key)
        && let DeValue::String(text) = value.get_ref()
    {
        return Ok(vec![named(text, value.span())]);
    }
    let Some((items, _)) = toml.list(keys, key, "[\"…\", \"…\"]")? else { return Ok(Vec::new()) };
    items
        .iter()
        .map(|item| match item.get_ref() {
            DeValue::String(text) => Ok(named(text, item.span())),
            _ => Err(toml.error(
                item.span(),
                format!("`{key}` wants names in quotes"),
                Some(format!("for example: {key} = [\"…\", \"…\"]")),
            )),
        })
        .collect()
}

fn view(toml: &Toml, keys: &Keys) -> Result<View, Error> {
    const HINT: &str = "front, back, left, right, above, below and their mixtures such as \"front-right-above\", or { turn = 30, tilt = 20 } in degrees";
    let Some(value) = keys.table.get("view") else { return Ok(View::default()) };
    let wrong = |range: Range<usize>| toml.error(range, "`view` is no view".into(), Some(HINT.into()));
    match value.get_ref() {
        DeValue::String(text) => {
            let words = literal::turn_back(text, Breaks::Spaces);
            View::named(words.trim()).ok_or_else(|| wrong(value.span()))
        }
        DeValue::Table(table) => {
            let keys = Keys { table, name: "a view" };
            let angle = |key: &str, most: f64| match toml.number(&keys, key, "30")? {
                None => Ok(0),
                Some((degrees, _)) if degrees.abs() <= most => Ok((degrees * 1000.0).round() as i32),
                Some((_, range)) => {
                    let hint = Some(format!("between {} and {most} degrees", -most));
                    Err(toml.error(range, format!("`{key}` is too far"), hint))
                }
            };
            Ok(View { turn: angle("turn", 360.0)?, tilt: angle("tilt", 90.0)? })
        }
        _ => Err(wrong(value.span())),
    }
}

fn explode(toml: &Toml, keys: &Keys) -> Result<Explode, Error> {
    let Some(value) = keys.table.get("explode") else { return Ok(Explode::Together) };
    let wrong = |value: &Spanned<DeValue>| {
        let hint = "\"auto\", or how far each part moves in mm: { lid = [0, 0, 40], gasket = [0, 0, 20] }".to_owned();
        toml.error(value.span(), "`explode` cannot be this".into(), Some(hint))
    };
    match value.get_ref() {
        DeValue::String(text) if text.trim() == "auto" => Ok(Explode::Auto),
        DeValue::Table(table) => {
            let inner = Keys { table, name: "explode" };
            let mut moves = Vec::new();
            for (key, _) in table.iter() {
                let name = key.get_ref().to_string();
                if let Some((by, range)) = toml.numbers::<3>(&inner, &name, "[0, 0, 40]")? {
                    let by = moved(toml, by, range)?;
                    moves.push((Named { name, span: toml.span(key.span()) }, by));
                }
            }
            Ok(Explode::ByHand(moves))
        }
        _ => Err(wrong(value)),
    }
}

fn moved(toml: &Toml, by: [f64; 3], range: Range<usize>) -> Result<Move, Error> {
    if by.iter().any(|side| side.abs() > FAR) {
        return Err(toml.error(range, "this is farther than anything is drawn".into(), Some("lengths are in mm".into())));
    }
    Ok(by.map(|side| (side * 1000.0).round() as i64))
}
