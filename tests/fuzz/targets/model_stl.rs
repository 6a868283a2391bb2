//! Models as .stl files: refused in words, or joined and drawn with the same strokes twice.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stripling::geometry::Point;
use stripling::manual::Folder;
use stripling::models::draw::{Frame, Look, Pens, Placed, draw, extent};
use stripling::models::model_cache::made;
use stripling::models::view::Axes;

fuzz_target!(|bytes: &[u8]| {
    let folder = Folder::of_files([]);
    let model = match made(&folder, "a.stl", bytes) {
        Ok(model) => model,
        Err(error) => {
            let told = error.to_string();
            assert!(told.contains("a.stl") && told.len() < 1000, "{told:?}");
            return;
        }
    };
    let placed: Vec<Placed> =
        model.parts.iter().map(|part| Placed { mesh: &part.mesh, offset: [0.0; 3], look: Look::Usual }).collect();
    let axes = Axes::new(35.0, 25.0);
    let space = extent(&placed, &axes);
    let scale = 120.0 / space.size().max(1e-9);
    let frame = Frame { axes, scale, shift: Point::new(-space.least[0] * scale, -space.least[1] * scale) };
    let pens = Pens { thick: 4.0, thin: 2.0, gap: 2.0 };
    let strokes = draw(&placed, &[], &frame, &pens).strokes;
    assert!(strokes.iter().all(|stroke| stroke.points.len() > 1));
    assert!(strokes == draw(&placed, &[], &frame, &pens).strokes, "another drawing the second time");
});
