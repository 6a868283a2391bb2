//! `stripling preflight`: what a maker forgets, found before the paper is spent.

use std::collections::{BTreeMap, BTreeSet};
use std::time::Duration;

use super::Error;
use super::inputs;
use super::options::{Everywhere, Preflight};
use super::output::Output;
use super::progress::Progress;
use super::report::{Reporter, Trouble};
use crate::lengths::Mm;
use crate::manual::Unit;
use crate::manual::source::{Place, Spot};
use crate::preflight::{self, Evidence, Finding, Report, Stock};
use crate::prepress::{Made, Prepress};
use crate::printer::estimate::STRETCH;
use crate::web::{Client, Limits};

pub fn run(asked: &Preflight, everywhere: &Everywhere, reporter: &Reporter) -> Result<(), Error> {
    let press = inputs::open(&asked.manual, everywhere, reporter)?;
    let chosen = press.chosen(asked.unit.as_deref())?;
    let progress = Progress::new(chosen.len() as u64, "strips", reporter);
    let other = asked.beside.as_ref().map(|beside| inputs::open(beside, everywhere, reporter)).transpose()?;
    let language = match (&other, chosen.first()) {
        (Some(other), Some((unit, number))) => other.read(*unit, *number)?.1.header.language,
        _ => None,
    };
    let (mut reports, mut excerpts) = (Vec::with_capacity(chosen.len()), Vec::new());
    press.each::<_, Error>(
        &chosen,
        |unit, number| {
            let made = press.draft(unit, number)?;
            let report = look_beside(&press, &made, unit, language.as_deref());
            let spots: Vec<Spot> = report.findings.iter().map(|finding| made.source.spot(finding.span)).collect();
            Ok((report, spots))
        },
        |(report, spots)| {
            quote(&mut excerpts, report.findings.iter().zip(spots));
            reports.push(report);
            progress.step(1);
            Ok(())
        },
    )?;
    progress.end();
    let mut report = match reports.len() {
        1 => reports.swap_remove(0),
        _ => Report::join(reports),
    };
    if let Some(units) = &press.units {
        let findings = report.findings.into_iter().chain(units.noticed().iter().map(preflight::of_units)).collect();
        report = Report::new(findings, report.allowed);
    }
    if let Some(other) = &other {
        let findings = compared(&press, &chosen, other)?;
        quote(&mut excerpts, findings.iter().map(|(finding, spot)| (finding, spot.clone())));
        let all = report.findings.into_iter().chain(findings.into_iter().map(|(finding, _)| finding)).collect();
        report = Report::new(all, report.allowed);
    }
    if asked.online {
        let asked = online(&press, &chosen)?;
        let mut findings = report.findings;
        let mut allowed = report.allowed;
        for (more, spots) in asked {
            quote(&mut excerpts, more.findings.iter().zip(spots));
            findings.extend(more.findings);
            allowed += more.allowed;
        }
        report = Report::new(findings, allowed);
    }
    if asked.json {
        Output::Standard.write(report.to_json().as_bytes())?;
    } else {
        let told = report.findings.iter().map(|finding| {
            let spot = excerpts.binary_search_by(|(place, _)| place.cmp(&finding.place)).ok().map(|at| &excerpts[at].1);
            (finding.level, finding.rule, told(finding, spot))
        });
        reporter.findings(told.collect());
        if !reporter.is_quiet() {
            Output::Standard.write(report.closing().as_bytes())?;
        }
    }
    if report.errors > 0 { Err(Error::Found) } else { Ok(()) }
}

/// What the pages are that the manual's strips lead to, each asked for once. The only thing that preflight asks the network for.
fn online(press: &Prepress, chosen: &[(Option<&Unit>, u64)]) -> Result<Vec<(Report, Vec<Spot>)>, Error> {
    let client = Client::new(Limits { tries: 2, silence: Duration::from_secs(15), ..Limits::default() });
    let mut came: BTreeMap<String, Result<Vec<u8>, String>> = BTreeMap::new();
    let mut told = BTreeSet::new();
    let mut reports = Vec::new();
    for (unit, number) in chosen {
        let (source, document) = press.read(*unit, *number)?;
        let header = &document.header;
        let Some(address) = header.durable_copy.clone() else { continue };
        // Strips of many units lead to one page.
        if told.insert((address.clone(), header.document.clone(), header.revision.clone())) {
            let page = came
                .entry(address)
                .or_insert_with_key(|address| client.fetch(address, &|| false).map_err(|error| error.to_string()));
            let report = preflight::online::compare(&document, &source, page.as_deref().map_err(String::as_str));
            let spots = report.findings.iter().map(|finding| source.spot(finding.span)).collect();
            reports.push((report, spots));
        }
        if !press.template.has_fields() {
            break;
        }
    }
    Ok(reports)
}

/// Keeps the lines that findings are about, one for each place, in the order of the places.
fn quote<'f>(excerpts: &mut Vec<(Place, Spot)>, found: impl Iterator<Item = (&'f Finding, Spot)>) {
    excerpts.extend(found.map(|(finding, spot)| (finding.place.clone(), spot)));
    excerpts.sort_by(|a, b| a.0.cmp(&b.0));
    excerpts.dedup_by(|a, b| a.0 == b.0);
}

/// What the manual has otherwise than the same one in another language, unit by unit; what is found for all of them is of none.
fn compared(press: &Prepress, chosen: &[(Option<&Unit>, u64)], other: &Prepress) -> Result<Vec<(Finding, Spot)>, Error> {
    let (mut reports, mut spots) = (Vec::with_capacity(chosen.len()), Vec::new());
    press.each::<_, Error>(
        chosen,
        |unit, number| {
            let ((source, document), (other_source, other_document)) = (press.read(unit, number)?, other.read(unit, number)?);
            let mut findings = preflight::comparison::compare(&document, &source, &other_document, &other_source);
            findings.iter_mut().for_each(|finding| finding.unit = unit.map(|unit| unit.key().to_string()));
            let spots: Vec<Spot> = findings.iter().map(|finding| source.spot(finding.span)).collect();
            Ok((findings, spots))
        },
        |(findings, more)| {
            spots.extend(findings.iter().map(|finding| finding.place.clone()).zip(more));
            reports.push(Report::new(findings, 0));
            Ok(())
        },
    )?;
    let spot = |finding: &Finding| spots.iter().find(|(place, _)| *place == finding.place).map(|(_, spot)| spot.clone());
    let findings = Report::join(reports).findings.into_iter();
    Ok(findings.filter_map(|finding| spot(&finding).map(|spot| (finding, spot))).collect())
}

/// Looks at one strip.
pub fn look(press: &Prepress, made: &Made, unit: Option<&Unit>) -> Report {
    look_beside(press, made, unit, None)
}

/// The same, when there is a manual in another language beside it.
fn look_beside(press: &Prepress, made: &Made, unit: Option<&Unit>, beside: Option<&str>) -> Report {
    let boxes = made.layout.boxes();
    let profile = &press.profile;
    let facts = preflight::pictures::facts(&made.document, &boxes, press.pictures(), profile.paper());
    preflight::check(Evidence {
        document: &made.document,
        source: &made.source,
        layout: &made.layout,
        boxes: &boxes,
        paper: profile.paper(),
        strip: &made.strip,
        pictures: &facts,
        folder: press.picture_files(),
        stock: Stock {
            width: profile.paper_width,
            thickness: profile.roll.thickness,
            roll: Some(Mm::new(profile.roll.metres() * 1000.0)),
            stretch: STRETCH,
            duty: profile.duty,
            phenol_free: profile.phenol_free,
        },
        unit: unit.map(Unit::key),
        beside,
    })
}

fn told(finding: &Finding, spot: Option<&Spot>) -> Trouble {
    let unit = finding.unit.as_ref().map(|unit| format!(" (unit {unit})")).unwrap_or_default();
    let trouble = Trouble::new(format!("{}{unit} [{}]", finding.message, finding.rule)).hint(finding.hint.clone());
    match spot {
        Some(spot) => trouble.at_spot(Some(spot)),
        None => trouble.at(Some(finding.place.clone())),
    }
}
