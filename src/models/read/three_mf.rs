//! 3MF: a package of XML. Objects, components, build items, transforms and units as the 3MF Core Specification has them, and parts of
//! a model in further files of the package (its production extension). References out of the package are refused.

use std::collections::BTreeMap;
use std::io::{BufReader, Cursor, Read as _};

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::{Body, Error, File, Matrix, Read, TRIANGLE_LIMIT, narrow};
use crate::models::geometry::Vec3;

/// Most bytes of XML unpacked from one package: a bomb ends here.
const UNPACKED: u64 = 1 << 30;
/// Most bytes of one tag or of one text between tags, of which only coordinates have a meaning.
const EVENT: u64 = 4 << 20;
/// Components within components, most files of a model, most placed parts.
const DEPTH: u32 = 16;
const FILES: usize = 256;
const PLACED: usize = 4096;

type Package<'a> = zip::ZipArchive<Cursor<&'a [u8]>>;

#[derive(Default)]
struct Object {
    name: String,
    /// Support and the like, which is not the thing itself.
    aside: bool,
    places: Vec<Vec3>,
    triangles: Vec<[u32; 3]>,
    components: Vec<Placed>,
}

/// An object by its file and number, and where it stands.
#[derive(Clone)]
struct Placed {
    key: (String, String),
    name: String,
    at: Matrix,
}

#[derive(Default)]
struct Contents {
    objects: BTreeMap<(String, String), Object>,
    build: Vec<Placed>,
    /// Millimetres a unit, by file.
    unit: BTreeMap<String, f64>,
    wanted: Vec<String>,
    triangles: usize,
    left: u64,
}

pub fn read(file: &File) -> Result<Read, Error> {
    let mut package = zip::ZipArchive::new(Cursor::new(file.bytes)).map_err(|_| file.damaged("its package cannot be opened"))?;
    let root = root(file, &mut package)?;
    let mut contents = Contents { left: UNPACKED, wanted: vec![root.clone()], ..Contents::default() };
    let mut at = 0;
    while at < contents.wanted.len() {
        if at == FILES {
            return Err(file.damaged(format!("its model is spread over more than {FILES} files")));
        }
        let part = contents.wanted[at].clone();
        parse(file, &mut package, &part, at == 0, &mut contents)?;
        at += 1;
    }
    let mut bodies = Vec::new();
    let mut count = 0;
    let unit = contents.unit.get(&root).copied().unwrap_or(1.0);
    let mut build = std::mem::take(&mut contents.build);
    if build.is_empty() {
        // Nothing is placed: everything that no other object is made of.
        let used: Vec<_> = contents.objects.values().flat_map(|object| &object.components).map(|placed| &placed.key).collect();
        let free = contents.objects.keys().filter(|key| !used.contains(key));
        build = free.map(|key| Placed { key: key.clone(), name: String::new(), at: Matrix::UNCHANGED }).collect();
    }
    for item in &build {
        place(file, &contents, item, &item.at.then(&Matrix::scaled(unit)), "", DEPTH, &mut bodies, &mut count)?;
    }
    Ok(Read { bodies, remarks: Vec::new() })
}

/// The model that the package begins with.
fn root(file: &File, package: &mut Package) -> Result<String, Error> {
    let mut found = None;
    if let Ok(entry) = package.by_name("_rels/.rels") {
        let mut reader = Reader::from_reader(BufReader::new(entry.take(1 << 20)));
        let mut buffer = Vec::new();
        while let Ok(event) = reader.read_event_into(&mut buffer) {
            match event {
                Event::Eof => break,
                Event::Start(tag) | Event::Empty(tag)
                    if tag.local_name().as_ref() == "Relationship"
                        && attribute(&tag, "Type").is_some_and(|kind| kind.ends_with("/3dmodel")) =>
                {
                    if attribute(&tag, "TargetMode").is_some_and(|mode| mode == "External") {
                        return Err(file.outside(&attribute(&tag, "Target").unwrap_or_default(), "it is outside the package"));
                    }
                    found = attribute(&tag, "Target");
                }
                _ => {}
            }
            buffer.clear();
        }
    }
    let named = found.map(|target| target.trim_start_matches('/').to_owned());
    let named = named.or_else(|| {
        package.file_names().flatten().filter(|name| name.ends_with(".model")).min().map(std::borrow::Cow::into_owned)
    });
    named.ok_or_else(|| Error::Kind { address: file.address.into(), reason: "it is a zip file with no 3MF model in it".into() })
}

fn parse(file: &File, package: &mut Package, part: &str, first: bool, contents: &mut Contents) -> Result<(), Error> {
    if part.contains("://") {
        return Err(file.outside(part, "it is outside the package"));
    }
    let entry = package.by_name(part).map_err(|_| file.damaged(format!("{part:?} is not in its package")))?;
    let mut reader = Reader::from_reader(BufReader::with_capacity(1 << 16, entry.take(contents.left)));
    let mut buffer = Vec::new();
    let mut object: Option<((String, String), Object)> = None;
    let xml = |reason: String| file.damaged(format!("{part:?} in its package: {reason}"));
    loop {
        // A tag or a text that goes on for ever ends there: it is held as a whole.
        let left = contents.left.saturating_sub(reader.buffer_position());
        reader.get_mut().get_mut().set_limit(left.min(EVENT));
        let event = reader.read_event_into(&mut buffer).map_err(|error| xml(error.to_string()))?;
        let opens = matches!(event, Event::Start(_));
        match &event {
            Event::Eof => break,
            Event::Start(tag) | Event::Empty(tag) => match tag.local_name().as_ref() {
                "model" => {
                    let unit = match attribute(tag, "unit").as_deref() {
                        Some("micron") => 0.001,
                        Some("centimeter") => 10.0,
                        Some("inch") => 25.4,
                        Some("foot") => 304.8,
                        Some("meter") => 1000.0,
                        _ => 1.0,
                    };
                    contents.unit.insert(part.to_owned(), unit);
                }
                "object" => {
                    let id = attribute(tag, "id").ok_or_else(|| xml("an object has no id".into()))?;
                    let aside = attribute(tag, "type")
                        .is_some_and(|kind| kind == "support" || kind == "solidsupport" || kind == "surface");
                    let name = attribute(tag, "name").unwrap_or_default();
                    let begun = ((part.to_owned(), id), Object { name, aside, ..Object::default() });
                    if opens {
                        object = Some(begun);
                    }
                }
                "vertex" => {
                    if let Some((_, object)) = &mut object {
                        let mut place = [f64::NAN; 3];
                        for attribute in tag.attributes().with_checks(false).flatten() {
                            let axis = match attribute.key.as_ref() {
                                "x" => 0,
                                "y" => 1,
                                "z" => 2,
                                _ => continue,
                            };
                            place[axis] = number(&attribute.value);
                        }
                        object.places.push(place);
                        if object.places.len() > TRIANGLE_LIMIT * 3 {
                            return Err(file.too_large());
                        }
                    }
                }
                "triangle" => {
                    if let Some((_, object)) = &mut object {
                        let mut corners = [u32::MAX; 3];
                        for attribute in tag.attributes().with_checks(false).flatten() {
                            let corner = match attribute.key.as_ref() {
                                "v1" => 0,
                                "v2" => 1,
                                "v3" => 2,
                                _ => continue,
                            };
                            corners[corner] = attribute.value.trim().parse().unwrap_or(u32::MAX);
                        }
                        object.triangles.push(corners);
                        contents.triangles += 1;
                        if contents.triangles > TRIANGLE_LIMIT {
                            return Err(file.too_large());
                        }
                    }
                }
                "component" => {
                    let placed = placed(file, tag, part, contents)?;
                    if let Some((_, object)) = &mut object {
                        object.components.push(placed);
                    }
                }
                "item" if first => {
                    let placed = placed(file, tag, part, contents)?;
                    contents.build.push(placed);
                }
                _ => {}
            },
            Event::End(tag) if tag.local_name().as_ref() == "object" => {
                if let Some((key, object)) = object.take() {
                    contents.objects.insert(key, object);
                }
            }
            Event::DocType(_) => return Err(xml("a document type has no place in it".into())),
            _ => {}
        }
        buffer.clear();
    }
    let used = reader.buffer_position();
    if used >= contents.left {
        let reason = format!("it unpacks to more than {} MB", UNPACKED >> 20);
        return Err(Error::TooLarge { address: file.address.into(), reason });
    }
    contents.left -= used;
    Ok(())
}

/// A component or a build item.
fn placed(file: &File, tag: &BytesStart, part: &str, contents: &mut Contents) -> Result<Placed, Error> {
    let id = attribute(tag, "objectid").ok_or_else(|| file.damaged("a component names no object"))?;
    let other = attribute(tag, "path").map(|path| path.trim_start_matches('/').to_owned());
    if let Some(other) = &other
        && !contents.wanted.contains(other)
    {
        contents.wanted.push(other.clone());
    }
    let at = match attribute(tag, "transform") {
        None => Matrix::UNCHANGED,
        Some(text) => {
            let numbers: Vec<f64> = text.split_ascii_whitespace().map(number).collect();
            let numbers: [f64; 12] =
                numbers.try_into().map_err(|_| file.damaged("a transform does not have its twelve numbers"))?;
            Matrix(std::array::from_fn(|row| std::array::from_fn(|column| numbers[row * 3 + column])))
        }
    };
    let name = attribute(tag, "partnumber").unwrap_or_default();
    Ok(Placed { key: (other.unwrap_or_else(|| part.to_owned()), id), name, at })
}

/// Puts an object and what it is made of where it stands.
#[allow(clippy::too_many_arguments)]
fn place(
    file: &File,
    contents: &Contents,
    placed: &Placed,
    at: &Matrix,
    above: &str,
    depth: u32,
    bodies: &mut Vec<Body>,
    count: &mut usize,
) -> Result<(), Error> {
    let object =
        contents.objects.get(&placed.key).ok_or_else(|| file.damaged(format!("object {:?} is not there", placed.key.1)))?;
    if depth == 0 {
        return Err(file.damaged("its components hold each other"));
    }
    if object.aside {
        return Ok(());
    }
    let name = [&object.name, &placed.name].into_iter().find(|name| !name.is_empty()).map_or(above, |name| name);
    if !object.triangles.is_empty() {
        *count += object.triangles.len();
        if *count > TRIANGLE_LIMIT || bodies.len() >= PLACED {
            return Err(file.too_large());
        }
        let mut corners = Vec::with_capacity(object.triangles.len() * 3);
        for index in object.triangles.iter().flatten() {
            let place = object.places.get(*index as usize);
            let place = place.ok_or_else(|| file.damaged("a triangle names a corner that is not there"))?;
            corners.push(narrow(at.at(*place)));
        }
        let name = if name.is_empty() { file.stem() } else { name.to_owned() };
        bodies.push(Body {
            name,
            shape: format!("{}#{}#{}", file.address, placed.key.0, placed.key.1),
            corners,
            ..Body::default()
        });
    }
    if bodies.len() + object.components.len() > PLACED {
        return Err(file.damaged(format!("it has more than {PLACED} parts")));
    }
    for component in &object.components {
        place(file, contents, component, &component.at.then(at), name, depth - 1, bodies, count)?;
    }
    Ok(())
}

fn attribute(tag: &BytesStart, name: &str) -> Option<String> {
    let found = tag.attributes().with_checks(false).flatten().find(|attribute| attribute.key.local_name().as_ref() == name)?;
    let text = &*found.value;
    Some(quick_xml::escape::unescape(text).map_or_else(|_| text.to_owned(), |text| text.into_owned()))
}

fn number(text: &str) -> f64 {
    text.trim().parse().unwrap_or(f64::NAN)
}
