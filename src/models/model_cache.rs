//! The models of one manual: read and joined once, kept until their file changes.

use std::collections::BTreeMap;
use std::sync::{Arc, Mutex, PoisonError};

use sha2::{Digest, Sha256};

use super::equal;
use super::error::Error;
use super::geometry::Extent;
use super::join::{Mended, Mesh};
use super::read::{self, FILE_LIMIT, File};
use crate::manual::folder::{Folder, Stamp};

/// Names a model by what is in its file: half of its SHA-256.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct ModelId(pub [u8; 16]);

/// With so many parts of its file, the first, each is compared to find equal ones.
const ALIKE: usize = 500;
/// Triangles kept at most, of all files together.
const KEPT: usize = 6_000_000;

#[derive(Debug)]
pub struct Model {
    pub id: ModelId,
    pub parts: Vec<Part>,
    /// What was strange about the file.
    pub remarks: Vec<String>,
}

#[derive(Debug)]
pub struct Part {
    /// Unlike that of any other part of the file.
    pub name: String,
    /// As the file has it: several parts may be called alike.
    pub called: String,
    /// Equal for equal things.
    pub shape: String,
    pub mesh: Mesh,
    pub extent: Extent,
}

type Kept = (Option<Stamp>, Arc<Model>);

pub struct Models {
    folder: Folder,
    kept: Mutex<BTreeMap<String, Kept>>,
}

impl Models {
    pub fn open(folder: Folder) -> Models {
        Models { folder, kept: Mutex::default() }
    }

    /// What a file holds, by name.
    ///
    /// # Errors
    /// As [`Models::load`].
    pub fn id(&self, address: &str) -> Result<ModelId, Error> {
        self.load(address).map(|model| model.id)
    }

    /// The parts of a file. One that changed since is read again.
    ///
    /// # Errors
    /// When it cannot be read or holds nothing to draw.
    pub fn load(&self, address: &str) -> Result<Arc<Model>, Error> {
        let unreadable = |reason: String| Error::Unreadable { address: address.into(), reason };
        let stamp = self.folder.stamp(address).ok();
        let mut kept = self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some((known, model)) = kept.get(address)
            && *known == stamp
            && stamp.is_some()
        {
            return Ok(Arc::clone(model));
        }
        let bytes = self.folder.read(address, FILE_LIMIT).map_err(|error| unreadable(error.to_string()))?;
        let model = Arc::new(made(&self.folder, address, &bytes)?);
        let faces = |model: &Model| model.parts.iter().map(|part| part.mesh.faces.len()).sum::<usize>();
        if kept.values().map(|(_, model)| faces(model)).sum::<usize>() + faces(&model) > KEPT {
            kept.clear();
        }
        kept.insert(address.to_owned(), (stamp, Arc::clone(&model)));
        Ok(model)
    }
}

/// Reads and joins.
///
/// # Errors
/// As [`read::read`]; also when all of it is one point.
pub fn made(folder: &Folder, address: &str, bytes: &[u8]) -> Result<Model, Error> {
    let digest = Sha256::digest(bytes);
    let id = ModelId(std::array::from_fn(|n| digest[n]));
    let read = read::read(&File { folder, address, bytes })?;
    let mut remarks = read.remarks;
    let mut parts = Vec::with_capacity(read.bodies.len());
    let mut mended = Mended::default();
    for body in read.bodies {
        let mesh = Mesh::join(&body.corners);
        let mut extent = Extent::default();
        mesh.vertices.iter().for_each(|&place| extent.hold(place));
        mended.flat += mesh.mended.flat;
        mended.twice += mesh.mended.twice;
        mended.pulled += mesh.mended.pulled;
        mended.split += mesh.mended.split;
        mended.open += mesh.mended.open;
        if !mesh.faces.is_empty() {
            let same = parts.iter().take(ALIKE).find(|part: &&Part| equal::equal(&part.mesh, &mesh));
            let shape = same.map_or(body.shape, |part| part.shape.clone());
            parts.push(Part { name: body.name, called: body.called, shape, mesh, extent });
        }
    }
    if parts.is_empty() {
        return Err(Error::Empty { address: address.into(), reason: "none of its triangles has an area".into() });
    }
    let whole = parts.iter().fold(Extent::default(), |whole, part| whole.join(part.extent));
    if whole.size() < 1e-3 {
        let reason = format!("all of it is {:e} mm large; was it exported in another unit?", whole.size());
        return Err(Error::Empty { address: address.into(), reason });
    }
    remarks.extend(said(&mended));
    Ok(Model { id, parts, remarks })
}

/// What was mended, in words; nothing when nothing was that can be seen.
fn said(mended: &Mended) -> Option<String> {
    let mut words = Vec::new();
    let mut say = |count: u32, one: &str, many: &str| {
        if count > 0 {
            words.push(format!("{count} {}", if count == 1 { one } else { many }));
        }
    };
    say(mended.twice, "triangle was there twice", "triangles were there twice");
    say(mended.pulled, "corner did not quite meet its neighbour", "corners did not quite meet their neighbours");
    say(mended.split, "edge ended on another", "edges ended on another");
    say(mended.open, "edge has a triangle on one side only", "edges have a triangle on one side only");
    (!words.is_empty()).then(|| {
        format!("its triangles are not joined as those of a solid body: {}; it is drawn as well as can be", words.join(", "))
    })
}
