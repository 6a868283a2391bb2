//! Marks to dots. The only place where a layout becomes a bitmap; decides nothing about where anything stands.
//!
//! All arithmetic is in whole dots or sixteenths of one. A dot belongs to an outline when its centre does.

use std::sync::Arc;

use rayon::prelude::*;

use super::{Panel, Strip};
use crate::bitmap::{Bitmap, Ink};
use crate::geometry::Point;
use crate::layout::{Chunk, ChunkDots, Galley, Layout, Mark, SUBDOTS};
use crate::lengths::Dots;
use crate::type_setting::{Faces, FragmentInk, Line};

/// Rows above and below a chunk into which its marks may reach.
const REACH: i32 = 64;

/// The dots of a galley that takes more bytes are not kept for the next strip: a chapter without an end would stand in memory twice.
const KEPT: u64 = 16 << 20;

/// Paints a layout. Galleys keep their dots, so one that is laid out again is not painted again.
pub fn paint(layout: &Layout, faces: &Faces) -> Strip {
    let mut bitmap = Bitmap::new(layout.width.count(), layout.height.count());
    let stride = bitmap.stride() as u64;
    let is_kept = |galley: &Galley| {
        let rows: u64 = galley.chunks.iter().map(|chunk| u64::from(chunk.height.count())).sum();
        rows * stride <= KEPT
    };
    // The chunks of a galley follow one another.
    let kept: Vec<bool> = layout
        .placed
        .chunk_by(|one, next| Arc::ptr_eq(&one.galley, &next.galley))
        .flat_map(|run| std::iter::repeat_n(is_kept(&run[0].galley), run.len()))
        .collect();
    layout.placed.par_iter().zip(&kept).filter(|(_, kept)| **kept).for_each(|(placed, _)| {
        placed.galley.dots.get_or_init(|| paint_galley(&placed.galley, layout.width - placed.x, faces));
    });
    for (placed, kept) in layout.placed.iter().zip(&kept) {
        let width = layout.width - placed.x;
        let passing;
        let chunk = if *kept {
            placed.galley.dots.get_or_init(|| paint_galley(&placed.galley, width, faces)).get(placed.chunk)
        } else {
            passing = placed.galley.chunks.get(placed.chunk).map(|chunk| paint_chunk(chunk, width, faces));
            passing.as_ref()
        };
        if let Some(chunk) = chunk {
            bitmap.put(&chunk.bitmap, placed.x.0, placed.y.0 + chunk.top, Ink::Black);
        }
    }
    layout.marks.iter().for_each(|mark| put(&mut bitmap, mark, Dots(0), faces));
    Strip {
        bitmap,
        resolution: layout.resolution,
        panels: layout.panels.iter().map(|panel| Panel { top: panel.top.count(), bottom: panel.bottom.count() }).collect(),
        cuts: layout.cuts.iter().map(|cut| cut.count()).collect(),
    }
}

fn paint_galley(galley: &Galley, width: Dots, faces: &Faces) -> Vec<ChunkDots> {
    galley.chunks.iter().map(|chunk| paint_chunk(chunk, width, faces)).collect()
}

fn paint_chunk(chunk: &Chunk, width: Dots, faces: &Faces) -> ChunkDots {
    let mut bitmap = Bitmap::new(width.count(), (chunk.height + Dots(REACH * 2)).count());
    chunk.marks.iter().for_each(|mark| put(&mut bitmap, mark, Dots(REACH), faces));
    let rows = bitmap.height();
    let first = (0..rows).find(|&y| !bitmap.row_is_blank(y)).unwrap_or(rows);
    let last = (first..rows).rev().find(|&y| !bitmap.row_is_blank(y)).map_or(first, |y| y + 1);
    ChunkDots { top: first as i32 - REACH, bitmap: bitmap.part(0, first as i32, width.count(), last - first) }
}

fn put(bitmap: &mut Bitmap, mark: &Mark, down: Dots, faces: &Faces) {
    match mark {
        Mark::Text { x, baseline, line, white, .. } => put_line(bitmap, line, *x, *baseline + down, *white, faces),
        Mark::Fill { x, y, width, height, black } => bitmap.fill(x.0, (*y + down).0, width.0, height.0, *black),
        Mark::Round { x, y, width, height, radius, border, fill } => {
            let mut round = |inset: i32, black: bool| {
                let (width, height) = (width.0 - inset * 2, height.0 - inset * 2);
                fill_round(bitmap, x.0 + inset, (*y + down).0 + inset, width, height, (radius.0 - inset).max(0), black);
            };
            match (border.0 > 0, fill) {
                (false, Some(black)) => round(0, *black),
                (true, Some(black)) => {
                    round(0, true);
                    round(border.0, *black);
                }
                (true, None) => frame(bitmap, x.0, (*y + down).0, width.0, height.0, border.0),
                (false, None) => {}
            }
        }
        Mark::Invert { x, y, width, height } => {
            for row in y.0 + down.0..(*y + *height + down).0 {
                (x.0..(*x + *width).0).for_each(|column| bitmap.set(column, row, !bitmap.get(column, row)));
            }
        }
        Mark::Picture { x, y, bitmap: picture, ink } => bitmap.put(picture, x.0, (*y + down).0, *ink),
        Mark::Polygon { points, black } => fill_polygon(bitmap, points, down.0 * SUBDOTS, *black),
        Mark::Stroke { points, thickness, black } => {
            let lower: Vec<Point<i32>> = points.iter().map(|point| *point + Point::new(0, down.0 * SUBDOTS)).collect();
            bitmap.stroke(&lower, *thickness, *black);
        }
    }
}

fn put_line(bitmap: &mut Bitmap, line: &Line, x: Dots, baseline: Dots, white: bool, faces: &Faces) {
    let ink = if white { Ink::White } else { Ink::Black };
    for fragment in &line.fragments {
        let FragmentInk::Glyphs { glyphs, strike } = &fragment.ink else { continue };
        let left = x + fragment.x;
        for glyph in glyphs {
            let dots = faces.dots(glyph.key);
            bitmap.put(&dots.bitmap, left.0 + glyph.x + dots.left, baseline.0 + glyph.y + dots.top, ink);
        }
        if let Some(strike) = strike {
            bitmap.fill(left.0, (baseline + strike.top).0, fragment.width.0, strike.thickness.0, !white);
        }
    }
}

/// Four bars along the inside of the edge; what they enclose stays as it is.
fn frame(bitmap: &mut Bitmap, x: i32, y: i32, width: i32, height: i32, border: i32) {
    bitmap.fill(x, y, width, border, true);
    bitmap.fill(x, y + height - border, width, border, true);
    bitmap.fill(x, y, border, height, true);
    bitmap.fill(x + width - border, y, border, height, true);
}

fn fill_round(bitmap: &mut Bitmap, x: i32, y: i32, width: i32, height: i32, radius: i32, black: bool) {
    let radius = radius.min(width / 2).min(height / 2);
    for row in 0..height {
        let from_edge = row.min(height - 1 - row);
        let inset = if from_edge >= radius { 0 } else { corner_inset(radius, from_edge) };
        bitmap.fill(x + inset, y + row, width - inset * 2, 1, black);
    }
}

/// Dots left out at the end of the row `row` dots below the top of a corner of this radius.
fn corner_inset(radius: i32, row: i32) -> i32 {
    // Twice the coordinates, so that centres of dots are whole numbers.
    let (r, dy) = (2 * radius, 2 * (radius - row) - 1);
    (0..radius).find(|inset| (2 * (radius - inset) - 1).pow(2) + dy * dy <= r * r).unwrap_or(radius)
}

/// Non-zero winding; points in sixteenths of a dot.
fn fill_polygon(bitmap: &mut Bitmap, points: &[Point<i32>], down: i32, black: bool) {
    let Some(first) = points.iter().map(|point| point.y).min() else { return };
    let last = points.iter().map(|point| point.y).max().unwrap_or(first);
    let rows = (first + down).div_euclid(SUBDOTS).max(0)..((last + down).div_euclid(SUBDOTS) + 1).min(bitmap.height() as i32);
    let mut crossings: Vec<(i32, i32)> = Vec::new();
    for row in rows {
        let centre = row * SUBDOTS + SUBDOTS / 2 - down;
        crossings.clear();
        for (n, &Point { x: x0, y: y0 }) in points.iter().enumerate() {
            let Point { x: x1, y: y1 } = points[(n + 1) % points.len()];
            let turn = match (y0 <= centre, y1 <= centre) {
                (true, false) => 1,
                (false, true) => -1,
                _ => continue,
            };
            let x = x0 + (i64::from(x1 - x0) * i64::from(centre - y0)).div_euclid(i64::from(y1 - y0)) as i32;
            crossings.push((x, turn));
        }
        crossings.sort_unstable();
        let mut winding = 0;
        for pair in crossings.windows(2) {
            winding += pair[0].1;
            if winding != 0 {
                // Dots whose centre lies between the two crossings.
                let left = (pair[0].0 + SUBDOTS / 2 - 1).div_euclid(SUBDOTS);
                let right = (pair[1].0 + SUBDOTS / 2 - 1).div_euclid(SUBDOTS);
                bitmap.fill(left, row, right - left, 1, black);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_polygon_fills_the_dots_whose_centres_it_holds() {
        let mut bitmap = Bitmap::new(8, 8);
        let square = [[2, 3], [6, 3], [6, 5], [2, 5]].map(|at| Point::from(at) * 16);
        fill_polygon(&mut bitmap, &square, 0, true);
        for y in 0..8 {
            for x in 0..8 {
                assert_eq!(bitmap.get(x, y), (2..6).contains(&x) && (3..5).contains(&y), "{x},{y}");
            }
        }
    }

    #[test]
    fn a_disc_is_round_to_half_a_dot() {
        for size in [5, 12, 31, 42] {
            let mut bitmap = Bitmap::new(50, 50);
            fill_round(&mut bitmap, 3, 2, size, size, size / 2, true);
            // Every dot whose centre lies half a dot inside the circle is black, every one half a dot outside is white.
            let (middle, radius) = (f64::from(size - 1) / 2.0, f64::from(size) / 2.0);
            for y in 0..50 {
                for x in 0..50 {
                    let away = (f64::from(x) - 3.0 - middle).hypot(f64::from(y) - 2.0 - middle);
                    let black = bitmap.get(x, y);
                    assert!((away > radius - 0.5 || black) && (away < radius + 0.5 || !black), "{size}: {x},{y} is {black}");
                }
            }
            for y in 0..50 {
                for x in 0..50 {
                    assert_eq!(bitmap.get(x, y), bitmap.get(2 * 3 + size - 1 - x, y), "not symmetric at {x},{y}");
                }
            }
        }
    }

    #[test]
    fn a_frame_leaves_its_inside_alone() {
        let mut bitmap = Bitmap::new(12, 12);
        bitmap.set(5, 5, true);
        frame(&mut bitmap, 1, 1, 10, 10, 2);
        assert!(bitmap.get(5, 5) && !bitmap.get(6, 6) && bitmap.get(1, 1) && bitmap.get(10, 2) && !bitmap.get(0, 0));
    }
}
