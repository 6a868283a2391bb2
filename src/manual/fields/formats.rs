//! Filters that write a date or a number as the document's language does, by the data of Unicode's CLDR.

use fixed_decimal::{Decimal, SignedRoundingMode, UnsignedRoundingMode};
use icu_calendar::{Date, Gregorian};
use icu_datetime::FixedCalendarDateTimeFormatter;
use icu_datetime::fieldsets::YMD;
use icu_datetime::options::Length;
use icu_decimal::DecimalFormatter;
use icu_locale_core::Locale;
use minijinja::value::Value;
use minijinja::{Environment, State};

use super::error::FieldError;
use super::values::is_unsaid;

/// Most figures behind the point that are asked for.
const PLACES: u8 = 12;

pub(super) fn add_to(environment: &mut Environment<'static>) {
    environment.add_filter("date", date);
    environment.add_filter("number", number);
}

/// The document's language, English where it has none or is not read yet.
fn locale(state: &State) -> Locale {
    let language = state.lookup("document").and_then(|document| document.get_attr("language").ok());
    let tag = language.as_ref().and_then(Value::as_str).unwrap_or_default();
    tag.parse().unwrap_or(icu_locale_core::locale!("en"))
}

fn shown(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), |text| text.trim().to_string())
}

/// `{{ run.date | date }}`: 2026-11-26 is "26. November 2026" in German. `date("short")` is "26.11.26".
fn date(state: &State, value: &Value, length: Option<&str>) -> Result<String, minijinja::Error> {
    let text = shown(value);
    if is_unsaid(state, value) {
        return Ok(text);
    }
    let refused = |message: String, hint: &str| Err(FieldError { message, hint: Some(hint.into()) }.into());
    let mut parts = text.splitn(3, '-');
    let mut part = |figures: usize| {
        let part = parts.next().unwrap_or_default();
        if part.len() == figures && part.bytes().all(|byte| byte.is_ascii_digit()) { part.parse::<i32>().ok() } else { None }
    };
    let read = (part(4), part(2), part(2));
    let day = match read {
        (Some(year), Some(month), Some(day)) => Date::try_new_gregorian(year, month as u8, day as u8).ok(),
        _ => None,
    };
    let Some(day) = day else {
        return refused(
            format!("{text:?} is no date that can be written in a language"),
            "a date is written year-month-day: 2026-11-26",
        );
    };
    let length = match length {
        None | Some("long") => Length::Long,
        Some("medium") => Length::Medium,
        Some("short") => Length::Short,
        Some(other) => {
            return refused(format!("{other:?} is no length of a date"), "it is \"long\", \"medium\" or \"short\"");
        }
    };
    let fields = YMD::for_length(length);
    let formatter: Result<FixedCalendarDateTimeFormatter<Gregorian, YMD>, _> =
        FixedCalendarDateTimeFormatter::try_new(locale(state).into(), fields);
    match formatter {
        Ok(formatter) => Ok(formatter.format(&day).to_string()),
        Err(_) => Ok(text),
    }
}

/// `{{ unit.weight | number }}`: 1234.50 is "1.234,50" in German, with as many figures as were written, or as are asked for.
fn number(state: &State, value: &Value, places: Option<u8>) -> Result<String, minijinja::Error> {
    let text = shown(value);
    if is_unsaid(state, value) {
        return Ok(text);
    }
    let Ok(mut decimal) = text.parse::<Decimal>() else {
        let hint = "a number is written in figures with a point: 1234.5";
        return Err(FieldError { message: format!("{text:?} is no number"), hint: Some(hint.into()) }.into());
    };
    if let Some(places) = places {
        let end = -i16::from(places.min(PLACES));
        decimal.round_with_mode(end, SignedRoundingMode::Unsigned(UnsignedRoundingMode::HalfExpand));
        decimal.pad_end(end);
    }
    match DecimalFormatter::try_new(locale(state).into(), Default::default()) {
        Ok(formatter) => Ok(formatter.format(&decimal).to_string()),
        Err(_) => Ok(text),
    }
}
