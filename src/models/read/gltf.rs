//! glTF 2.0 and GLB: nodes with their names are parts. Metres become millimetres, its y up our z up, its front (+z) ours (-y).

use ::gltf::accessor::{DataType, Dimensions};
use ::gltf::mesh::Mode;
use ::gltf::{Document, Gltf, Node, buffer};
use base64::Engine as _;

use super::{Body, Error, FILE_LIMIT, File, Matrix, Read, TRIANGLE_LIMIT, narrow};

const DEPTH: u32 = 64;
const PARTS: usize = 4096;

pub fn read(file: &File) -> Result<Read, Error> {
    // The crate counts on from the length in the header of a GLB (12 bytes: magic, version, length) without a look at it.
    if file.bytes.starts_with(b"glTF") {
        let length = file.bytes.get(8..).and_then(|rest| rest.first_chunk::<4>()).map_or(0, |length| u32::from_le_bytes(*length));
        if length < 12 || length as usize > file.bytes.len() {
            return Err(file.damaged("its header says another length than it has"));
        }
    }
    let refused = |error: ::gltf::Error| {
        let words = error.to_string();
        let packed = ["draco", "meshopt"].iter().any(|kind| words.to_lowercase().contains(kind));
        file.damaged(if packed { "its triangles are compressed; export it without compression".into() } else { clip(&words) })
    };
    let Gltf { document, blob } = Gltf::from_slice_without_validation(file.bytes).map_err(refused)?;
    let json = document.into_json();
    // The crate's own check reads the accessor of the corners before it knows that there is one.
    let mut named = json.meshes.iter().flat_map(|mesh| &mesh.primitives).flat_map(|primitive| primitive.attributes.values());
    if named.any(|accessor| accessor.value() >= json.accessors.len()) {
        return Err(file.damaged("a mesh names corners that are not there"));
    }
    let document = Document::from_json(json).map_err(refused)?;
    for extension in document.extensions_required() {
        if extension.contains("compression") || extension.contains("quantization") {
            return Err(file.damaged(format!("it needs {extension}; export it without compression")));
        }
    }
    let mut buffers = Vec::new();
    let mut total = 0u64;
    for buffer in document.buffers() {
        let bytes = match buffer.source() {
            buffer::Source::Bin => blob.clone().unwrap_or_default(),
            buffer::Source::Uri(uri) => fetch(file, uri)?,
        };
        total += bytes.len() as u64;
        if total > FILE_LIMIT {
            return Err(file.too_large());
        }
        buffers.push(bytes);
    }
    // z up and front: (x, y, z) becomes (x, -z, y), in mm.
    let ours = Matrix([[1000.0, 0.0, 0.0], [0.0, 0.0, 1000.0], [0.0, -1000.0, 0.0], [0.0, 0.0, 0.0]]);
    let mut gathering = Gathering { file, buffers, bodies: Vec::new(), count: 0, visits: 0, passed: 0 };
    match document.default_scene().or_else(|| document.scenes().next()) {
        Some(scene) => scene.nodes().try_for_each(|node| gathering.node(&node, &ours, "", DEPTH))?,
        None => document.nodes().try_for_each(|node| gathering.node(&node, &ours, "", DEPTH))?,
    }
    let mut remarks = Vec::new();
    if gathering.passed > 0 {
        remarks.push(format!("{} of its meshes are points or lines, not triangles; they are left out", gathering.passed));
    }
    Ok(Read { bodies: gathering.bodies, remarks })
}

fn clip(words: &str) -> String {
    words.chars().filter(|letter| !letter.is_control()).take(160).collect()
}

fn fetch(file: &File, uri: &str) -> Result<Vec<u8>, Error> {
    if let Some(data) = uri.strip_prefix("data:") {
        let (_, coded) = data.split_once(";base64,").ok_or_else(|| file.damaged("a buffer inside it is not base64"))?;
        return base64::engine::general_purpose::STANDARD
            .decode(coded)
            .map_err(|_| file.damaged("a buffer inside it is not base64"));
    }
    if uri.contains("://") || uri.starts_with("//") {
        return Err(file.outside(uri, "nothing is fetched from the network"));
    }
    let name = percent_encoding::percent_decode_str(uri).decode_utf8_lossy().into_owned();
    let beside = file.address.rsplit_once('/').map_or(name.clone(), |(folder, _)| format!("{folder}/{name}"));
    file.folder.read(&beside, FILE_LIMIT).map_err(|error| file.outside(uri, error.to_string()))
}

struct Gathering<'a> {
    file: &'a File<'a>,
    buffers: Vec<Vec<u8>>,
    bodies: Vec<Body>,
    count: usize,
    visits: usize,
    passed: usize,
}

impl Gathering<'_> {
    fn node(&mut self, node: &Node, above: &Matrix, named: &str, depth: u32) -> Result<(), Error> {
        self.visits += 1;
        if depth == 0 || self.visits > PARTS * 8 {
            return Err(self.file.damaged("its nodes hold each other"));
        }
        let columns = node.transform().matrix();
        let own = Matrix(std::array::from_fn(|row| std::array::from_fn(|n| f64::from(columns[row][n]))));
        let at = own.then(above);
        let name = node.name().unwrap_or(named);
        if let Some(mesh) = node.mesh() {
            let label = if name.is_empty() { mesh.name().unwrap_or_default() } else { name };
            let mut corners = Vec::new();
            for primitive in mesh.primitives() {
                self.primitive(&primitive, &at, &mut corners)?;
            }
            let name = if label.is_empty() { self.file.stem() } else { label.to_owned() };
            if self.bodies.len() >= PARTS {
                return Err(self.file.damaged(format!("it has more than {PARTS} parts")));
            }
            self.bodies.push(Body { name, shape: format!("{}#{}", self.file.address, mesh.index()), corners, ..Body::default() });
        }
        node.children().try_for_each(|child| self.node(&child, &at, name, depth - 1))
    }

    fn primitive(&mut self, primitive: &::gltf::Primitive, at: &Matrix, corners: &mut Vec<[f32; 3]>) -> Result<(), Error> {
        let damaged = |reason: &str| self.file.damaged(reason);
        let Some(positions) = primitive.get(&::gltf::Semantic::Positions) else { return Ok(()) };
        if positions.data_type() != DataType::F32 || positions.dimensions() != Dimensions::Vec3 {
            return Err(damaged("its corners are not three floating-point numbers"));
        }
        self.check(&positions)?;
        if let Some(indices) = primitive.indices() {
            let whole = matches!(indices.data_type(), DataType::U8 | DataType::U16 | DataType::U32);
            if !whole || indices.dimensions() != Dimensions::Scalar {
                return Err(damaged("its corners are not named by whole numbers"));
            }
            self.check(&indices)?;
        }
        let reader = primitive.reader(|buffer| self.buffers.get(buffer.index()).map(Vec::as_slice));
        let places: Vec<[f32; 3]> = reader.read_positions().ok_or_else(|| damaged("its corners are not there"))?.collect();
        let count = primitive.indices().map_or(places.len(), |accessor| accessor.count());
        if self.count + count / 3 > TRIANGLE_LIMIT {
            return Err(self.file.too_large());
        }
        let indices: Vec<u32> = match reader.read_indices() {
            Some(indices) => indices.into_u32().collect(),
            None => (0..places.len() as u32).collect(),
        };
        let mut triangle = |a: u32, b: u32, c: u32| {
            let place = |index: u32| places.get(index as usize).map(|place| narrow(at.at(place.map(f64::from))));
            match (place(a), place(b), place(c)) {
                (Some(a), Some(b), Some(c)) => {
                    corners.extend([a, b, c]);
                    Ok(())
                }
                _ => Err(damaged("a triangle names a corner that is not there")),
            }
        };
        match primitive.mode() {
            Mode::Triangles => indices.chunks_exact(3).try_for_each(|corner| triangle(corner[0], corner[1], corner[2]))?,
            Mode::TriangleStrip => indices.windows(3).try_for_each(|corner| triangle(corner[0], corner[1], corner[2]))?,
            Mode::TriangleFan => {
                indices.windows(2).skip(1).try_for_each(|corner| triangle(indices[0], corner[0], corner[1]))?;
            }
            Mode::Points | Mode::Lines | Mode::LineLoop | Mode::LineStrip => {
                self.passed += 1;
                return Ok(());
            }
        }
        self.count += corners.len() / 3;
        Ok(())
    }

    /// The crate believes an accessor's numbers; here they are held against the bytes that are there.
    fn check(&self, accessor: &::gltf::Accessor) -> Result<(), Error> {
        let cut = || self.file.damaged("it ends before its triangles do");
        if accessor.sparse().is_some() {
            return Err(self.file.damaged("it has sparse accessors; export it without"));
        }
        let Some(view) = accessor.view() else { return Err(cut()) };
        let have = self.buffers.get(view.buffer().index()).map_or(0, Vec::len);
        let stride = view.stride().unwrap_or(accessor.size());
        let sum = |a: usize, b: usize| a.checked_add(b).ok_or_else(cut);
        let spread = stride.checked_mul(accessor.count().saturating_sub(1)).ok_or_else(cut)?;
        let within = sum(sum(accessor.offset(), spread)?, accessor.size())?;
        let end = sum(view.offset(), view.length())?;
        if accessor.count() == 0 || stride < accessor.size() || within > view.length() || end > have {
            return Err(cut());
        }
        Ok(())
    }
}
