//! STL: triangles and nothing else. Read here because real files bend it: counts that do not fit, headers that begin with "solid"
//! and go on in binary, several named solids in one text.

use super::{Body, Error, File, Read, TRIANGLE_LIMIT};

const HEADER: usize = 84;
const RECORD: usize = 50;

/// Whether bytes without a telling name are STL.
pub fn looks_so(bytes: &[u8]) -> bool {
    is_text(bytes) || (bytes.len() > HEADER && fits(bytes))
}

fn declared(bytes: &[u8]) -> Option<u64> {
    bytes.get(80..84).and_then(|count| count.try_into().ok()).map(|count| u64::from(u32::from_le_bytes(count)))
}

/// The count in the header is that of the bytes behind it.
fn fits(bytes: &[u8]) -> bool {
    declared(bytes).is_some_and(|count| count * RECORD as u64 + HEADER as u64 == bytes.len() as u64)
}

fn is_text(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(1024)];
    head.trim_ascii_start().get(..5).is_some_and(|word| word.eq_ignore_ascii_case(b"solid"))
        && !fits(bytes)
        && !head.contains(&0)
        && (bytes.len() < 64
            || head.windows(5).any(|word| word.eq_ignore_ascii_case(b"facet") || word.eq_ignore_ascii_case(b"endso")))
}

pub fn read(file: &File) -> Result<Read, Error> {
    if is_text(file.bytes) { text(file) } else { binary(file) }
}

fn binary(file: &File) -> Result<Read, Error> {
    let Some(declared) = declared(file.bytes) else {
        return Err(file.damaged(format!("it ends after {} bytes, before its first triangle", file.bytes.len())));
    };
    let records = &file.bytes[HEADER..];
    let found = records.len() / RECORD;
    if found > TRIANGLE_LIMIT {
        return Err(file.too_large());
    }
    let mut remarks = Vec::new();
    if declared != found as u64 || !records.len().is_multiple_of(RECORD) {
        // Some programs write the count before they know it, some append what they like: the bytes are what counts.
        remarks.push(format!("its header speaks of {declared} triangles, {found} are there; those are drawn"));
    }
    let side = |record: &[u8], at: usize| f32::from_le_bytes([record[at], record[at + 1], record[at + 2], record[at + 3]]);
    let mut corners = Vec::with_capacity(found * 3);
    for record in records.chunks_exact(RECORD) {
        for corner in 0..3 {
            let at = 12 + corner * 12;
            corners.push([side(record, at), side(record, at + 4), side(record, at + 8)]);
        }
    }
    let body = Body { name: file.stem(), shape: file.address.into(), corners, ..Body::default() };
    Ok(Read { bodies: vec![body], remarks })
}

fn text(file: &File) -> Result<Read, Error> {
    let text = String::from_utf8_lossy(file.bytes);
    let mut bodies: Vec<Body> = Vec::new();
    let mut body = Body::default();
    let mut outer: Vec<[f32; 3]> = Vec::new();
    let (mut broken, mut total) = (0u64, 0);
    for line in text.lines() {
        let mut words = line.split_ascii_whitespace();
        let Some(word) = words.next() else { continue };
        if word.eq_ignore_ascii_case("vertex") {
            let mut next = || words.next().and_then(|word| word.parse::<f32>().ok());
            match (next(), next(), next()) {
                (Some(x), Some(y), Some(z)) => outer.push([x, y, z]),
                _ => broken += 1,
            }
        } else if word.eq_ignore_ascii_case("endfacet") || word.eq_ignore_ascii_case("facet") {
            match outer.len() {
                0 => {}
                // A face of more corners is no STL, but clear.
                3.. => {
                    for n in 1..outer.len() - 1 {
                        body.corners.extend([outer[0], outer[n], outer[n + 1]]);
                        total += 1;
                    }
                }
                _ => broken += 1,
            }
            outer.clear();
            if total > TRIANGLE_LIMIT {
                return Err(file.too_large());
            }
        } else if word.eq_ignore_ascii_case("solid") {
            bodies.push(std::mem::take(&mut body));
            body.name = words.collect::<Vec<_>>().join(" ");
        }
    }
    bodies.push(body);
    bodies.retain(|body| !body.corners.is_empty());
    // Programs write their own name after "solid"; only among several solids does it tell one from the other.
    if bodies.len() == 1 {
        bodies[0].name = file.stem();
    }
    for body in &mut bodies {
        body.shape = format!("{}#{}", file.address, body.name);
    }
    let mut remarks = Vec::new();
    if broken > 0 || !outer.is_empty() {
        remarks.push(format!("{} of its triangles cannot be read; they are left out", broken + u64::from(!outer.is_empty())));
    }
    Ok(Read { bodies, remarks })
}
