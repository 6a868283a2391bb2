//! The layout map: every box on the strip with the file and line that made it, as JSON.

use serde::Serialize;

use crate::layout::Layout;
use crate::manual::source::Source;

#[derive(Debug, Serialize)]
pub struct Map {
    /// Width of the strip, dots.
    pub dots: u32,
    pub rows: u32,
    pub panels: Vec<MapPanel>,
    pub boxes: Vec<MapBox>,
}

#[derive(Debug, Serialize)]
pub struct MapPanel {
    pub top: i32,
    pub bottom: i32,
}

/// Dots from the top left of the strip.
#[derive(Debug, Serialize)]
pub struct MapBox {
    pub kind: &'static str,
    pub x: i32,
    pub y: i32,
    pub width: i32,
    pub height: i32,
    /// From 0.
    pub panel: usize,
    pub file: String,
    pub line: u32,
    pub text: String,
}

impl Map {
    pub fn new(layout: &Layout, source: &Source) -> Map {
        let boxes = layout.boxes().into_iter().map(|placed| {
            let place = source.locate(placed.span.start);
            MapBox {
                kind: placed.kind,
                x: placed.x.0,
                y: placed.y.0,
                width: placed.width.0,
                height: placed.height.0,
                panel: placed.panel,
                file: place.file,
                line: place.line,
                text: placed.text,
            }
        });
        Map {
            dots: layout.width.count(),
            rows: layout.height.count(),
            panels: layout.panels.iter().map(|panel| MapPanel { top: panel.top.0, bottom: panel.bottom.0 }).collect(),
            boxes: boxes.collect(),
        }
    }
}
