//! A figure of the manual as a drawing: its parts by name, in their places or taken apart, a size, and strokes.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::apart::{self, Piece};
use super::draw::{self, Frame, Look, Pens, Placed, Way};
use super::error::Error;
use super::geometry::{Extent, Vec3, add, scale, sub};
use super::hatch;
use super::inset::{self, Inset};
use super::model_cache::{Model, Models, Part};
use super::stage;
use super::strokes::{self, Stroke};
use super::view::Axes;
use crate::geometry::{Point, Size};
use crate::manual::document::ModelFigure;
use crate::manual::models::{Explode, Named};
use crate::manual::source::{Level, Remark, Span};
use crate::names;

/// Most parts of one figure.
const MOST: usize = 2000;

/// What a figure shows, before its size is known.
pub struct Picture {
    models: Vec<Arc<Model>>,
    parts: Vec<Shown>,
    axes: Axes,
    ways: Vec<Way>,
    arrows: Vec<Way>,
    /// Of all steps, when it is one of several: their scale is the same.
    frame: Extent,
    /// Of the drawing itself: white above and below it is cut off.
    own: Extent,
    /// Parts, of those shown, that are shown again, enlarged.
    zoom: Vec<usize>,
    /// How many names of parts are hatched.
    hatched: usize,
}

struct Shown {
    model: usize,
    part: usize,
    offset: Vec3,
    look: Look,
    /// Which of the hatched parts it is.
    hatch: Option<usize>,
}

/// A name that no part has, and where it stands.
pub struct Trouble {
    pub error: Error,
    pub span: Span,
}

impl Trouble {
    /// What is said of it.
    pub fn remark(&self) -> Remark {
        let (message, hint) = (self.error.to_string(), self.error.hint());
        Remark { rule: "model-unusable", level: Level::Error, message, hint, span: self.span }
    }
}

/// Parts that are equal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    pub name: String,
    pub count: usize,
    shape: String,
}

/// A drawing of a size.
pub struct Drawing {
    /// Dots.
    pub width: u32,
    pub height: u32,
    pub strokes: Vec<Stroke>,
    /// Arrows that are drawn in front: from, to, in dots.
    pub arrows: Vec<[Point<f64>; 2]>,
    /// A part once more, enlarged; none when it is large enough as it is.
    pub inset: Option<Inset>,
    scene: super::scene::Scene,
    owners: Vec<(usize, usize)>,
}

impl Picture {
    /// # Errors
    /// A model that cannot be used, with the place of its name; a name that no part has; nothing left to draw.
    pub fn open(models: &Models, figure: &ModelFigure) -> Result<Picture, Trouble> {
        let mut loaded = Vec::new();
        for named in &figure.models {
            loaded.push(models.load(&named.name).map_err(|error| Trouble { error, span: named.span })?);
        }
        let span = figure.models.first().map(|named| named.span).unwrap_or_default();
        let all: Vec<(usize, usize)> =
            loaded.iter().enumerate().flat_map(|(m, model)| (0..model.parts.len()).map(move |p| (m, p))).collect();
        if all.len() > MOST {
            let reason = format!("it has {} parts, more than {MOST}", all.len());
            return Err(Trouble { error: Error::TooLarge { address: figure.models[0].name.clone(), reason }, span });
        }
        let part = |n: usize| &loaded[all[n].0].parts[all[n].1];
        let find = |named: &Named| found(&named.name, all.len(), &part).map_err(|error| Trouble { error, span: named.span });
        let mut looks = vec![Some(Look::Usual); all.len()];
        for named in &figure.ghost {
            find(named)?.into_iter().for_each(|n| looks[n] = Some(Look::Ghost));
        }
        for named in &figure.hide {
            find(named)?.into_iter().for_each(|n| looks[n] = None);
        }
        let axes = Axes::new(f64::from(figure.view.turn) / 1000.0, f64::from(figure.view.tilt) / 1000.0);
        let mut hatch = vec![None; all.len()];
        for (turn, named) in figure.hatch.iter().enumerate() {
            find(named)?.into_iter().for_each(|n| hatch[n] = Some(turn));
        }
        let pieces: Vec<Piece> = (0..all.len()).map(|n| Piece { mesh: &part(n).mesh, extent: part(n).extent }).collect();
        let shown: Vec<bool> = looks.iter().map(Option::is_some).collect();
        let mut offsets = vec![[0.0; 3]; all.len()];
        let (mut ways, mut arrows) = (Vec::new(), Vec::new());
        let mut frame = Extent::default();
        if let Some(stage) = &figure.stage {
            let added = stage.steps.iter().map(|step| {
                let each = step.add.iter().map(&find).collect::<Result<Vec<_>, _>>()?;
                Ok(each.into_iter().flatten().collect())
            });
            let added = added.collect::<Result<Vec<Vec<usize>>, Trouble>>()?;
            let staging = stage::staging(&stage.steps, &added, &pieces, &shown);
            for n in (0..all.len()).filter(|n| shown[*n]) {
                let places = [[0.0; 3], staging.from[n]].map(|offset| Placed { mesh: &part(n).mesh, offset, look: Look::Usual });
                frame = frame.join(draw::extent(&places, &axes));
                match staging.since[n] {
                    Some(at) if at > stage.at => looks[n] = None,
                    Some(at) if at == stage.at => offsets[n] = staging.from[n],
                    // What was there is thin beside what is new.
                    _ if looks[n] == Some(Look::Usual) && !added[stage.at].is_empty() => looks[n] = Some(Look::Thin),
                    _ => {}
                }
            }
            arrows = staging.arrows(stage.at);
        } else {
            let there: Vec<usize> = (0..all.len()).filter(|n| shown[*n]).collect();
            let seen: Vec<Piece> = there.iter().map(|n| pieces[*n]).collect();
            let moved = match &figure.explode {
                Explode::Together => Vec::new(),
                Explode::Auto => apart::explode(&seen, &axes),
                Explode::ByHand(moves) => {
                    for (named, by) in moves {
                        find(named)?.into_iter().for_each(|n| offsets[n] = by.map(|side| side as f64 / 1000.0));
                    }
                    apart::by_hand(&seen, &there.iter().map(|n| offsets[*n]).collect::<Vec<_>>())
                }
            };
            for (moved, &n) in moved.iter().zip(&there) {
                offsets[n] = moved.by;
                if moved.by != moved.from {
                    ways.push(Way { from: add(moved.touch, moved.from), to: add(moved.touch, moved.by) });
                }
            }
        }
        let parts: Vec<Shown> = (0..all.len())
            .filter_map(|n| {
                looks[n].map(|look| Shown { model: all[n].0, part: all[n].1, offset: offsets[n], look, hatch: hatch[n] })
            })
            .collect();
        if parts.is_empty() {
            return Err(Trouble { error: Error::Nothing { reason: "every part is hidden".into() }, span });
        }
        let mut zoom = Vec::new();
        if let Some(named) = figure.stage.as_ref().and_then(|stage| stage.steps[stage.at].zoom.as_ref()) {
            let wanted = find(named)?;
            let is = |shown: &Shown| wanted.iter().any(|&n| all[n] == (shown.model, shown.part));
            // Of several called alike one is enough.
            zoom = (0..parts.len()).filter(|&n| is(&parts[n])).take(1).collect();
        }
        let mut picture = Picture {
            models: loaded,
            parts,
            axes,
            ways,
            arrows,
            frame,
            own: Extent::default(),
            zoom,
            hatched: figure.hatch.len(),
        };
        picture.own = draw::extent(&picture.placed(), &picture.axes);
        for way in &picture.arrows {
            [way.from, way.to].into_iter().for_each(|place| picture.own.hold(picture.axes.project(place, 1.0)));
        }
        if picture.frame.is_empty() {
            picture.frame = picture.own;
        } else if !picture.zoom.is_empty() {
            // What is enlarged stands in a corner of the whole.
            picture.own = picture.frame;
        }
        Ok(picture)
    }

    /// What was strange about the files, each with its place in the list of models.
    pub fn remarks(&self) -> impl Iterator<Item = (usize, &str)> {
        self.models.iter().enumerate().flat_map(|(n, model)| model.remarks.iter().map(move |remark| (n, remark.as_str())))
    }

    fn part(&self, shown: &Shown) -> &Part {
        &self.models[shown.model].parts[shown.part]
    }

    fn placed(&self) -> Vec<Placed<'_>> {
        self.parts.iter().map(|shown| Placed { mesh: &self.part(shown).mesh, offset: shown.offset, look: shown.look }).collect()
    }

    /// Width and height, mm; what is flat has some.
    fn sides(&self, of: &Extent) -> Size<f64> {
        let least = self.frame.size() * 1e-3 + 1e-9;
        Size::from([0, 1].map(|side| (of.most[side] - of.least[side]).max(least)))
    }

    /// Draws into a space, as large as it can be.
    pub fn draw(&self, width: u32, height: u32, pens: &Pens) -> Drawing {
        let margin = pens.thick / 2.0 + 1.0;
        let space = Size::new(width, height).map(|side| f64::from(side) - margin * 2.0);
        let whole = self.sides(&self.frame);
        let scale = (space.width / whole.width).min(space.height / whole.height).max(1e-9);
        let size = Size { height: self.sides(&self.own).height, ..whole };
        let size = size.map(|side| (side * scale + margin * 2.0).ceil().max(1.0) as u32);
        let shift = Point::new(margin - self.frame.least[0] * scale, margin - self.own.least[1] * scale);
        let frame = Frame { axes: self.axes, scale, shift };
        let drawn = draw::draw(&self.placed(), &self.ways, &frame, pens);
        let turn = |part: u16| self.parts[usize::from(part)].hatch;
        let mut strokes = hatch::hatch(&drawn.scene, &self.axes, (self.hatched, &turn), size.map(f64::from), pens.thin);
        strokes.extend(drawn.strokes);
        let flat = |place: Vec3| strokes::flat(frame.place(place));
        let arrows = self.arrows.iter().map(|way| [flat(way.from), flat(way.to)]).collect();
        let owners = self.parts.iter().map(|shown| (shown.model, shown.part)).collect();
        let inset = self.enlarged(&strokes, &frame, size.map(f64::from), pens);
        let Size { width, height } = size;
        Drawing { width, height, strokes, arrows, inset, scene: drawn.scene, owners }
    }

    /// The parts of `zoom` and what is around them, two or three times as large, where the drawing has room.
    fn enlarged(&self, strokes: &[Stroke], frame: &Frame, size: Size<f64>, pens: &Pens) -> Option<Inset> {
        const LEAST: f64 = 1.4;
        const MOST: f64 = 3.0;
        let placed = self.placed();
        let parts: Vec<Placed> = self.zoom.iter().map(|&n| placed[n]).collect();
        let space = draw::extent(&parts, &self.axes);
        if space.is_empty() {
            return None;
        }
        let middle = space.middle();
        let source = Point::new(middle[0] * frame.scale + frame.shift.x, middle[1] * frame.scale + frame.shift.y);
        let [wide, high, _] = scale(sub(space.most, space.least), frame.scale / 2.0);
        let reach = (wide * wide + high * high).sqrt() + pens.thick * 2.0;
        let radius = size.width.min(size.height) * 0.24;
        let factor = (radius / reach).min(MOST);
        if factor < LEAST {
            return None;
        }
        let source_radius = radius / factor;
        let centre = inset::corner(size, radius, source, source_radius, strokes)?;
        let larger = frame.scale * factor;
        let shift = Point::new(centre.x - middle[0] * larger, centre.y - middle[1] * larger);
        let drawn = draw::draw(&placed, &[], &Frame { axes: self.axes, scale: larger, shift }, pens);
        let strokes = inset::clipped(&drawn.strokes, centre, radius - pens.thin / 2.0);
        Some(Inset { source, source_radius, centre, radius, strokes })
    }

    /// Parts that are shown, equal ones together, in the order of the files.
    pub fn items(&self) -> Vec<Item> {
        let mut items: Vec<Item> = Vec::new();
        for shown in self.parts.iter().filter(|shown| shown.look != Look::Ghost) {
            let part = self.part(shown);
            match items.iter_mut().find(|item| item.shape == part.shape) {
                Some(item) => {
                    item.name = common(&item.name, &part.called);
                    item.count += 1;
                }
                None => items.push(Item { name: part.called.clone(), count: 1, shape: part.shape.clone() }),
            }
        }
        items.iter_mut().for_each(|item| item.name = readable(&item.name));
        items
    }

    /// Where the largest seen area of the parts of a name is, dots; none when they are hidden.
    ///
    /// # Errors
    /// When no part has the name.
    pub fn spot(&self, drawing: &Drawing, name: &str) -> Result<Option<Point<i32>>, Error> {
        let part = |n: usize| self.part(&self.parts[n]);
        let found = found(name, self.parts.len(), &part)?;
        Ok(drawing.spot(|owner| found.iter().any(|&n| drawing.owners[owner] == (self.parts[n].model, self.parts[n].part))))
    }

    pub fn item_spot(&self, drawing: &Drawing, item: &Item) -> Option<Point<i32>> {
        drawing.spot(|owner| self.part(&self.parts[owner]).shape == item.shape)
    }
}

impl Drawing {
    /// The middle of the largest seen area of some parts.
    fn spot(&self, wanted: impl Fn(usize) -> bool) -> Option<Point<i32>> {
        const PITCH: usize = 3;
        let (across, down) = (self.width as usize / PITCH + 1, self.height as usize / PITCH + 1);
        let mut known: BTreeMap<u16, bool> = BTreeMap::new();
        let mut depth = vec![0u32; across * down];
        for row in 0..down {
            for column in 0..across {
                let hit = self.scene.first((column * PITCH) as f64 + 0.37, (row * PITCH) as f64 + 0.41, f64::NEG_INFINITY);
                let own = hit.is_some_and(|hit| {
                    let owner = self.scene.part[hit.triangle as usize];
                    *known.entry(owner).or_insert_with(|| wanted(usize::from(owner)))
                });
                depth[row * across + column] = u32::from(own);
            }
        }
        // How far each cell is from the border of its area: down and right, then back.
        for pass in 0..2 {
            for n in 0..across * down {
                let n = if pass == 0 { n } else { across * down - 1 - n };
                let (row, column) = (n / across, n % across);
                if depth[n] == 0 {
                    continue;
                }
                let at = |row: isize, column: isize| {
                    let inside = row >= 0 && column >= 0 && row < down as isize && column < across as isize;
                    if inside { depth[row as usize * across + column as usize] } else { 0 }
                };
                let (row, column) = (row as isize, column as isize);
                let near = if pass == 0 {
                    at(row - 1, column).min(at(row, column - 1)).min(at(row - 1, column - 1)).min(at(row - 1, column + 1)) + 1
                } else {
                    at(row + 1, column).min(at(row, column + 1)).min(at(row + 1, column + 1)).min(at(row + 1, column - 1)) + 1
                };
                depth[n] = if pass == 0 { near } else { depth[n].min(near) };
            }
        }
        let best = (0..depth.len()).max_by_key(|&n| (depth[n], std::cmp::Reverse(n)))?;
        (depth[best] > 0).then(|| Point::new((best % across * PITCH) as i32, (best / across * PITCH) as i32))
    }
}

/// Parts of a name: exactly so, or called so, or the name of their file; capitals do not matter.
fn found<'p>(name: &str, count: usize, part: &impl Fn(usize) -> &'p Part) -> Result<Vec<usize>, Error> {
    let plain = |text: &str| {
        let text = text.trim().to_lowercase();
        let stem =
            [".stl", ".obj", ".3mf", ".glb", ".gltf"].iter().find_map(|ending| text.strip_suffix(ending).map(str::to_owned));
        stem.unwrap_or(text)
    };
    let wanted = plain(name);
    let exact: Vec<usize> = (0..count).filter(|&n| plain(&part(n).name) == wanted).collect();
    let called: Vec<usize> = (0..count).filter(|&n| plain(&part(n).called) == wanted).collect();
    let found = if called.is_empty() { exact } else { called };
    if !found.is_empty() {
        return Ok(found);
    }
    let mut known: Vec<&str> = (0..count).map(|n| part(n).called.as_str()).collect();
    known.sort_unstable();
    known.dedup();
    let nearest = names::nearest(name, known.iter().copied()).map(str::to_owned);
    let more = if known.len() > 12 { ", …" } else { "" };
    let known = known.into_iter().take(12).collect::<Vec<_>>().join(", ") + more;
    Err(Error::NoPart { name: name.to_owned(), nearest, known })
}

/// What equal parts are called: `Screw`, when they are numbered, `Screw 1`, `Screw_2`, `Screw#3`; otherwise as the first of them.
fn common(one: &str, other: &str) -> String {
    let plain = |name: &str| {
        let front = name.trim_end_matches(')').trim_end_matches(|letter: char| letter.is_ascii_digit());
        let digits = name.trim_end_matches(')').len() - front.len();
        let bare = front.trim_end_matches([' ', '_', '-', '#', '.', ':', '(']);
        // `v2` is a version; `Screw002` is a count.
        let counted = digits > 0 && !bare.is_empty() && (bare.len() < front.len() || digits > 2);
        if counted { bare.to_owned() } else { name.to_owned() }
    };
    if plain(one) == plain(other) { plain(one) } else { one.to_owned() }
}

/// `base_plate` as it is printed: Base plate.
fn readable(name: &str) -> String {
    let words = name.replace(['_', '-'], " ");
    let words = words.split_whitespace().collect::<Vec<_>>().join(" ");
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().collect::<String>() + letters.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_parts_have_one_name() {
        for (one, other, both) in [
            ("Screw 1", "Screw 2", "Screw"),
            ("Screw", "Screw 2", "Screw"),
            ("motor v1", "motor v1#2", "motor v1"),
            ("Body001", "Body002", "Body"),
            ("nut (1)", "nut (12)", "nut"),
            ("left v1", "left v2", "left v1"),
            ("cap", "lid", "cap"),
            ("17", "18", "17"),
        ] {
            assert_eq!(common(one, other), both);
        }
    }
}
