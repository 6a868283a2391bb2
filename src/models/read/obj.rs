//! Wavefront OBJ: objects and groups are parts; materials are not asked for.

use std::io::Cursor;

use super::{Body, Error, File, Read, TRIANGLE_LIMIT};

pub fn read(file: &File) -> Result<Read, Error> {
    let options = tobj::LoadOptions { triangulate: true, single_index: false, ..tobj::LoadOptions::default() };
    // Only places matter: lines about texture, normals and materials go, and with them their mistakes.
    let mut kept = Vec::with_capacity(file.bytes.len());
    for line in file.bytes.split(|byte| *byte == b'\n') {
        let line = line.trim_ascii();
        if line.starts_with(b"f ") || line.starts_with(b"f\t") {
            places_only(line, &mut kept);
        } else if [&b"v "[..], b"v\t", b"o ", b"g "].iter().any(|start| line.starts_with(start)) {
            kept.extend(line.iter().map(|byte| if byte.is_ascii() { *byte } else { b'_' }));
        } else {
            continue;
        }
        kept.push(b'\n');
    }
    let loaded = tobj::load_obj_buf(&mut Cursor::new(kept), &options, |_| Err(tobj::LoadError::GenericFailure));
    let (models, _) = loaded.map_err(|error| file.damaged(in_words(&error)))?;
    let mut total = 0;
    let mut bodies = Vec::new();
    for model in models {
        let places = &model.mesh.positions;
        total += model.mesh.indices.len() / 3;
        if total > TRIANGLE_LIMIT {
            return Err(file.too_large());
        }
        let corner = |index: &u32| {
            let at = *index as usize * 3;
            places.get(at..at + 3).map(|place| [place[0], place[1], place[2]])
        };
        let corners: Option<Vec<[f32; 3]>> = model.mesh.indices.iter().map(corner).collect();
        let corners = corners.ok_or_else(|| file.damaged("a face names a corner that is not there"))?;
        let unnamed = model.name.is_empty() || model.name == "unnamed_object";
        let name = if unnamed { file.stem() } else { model.name.clone() };
        bodies.push(Body { shape: format!("{}#{name}", file.address), name, corners, ..Body::default() });
    }
    if let [only] = &mut bodies[..] {
        only.name = file.stem();
    }
    Ok(Read { bodies, remarks: Vec::new() })
}

/// `f 1/2/3 4/5/6 …` to `f 1 4 …`.
fn places_only(line: &[u8], out: &mut Vec<u8>) {
    out.push(b'f');
    for word in line[1..].split(u8::is_ascii_whitespace).filter(|word| !word.is_empty()) {
        out.push(b' ');
        out.extend(word.split(|byte| *byte == b'/').next().unwrap_or_default());
    }
}

fn in_words(error: &tobj::LoadError) -> &'static str {
    match error {
        tobj::LoadError::PositionParseError => "a corner (v) is not three numbers",
        tobj::LoadError::FaceParseError => "a face (f) does not name its corners by number",
        tobj::LoadError::FaceVertexOutOfBounds => "a face names a corner that is not there",
        _ => "its lines cannot be understood",
    }
}
