//! Files of models to triangles: told apart by their first bytes, not by their names. Nothing outside the project is ever opened.

mod gltf;
mod obj;
mod stl;
mod three_mf;

use super::error::Error;
use super::geometry::Vec3;
use crate::manual::folder::Folder;

/// Largest file, bytes.
pub const FILE_LIMIT: u64 = 512 << 20;
/// Most triangles of one figure. A strip has less than a million dots in a picture; what is finer is not seen.
pub const TRIANGLE_LIMIT: usize = 5_000_000;
/// Coordinates beyond this many mm (a hundred kilometres) are slips of a program, not of a maker.
const FARTHEST: f32 = 1e8;

/// A part as it stands in its file: a soup of triangles.
#[derive(Clone, Debug, Default)]
pub struct Body {
    /// Unlike that of any other body of the file.
    pub name: String,
    /// As the file has it.
    pub called: String,
    /// Bodies of the same shape, placed differently, have the same; counted in a parts list.
    pub shape: String,
    /// Three corners a triangle, mm.
    pub corners: Vec<[f32; 3]>,
}

/// What was read, and what was strange about it.
#[derive(Debug, Default)]
pub struct Read {
    pub bodies: Vec<Body>,
    pub remarks: Vec<String>,
}

/// Where words about a file come from.
pub struct File<'a> {
    pub folder: &'a Folder,
    pub address: &'a str,
    pub bytes: &'a [u8],
}

impl File<'_> {
    fn damaged(&self, reason: impl Into<String>) -> Error {
        Error::Damaged { address: self.address.into(), reason: reason.into() }
    }

    fn outside(&self, other: &str, reason: impl Into<String>) -> Error {
        let shown: String = other.chars().take(80).collect();
        Error::Outside { address: self.address.into(), other: shown, reason: reason.into() }
    }

    fn too_large(&self) -> Error {
        Error::TooLarge { address: self.address.into(), reason: format!("it has more than {TRIANGLE_LIMIT} triangles") }
    }

    /// The file's name without folders and ending: what its part is called when the file says nothing.
    fn stem(&self) -> String {
        let name = self.address.rsplit('/').next().unwrap_or(self.address);
        name.rsplit_once('.').map_or(name, |(stem, _)| stem).to_owned()
    }
}

/// Reads a file of any known kind.
///
/// # Errors
/// When it is of no known kind, damaged, too large, refers to files that cannot be used, or holds no triangle.
pub fn read(file: &File) -> Result<Read, Error> {
    let bytes = file.bytes;
    let head = &bytes[..bytes.len().min(2048)];
    let text = String::from_utf8_lossy(head);
    let ending = file.address.rsplit('.').next().unwrap_or_default().to_ascii_lowercase();
    let mut read = if bytes.is_empty() {
        return Err(file.damaged("it is empty"));
    } else if head.starts_with(b"PK\x03\x04") {
        three_mf::read(file)?
    } else if head.starts_with(b"glTF") || (text.trim_start().starts_with('{') && text.contains('"')) {
        gltf::read(file)?
    } else if text.trim_start().starts_with("ISO-10303-21") || ["step", "stp", "stpz"].contains(&ending.as_str()) {
        return Err(Error::Exact { address: file.address.into() });
    } else if ending == "obj" {
        obj::read(file)?
    } else if ending == "stl" || stl::looks_so(bytes) {
        stl::read(file)?
    } else {
        return Err(Error::Kind { address: file.address.into(), reason: "it is neither STL, OBJ, 3MF nor glTF".into() });
    };
    let mut strange = 0;
    for body in &mut read.bodies {
        strange += drop_strange(&mut body.corners);
    }
    if strange > 0 {
        read.remarks.push(format!(
            "{strange} triangles have corners that are no places (not a number, or beyond 100 km); they are left out"
        ));
    }
    read.bodies.retain(|body| !body.corners.is_empty());
    if read.bodies.is_empty() {
        return Err(Error::Empty { address: file.address.into(), reason: "it has no triangles".into() });
    }
    name_apart(&mut read.bodies);
    Ok(read)
}

/// Triangles with corners that are no places go. Gives their number.
fn drop_strange(corners: &mut Vec<[f32; 3]>) -> usize {
    let sound = |corner: &[f32; 3]| corner.iter().all(|side| side.abs() < FARTHEST);
    if corners.iter().all(sound) {
        return 0;
    }
    let before = corners.len();
    let kept: Vec<[f32; 3]> = corners.chunks_exact(3).filter(|triangle| triangle.iter().all(sound)).flatten().copied().collect();
    *corners = kept;
    (before - corners.len()) / 3
}

/// Bodies without a name get one, and a name that several bear gets a number.
fn name_apart(bodies: &mut [Body]) {
    let mut seen: std::collections::BTreeMap<String, u32> = std::collections::BTreeMap::new();
    for body in bodies.iter_mut() {
        let cleaned: String = body.name.chars().filter(|letter| !letter.is_control()).take(80).collect();
        body.name = if cleaned.trim().is_empty() { "part".into() } else { cleaned.trim().to_owned() };
        body.called.clone_from(&body.name);
        if body.shape.is_empty() {
            body.shape.clone_from(&body.name);
        }
    }
    for n in 0..bodies.len() {
        let name = bodies[n].name.clone();
        let count = seen.entry(name.clone()).or_insert(0);
        *count += 1;
        if *count > 1 {
            let mut number = *count;
            while bodies.iter().any(|body| body.name == format!("{name} {number}")) {
                number += 1;
            }
            bodies[n].name = format!("{name} {number}");
        }
    }
}

/// A 4 x 3 matrix that row vectors are multiplied with, as 3MF writes it: a place is `[x y z 1] M`.
#[derive(Clone, Copy, Debug)]
struct Matrix([[f64; 3]; 4]);

impl Matrix {
    const UNCHANGED: Matrix = Matrix([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0], [0.0, 0.0, 0.0]]);

    fn scaled(by: f64) -> Matrix {
        Matrix([[by, 0.0, 0.0], [0.0, by, 0.0], [0.0, 0.0, by], [0.0, 0.0, 0.0]])
    }

    fn at(&self, place: Vec3) -> Vec3 {
        let m = &self.0;
        std::array::from_fn(|n| place[0] * m[0][n] + place[1] * m[1][n] + place[2] * m[2][n] + m[3][n])
    }

    /// First this one, then the other.
    fn then(&self, other: &Matrix) -> Matrix {
        let turn =
            |row: [f64; 3]| std::array::from_fn(|n| row[0] * other.0[0][n] + row[1] * other.0[1][n] + row[2] * other.0[2][n]);
        Matrix([turn(self.0[0]), turn(self.0[1]), turn(self.0[2]), other.at(self.0[3])])
    }
}

fn narrow(place: Vec3) -> [f32; 3] {
    place.map(|side| side as f32)
}
