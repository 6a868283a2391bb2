//! Drawings against arithmetic, hostile files against words.

use super::draw::{self, Frame, Look, Pens, Placed};
use super::geometry::{Extent, Vec3};
use super::join::Mesh;
use super::read::{self, File};
use super::strokes::{Pen, Stroke};
use super::view::Axes;
use crate::geometry::Point;
use crate::manual::folder::Folder;

const PENS: Pens = Pens { thick: 4.0, thin: 2.0, gap: 2.0 };
/// asin(1/sqrt(3)), ISO 5456-3.
const ISOMETRIC: f64 = 35.264_389_682_754_654;

/// A box from its least to its most corner, as a soup.
pub fn block(least: [f32; 3], most: [f32; 3]) -> Vec<[f32; 3]> {
    let corner = |n: usize| std::array::from_fn(|axis| if n >> axis & 1 == 0 { least[axis] } else { most[axis] });
    let sides = [[0, 2, 3, 1], [4, 5, 7, 6], [0, 1, 5, 4], [2, 6, 7, 3], [0, 4, 6, 2], [1, 3, 7, 5]];
    sides.iter().flat_map(|[a, b, c, d]| [*a, *b, *c, *a, *c, *d]).map(corner).collect()
}

/// An upright cylinder of `sides` sides around the z axis.
fn cylinder(radius: f64, high: f64, sides: usize) -> Vec<[f32; 3]> {
    let at = |n: usize, z: f64| {
        let angle = n as f64 * std::f64::consts::TAU / sides as f64;
        [radius * libm::cos(angle), radius * libm::sin(angle), z].map(|side| side as f32)
    };
    let (low, top) = ([0.0, 0.0, 0.0], [0.0, 0.0, high as f32]);
    (0..sides)
        .flat_map(|n| {
            let (a, b, c, d) = (at(n, 0.0), at((n + 1) % sides, 0.0), at((n + 1) % sides, high), at(n, high));
            [a, b, c, a, c, d, low, b, a, top, d, c]
        })
        .collect()
}

fn ring(around: f64, across: f64, n: usize, m: usize) -> Vec<[f32; 3]> {
    let at = |u: usize, v: usize| {
        let turn = |k: usize, of: usize| (k % of) as f64 * std::f64::consts::TAU / of as f64;
        let (u, v) = (turn(u, n), turn(v, m));
        let out = around + across * libm::cos(v);
        [libm::cos(u) * out, libm::sin(u) * out, across * libm::sin(v)].map(|side| side as f32)
    };
    let cells = (0..n).flat_map(|u| (0..m).map(move |v| (u, v)));
    cells.flat_map(|(u, v)| [at(u, v), at(u + 1, v), at(u + 1, v + 1), at(u, v), at(u + 1, v + 1), at(u, v + 1)]).collect()
}

fn drawn(soup: &[[f32; 3]], turn: f64, tilt: f64, scale: f64) -> (Vec<Stroke>, Frame) {
    let mesh = Mesh::join(soup);
    let placed = [Placed { mesh: &mesh, offset: [0.0; 3], look: Look::Usual }];
    let axes = Axes::new(turn, tilt);
    let extent: Extent = draw::extent(&placed, &axes);
    let frame = Frame { axes, scale, shift: Point::new(4.0 - extent.least[0] * scale, 4.0 - extent.least[1] * scale) };
    (draw::draw(&placed, &[], &frame, &PENS).strokes, frame)
}

fn flat(frame: &Frame, place: Vec3) -> Point<f64> {
    let [x, y, _] = frame.place(place);
    Point::new(x, y)
}

/// Points along all strokes, not more than a quarter of a dot apart.
fn ink(strokes: &[Stroke]) -> Vec<Point<f64>> {
    let mut points = Vec::new();
    for pair in strokes.iter().flat_map(|stroke| stroke.points.windows(2)) {
        let [a, b] = [pair[0], pair[1]].map(|point| point.map(|side| f64::from(side) / 16.0));
        points.extend(along(a, b));
    }
    points
}

fn along(a: Point<f64>, b: Point<f64>) -> Vec<Point<f64>> {
    let long = (b.x - a.x).hypot(b.y - a.y);
    let count = (long * 4.0).ceil().max(1.0) as usize;
    (0..=count)
        .map(|n| Point { x: a.x + (b.x - a.x) * n as f64 / count as f64, y: a.y + (b.y - a.y) * n as f64 / count as f64 })
        .collect()
}

fn nearest(at: Point<f64>, points: &[Point<f64>]) -> f64 {
    points.iter().map(|point| (point.x - at.x).hypot(point.y - at.y)).fold(f64::INFINITY, f64::min)
}

/// Every wanted line is there within a dot, and nothing else is; `spare` is what a gap behind an outline may take off at an end.
fn same(strokes: &[Stroke], wanted: &[[Point<f64>; 2]], spare: f64) {
    let ink = ink(strokes);
    let lines: Vec<Point<f64>> = wanted.iter().flat_map(|[a, b]| along(*a, *b)).collect();
    for point in &ink {
        assert!(nearest(*point, &lines) <= 1.0, "ink at {point:?}, where no line should be");
    }
    for point in &lines {
        assert!(nearest(*point, &ink) <= 1.0 + spare, "no ink at {point:?}, {} dots off", nearest(*point, &ink));
    }
}

/// CHECKS, a cube from its corner: nine of twelve edges, a hexagon 2/sqrt(3) times as high as wide.
#[test]
fn a_cube_from_its_corner_has_nine_edges() {
    let (strokes, frame) = drawn(&block([0.0; 3], [30.0; 3]), 45.0, ISOMETRIC, 8.0);
    let corner = |n: usize| flat(&frame, std::array::from_fn(|axis| if n >> axis & 1 == 0 { 0.0 } else { 30.0 }));
    // The viewer stands towards +x, -y, +z: corner 5 is the nearest, 2 the farthest and its three edges are hidden.
    let pairs =
        (0..8usize).flat_map(|a| (0..3).map(move |axis| (a, a | 1 << axis))).filter(|(a, b)| a != b && *a != 2 && *b != 2);
    let edges: Vec<[Point<f64>; 2]> = pairs.map(|(a, b)| [corner(a), corner(b)]).collect();
    assert_eq!(edges.len(), 9);
    same(&strokes, &edges, 0.0);
    let all = ink(&strokes);
    let side = |n: usize| {
        all.iter().map(|p| p.to_array()[n]).fold(f64::NEG_INFINITY, f64::max)
            - all.iter().map(|p| p.to_array()[n]).fold(f64::INFINITY, f64::min)
    };
    assert!((side(1) / side(0) - 2.0 / 3.0f64.sqrt()).abs() < 0.005, "{} high, {} wide", side(1), side(0));
    // Nine strokes' worth: six thick around, three thin inside (ISO 128: two widths).
    let long = |pen: Pen| {
        strokes.iter().filter(|stroke| stroke.pen == pen).map(|stroke| ink(std::slice::from_ref(stroke)).len()).sum::<usize>()
    };
    let share = long(Pen::Thick) as f64 / long(Pen::Thin) as f64;
    assert!((share - 2.0).abs() < 0.05, "six outlines to three edges: {share}");
}

/// CHECKS, a circle seen at a tilt: an ellipse of axis ratio sin(tilt). Of 32 sides at 8 dots/mm a polygon would be a dot off.
#[test]
fn a_cylinder_of_32_sides_is_round() {
    let (radius, high, tilt, scale) = (28.0, 30.0, 30.0f64, 8.0);
    let (strokes, frame) = drawn(&cylinder(radius, high, 32), 0.0, tilt, scale);
    let circle = |z: f64, from: f64, to: f64| {
        (0..=4000).map(move |n| {
            let angle = from + (to - from) * f64::from(n) / 4000.0;
            [radius * angle.cos(), radius * angle.sin(), z]
        })
    };
    use std::f64::consts::PI;
    // All of the upper circle, the near half (-y) of the lower one, two sides.
    let mut wanted: Vec<Point<f64>> =
        circle(high, 0.0, 2.0 * PI).chain(circle(0.0, PI, 2.0 * PI)).map(|place| flat(&frame, place)).collect();
    for x in [-radius, radius] {
        wanted.extend(along(flat(&frame, [x, 0.0, 0.0]), flat(&frame, [x, 0.0, high])));
    }
    let ink = ink(&strokes);
    for point in &ink {
        assert!(nearest(*point, &wanted) <= 0.6, "ink at {point:?}, {} dots off", nearest(*point, &wanted));
    }
    for point in wanted.iter().step_by(7) {
        assert!(nearest(*point, &ink) <= 0.8, "no ink at {point:?}");
    }
    let top: Vec<Point<f64>> = circle(high, 0.0, 2.0 * PI).map(|place| flat(&frame, place)).collect();
    let reach = |n: usize| {
        top.iter().map(|p| p.to_array()[n]).fold(f64::NEG_INFINITY, f64::max)
            - top.iter().map(|p| p.to_array()[n]).fold(f64::INFINITY, f64::min)
    };
    assert!((reach(1) / reach(0) - tilt.to_radians().sin()).abs() < 1e-3);
    // No corners but where the sides meet the circles.
    for stroke in &strokes {
        for three in stroke.points.windows(3) {
            let way = |n: usize| [f64::from(three[n + 1].x - three[n].x), f64::from(three[n + 1].y - three[n].y)];
            let (a, b) = (way(0), way(1));
            let turn = (a[0] * b[1] - a[1] * b[0]).atan2(a[0] * b[0] + a[1] * b[1]).abs().to_degrees();
            let near_side =
                [-radius, radius].iter().any(|x| (f64::from(three[1].x) / 16.0 - flat(&frame, [*x, 0.0, 0.0]).x).abs() < 12.0);
            assert!(turn < 8.0 || near_side, "a corner of {turn} degrees at {:?}", three[1]);
        }
    }
}

/// The outline of a ring in parallel projection runs everywhere as far from the ellipse of its middle circle as the ring is thick
/// (the contour of a canal surface: an offset curve). The inner outline's hidden part is not drawn.
#[test]
fn a_ring_has_the_outline_of_its_equation() {
    let (around, across, tilt, scale) = (24.0, 8.0, 40.0, 8.0);
    let (strokes, frame) = drawn(&ring(around, across, 160, 80), 20.0, tilt, scale);
    let middle: Vec<Point<f64>> = (0..20_000)
        .map(|n| {
            let angle = f64::from(n) * std::f64::consts::TAU / 20_000.0;
            flat(&frame, [around * angle.cos(), around * angle.sin(), 0.0])
        })
        .collect();
    let ink = ink(&strokes);
    for point in ink.iter().step_by(3) {
        let off = nearest(*point, &middle) - across * scale;
        assert!(off.abs() <= 1.0, "ink at {point:?} is {off} dots from the outline");
    }
    // The outer outline is whole: a ray from the middle meets ink in every direction beyond the middle circle.
    let centre = flat(&frame, [0.0; 3]);
    let outside = |point: &&Point<f64>| {
        let (x, y) = (point.x - centre.x, point.y - centre.y);
        let (a, b) = (around * scale, around * scale * tilt.to_radians().sin());
        (x / a).powi(2) + (y / b).powi(2) > 1.0
    };
    let mut seen = [false; 360];
    for point in ink.iter().filter(outside) {
        let angle = (point.y - centre.y).atan2(point.x - centre.x).to_degrees().rem_euclid(360.0);
        seen[(angle as usize).min(359)] = true;
    }
    assert!(seen.iter().all(|seen| *seen), "the outline is broken");
}

/// Two boxes seen from the front right: what is drawn of the one behind is exactly what the one in front leaves.
#[test]
fn a_box_behind_a_box_is_hidden_where_arithmetic_says() {
    // From the front, nothing tilted: the drawing is the x-z plane.
    let mut soup = block([0.0, 0.0, 0.0], [20.0, 10.0, 20.0]);
    soup.extend(block([10.0, 20.0, 10.0], [40.0, 30.0, 30.0]));
    let (strokes, frame) = drawn(&soup, 0.0, 0.0, 8.0);
    let at = |x: f64, z: f64| flat(&frame, [x, 0.0, z]);
    let line = |a: [f64; 2], b: [f64; 2]| [at(a[0], a[1]), at(b[0], b[1])];
    let front = [
        line([0.0, 0.0], [20.0, 0.0]),
        line([20.0, 0.0], [20.0, 20.0]),
        line([20.0, 20.0], [0.0, 20.0]),
        line([0.0, 20.0], [0.0, 0.0]),
    ];
    let behind = [
        line([20.0, 10.0], [40.0, 10.0]),
        line([40.0, 10.0], [40.0, 30.0]),
        line([40.0, 30.0], [10.0, 30.0]),
        line([10.0, 30.0], [10.0, 20.0]),
    ];
    // Half an outline, two dots of white, half a line: what is left out where a line passes behind.
    same(&strokes, &[front, behind].concat(), PENS.thick / 2.0 + PENS.gap + PENS.thick / 2.0);
    let near = ink(&strokes)
        .iter()
        .filter(|point| nearest(**point, &along(at(20.0, 20.0), at(20.0, 0.0))) > 1.0)
        .map(|point| {
            let Point { x, y } = at(20.0, 10.0);
            (point.x - x).hypot(point.y - y)
        })
        .fold(f64::INFINITY, f64::min);
    assert!(near >= 4.0, "the line behind comes within {near} dots of the outline's middle");
}

#[test]
fn bodies_that_run_through_each_other_have_a_line_where_they_meet() {
    let mut soup = block([0.0, 0.0, 0.0], [60.0, 40.0, 20.0]);
    soup.extend(cylinder(10.0, 40.0, 48).iter().map(|[x, y, z]| [x + 30.0, y + 20.0, z - 5.0]));
    let (strokes, frame) = drawn(&soup, 0.0, 40.0, 8.0);
    let ink = ink(&strokes);
    // The near half of the circle at which the peg comes out of the plate.
    for n in 0..=100 {
        let angle = std::f64::consts::PI * (1.0 + f64::from(n) / 100.0);
        let at = flat(&frame, [30.0 + 10.0 * angle.cos(), 20.0 + 10.0 * angle.sin(), 20.0]);
        assert!(nearest(at, &ink) <= 1.0, "no line at {at:?}, {} dots off", nearest(at, &ink));
    }
}

#[test]
fn the_same_strokes_on_any_number_of_threads() {
    let soup = ring(24.0, 8.0, 90, 50);
    let on = |threads: usize| {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads").install(|| drawn(&soup, 31.0, 27.0, 7.0).0)
    };
    let one = on(1);
    assert!(!one.is_empty());
    assert!(one == on(2) && one == on(5));
}

/// One triangle, from above three lines, from its side one; nothing at all has no line.
#[test]
fn what_is_flat_is_drawn() {
    let soup = [[0.0, 0.0, 0.0], [30.0, 0.0, 0.0], [0.0, 20.0, 0.0]];
    let (strokes, frame) = drawn(&soup, 0.0, 90.0, 8.0);
    let [a, b, c] = soup.map(|corner| flat(&frame, corner.map(f64::from)));
    same(&strokes, &[[a, b], [b, c], [c, a]], 1.5);
    let (strokes, frame) = drawn(&soup, 0.0, 0.0, 8.0);
    let [a, b, _] = soup.map(|corner| flat(&frame, corner.map(f64::from)));
    same(&strokes, &[[a, b]], 1.5);
}

/// Binary STL of a soup, declaring `count` triangles.
fn stl(soup: &[[f32; 3]], count: u32) -> Vec<u8> {
    let mut bytes = vec![0; 80];
    bytes.extend(count.to_le_bytes());
    for triangle in soup.chunks_exact(3) {
        bytes.extend([0; 12]);
        bytes.extend(triangle.iter().flatten().flat_map(|side| side.to_le_bytes()));
        bytes.extend([0; 2]);
    }
    bytes
}

fn said(address: &str, bytes: &[u8]) -> Result<usize, String> {
    let folder = Folder::of_files([]);
    match super::model_cache::made(&folder, address, bytes) {
        Ok(model) => Ok(model.parts.iter().map(|part| part.mesh.faces.len()).sum()),
        Err(error) => Err(error.to_string()),
    }
}

#[test]
fn every_format_reads_the_same_box() {
    let folder = Folder::of_files([]);
    let parts = |address: &str, bytes: &[u8]| {
        let model = super::model_cache::made(&folder, address, bytes).unwrap_or_else(|error| panic!("{address}: {error}"));
        model
            .parts
            .iter()
            .map(|part| (part.name.clone(), part.mesh.faces.len(), part.extent.least, part.extent.most))
            .collect::<Vec<_>>()
    };
    let soup = block([0.0; 3], [10.0, 20.0, 30.0]);
    let whole = |name: &str| vec![(name.to_owned(), 12, [0.0; 3], [10.0, 20.0, 30.0])];
    assert_eq!(parts("a/box.stl", &stl(&soup, 12)), whole("box"));
    // A count that is wrong either way, and a header that begins like text.
    assert_eq!(parts("box.stl", &stl(&soup, 0)), whole("box"));
    assert_eq!(parts("box.stl", &stl(&soup, 4_000_000_000)), whole("box"));
    let mut misled = stl(&soup, 12);
    misled[..5].copy_from_slice(b"solid");
    assert_eq!(parts("box.stl", &misled), whole("box"));
    let mut text = String::from("solid thing\n");
    for t in soup.chunks_exact(3) {
        text += "facet normal 0 0 0\nouter loop\n";
        t.iter().for_each(|[x, y, z]| text += &format!("vertex {x} {y} {z:e}\n"));
        text += "endloop\nendfacet\n";
    }
    text += "endsolid thing\n";
    assert_eq!(parts("box.stl", text.as_bytes()), whole("box"));
    let two = text.replace("thing", "lid") + &text.replace("thing", "body");
    assert_eq!(parts("two.stl", two.as_bytes()).iter().map(|part| part.0.as_str()).collect::<Vec<_>>(), ["lid", "body"]);
    let mut obj = String::from("mtllib nowhere.mtl\no box\n");
    for n in 0..8 {
        obj += &format!("v {} {} {}\nvt 0 0\n", (n & 1) * 10, (n >> 1 & 1) * 20, (n >> 2) * 30);
    }
    for [a, b, c, d] in [[1, 3, 4, 2], [5, 6, 8, 7], [1, 2, 6, 5], [3, 7, 8, 4], [1, 5, 7, 3], [2, 4, 8, 6]] {
        obj += &format!("f {a}/1 {b}/1 {c}/1 {d}/1\n");
    }
    assert_eq!(parts("box.obj", obj.as_bytes()), whole("box"));
}

#[test]
fn hostile_files_are_refused_in_words() {
    let soup = block([0.0; 3], [10.0; 3]);
    let whole = stl(&soup, 12);
    for (bytes, words) in [
        (&b""[..], "empty"),
        (&whole[..50], "before its first triangle"),
        (&whole[..83], "before its first triangle"),
        (&stl(&[], 0)[..], "no triangles"),
        (b"ISO-10303-21;\nHEADER;", "STEP"),
        (b"PK\x03\x04rubbish", "package"),
        (b"glTF\x02\0\0\0\xff\xff\xff\xff", "another length"),
        (b"glTF\x02\0\0\0\x04\0\0\0{}", "another length"),
        (b"glTF\x02\0", "another length"),
        (b"{\"asset\":{\"version\":\"2.0\"},\"buffers\":[{\"uri\":\"https://example.com/a.bin\",\"byteLength\":4}]}", "network"),
    ] {
        let said = said("a.stl", bytes).expect_err(words);
        assert!(said.contains(words), "{said:?} does not speak of {words:?}");
    }
    // Four billion triangles declared, twelve there.
    assert_eq!(said("a.stl", &stl(&soup, u32::MAX)), Ok(12));
    for outside in ["../../etc/passwd", "/etc/passwd", "file:///etc/passwd", "//example.com/a.bin"] {
        let gltf = format!("{{\"asset\":{{\"version\":\"2.0\"}},\"buffers\":[{{\"uri\":\"{outside}\",\"byteLength\":4}}]}}");
        let words = said("a.gltf", gltf.as_bytes()).expect_err(outside);
        assert!(words.contains("refers to"), "{words:?}");
    }
    // Found by bytes changed at random: an accessor that is not there.
    let gltf = br#"{"asset":{"version":"2.0"},"meshes":[{"primitives":[{"attributes":{"POSITION":9}}]}]}"#;
    assert!(said("a.gltf", gltf).unwrap_err().contains("not there"));
    for name in ["a.step", "a.STP"] {
        assert!(said(name, b"anything").unwrap_err().contains("STEP"));
    }
    // Cut off anywhere: words or the triangles that are there.
    for end in 0..whole.len() {
        match said("a.stl", &whole[..end]) {
            Ok(count) => assert_eq!(count, (end - 84) / 50),
            Err(words) => assert!(!words.is_empty()),
        }
    }
    let odd = |with: f32| {
        let mut soup = soup.clone();
        soup[4][1] = with;
        said("a.stl", &stl(&soup, 12))
    };
    assert_eq!([odd(f32::NAN), odd(1e38), odd(f32::INFINITY)], [Ok(11), Ok(11), Ok(11)]);
    assert!(said("a.stl", &stl(&[[f32::NAN; 3]; 3], 1)).is_err());
    let tiny: Vec<[f32; 3]> = soup.iter().map(|corner| corner.map(|side| side * 1e-10)).collect();
    assert!(said("a.stl", &stl(&tiny, 12)).unwrap_err().contains("unit"));
    assert_eq!(said("a.stl", &stl(&[[0.0; 3], [5.0, 0.0, 0.0], [0.0, 5.0, 0.0]], 1)), Ok(1));
    let line = [[0.0; 3], [5.0, 0.0, 0.0], [9.0, 0.0, 0.0]];
    assert!(said("a.stl", &stl(&line, 1)).unwrap_err().contains("area"));
}

/// 3MF Core Specification: `[x y z 1]` times a 4 x 3 matrix; units; what is built is what is placed.
#[test]
fn parts_of_a_package_stand_where_their_transforms_say() {
    let mesh = "<mesh><vertices><vertex x='0' y='0' z='0'/><vertex x='1' y='0' z='0'/><vertex x='0' y='1' z='0'/><vertex x='0' y='0' z='1'/></vertices>\
         <triangles><triangle v1='0' v2='2' v3='1'/><triangle v1='0' v2='1' v3='3'/><triangle v1='1' v2='2' v3='3'/><triangle v1='2' v2='0' v3='3'/></triangles></mesh>";
    let model = |objects: &str, build: &str| {
        format!(
            "<?xml version='1.0'?><model unit='centimeter' xmlns='http://schemas.microsoft.com/3dmanufacturing/core/2015/02'><resources>{objects}</resources><build>{build}</build></model>"
        )
    };
    let object = format!("<object id='1' name='pin'>{mesh}</object>");
    let pair = "<object id='2'><components><component objectid='1'/><component objectid='1' transform='0 1 0 -1 0 0 0 0 1 5 0 0'/></components></object>";
    let package = |text: &str| {
        use std::io::Write;
        let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
        let options = zip::write::SimpleFileOptions::default();
        zip.start_file("3D/3dmodel.model", options).expect("a file");
        zip.write_all(text.as_bytes()).expect("written");
        zip.finish().expect("finished").into_inner()
    };
    let folder = Folder::of_files([]);
    let bytes = package(&model(&format!("{object}{pair}"), "<item objectid='2' transform='1 0 0 0 1 0 0 0 1 0 0 2'/>"));
    let read = read::read(&File { folder: &folder, address: "a.3mf", bytes: &bytes }).expect("two pins");
    assert_eq!(read.bodies.iter().map(|body| body.name.as_str()).collect::<Vec<_>>(), ["pin", "pin 2"]);
    assert_eq!(read.bodies[0].shape, read.bodies[1].shape);
    // x along y, y along -x, moved 5 to the right and 2 up; centimetres.
    assert!(read.bodies[1].corners.contains(&[50.0, 10.0, 20.0]) && read.bodies[1].corners.contains(&[40.0, 0.0, 20.0]));
    let looped = "<object id='2'><components><component objectid='2'/></components></object>";
    let bytes = package(&model(looped, "<item objectid='2'/>"));
    assert!(said("a.3mf", &bytes).unwrap_err().contains("hold each other"));
    let bytes = package(&model(&object.replace("v3='1'", "v3='77'"), "<item objectid='1'/>"));
    assert!(said("a.3mf", &bytes).unwrap_err().contains("corner"));
}
