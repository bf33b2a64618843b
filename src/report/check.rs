//! Is an estimate fit to be shown? One check before any format, so that no output holds a NaN.

use super::ReportError;
use crate::estimate::Estimate;
use ciborium::Value;
use serde::Serialize;

/// Refuses an estimate with a number that is not finite, an empty list or a bad index.
pub(super) fn check(estimate: &Estimate) -> Result<(), ReportError> {
    filled("the estimate", "fuel", estimate.fuels.len())?;
    for fuel in &estimate.fuels {
        filled(&format!("fuel {}", fuel.name), "curve", fuel.curve.len())?;
        if fuel.tightest_index >= fuel.curve.len() {
            let (index, len) = (fuel.tightest_index, fuel.curve.len());
            return Err(ReportError::TightestIndex { fuel: fuel.name.clone(), index, len });
        }
    }
    all_finite(estimate)
}

/// Refuses a list that holds nothing.
pub(super) fn filled(owner: &str, what: &'static str, len: usize) -> Result<(), ReportError> {
    if len == 0 { Err(ReportError::Empty { owner: owner.to_owned(), what }) } else { Ok(()) }
}

/// Refuses a result with a number anywhere in it that is not finite. JSON would show such a number as null, as it does
/// a value that is absent; the values of CBOR tell the two apart.
///
/// # Errors
/// [`ReportError::NotFinite`] for the first such number, [`ReportError::Numbers`] when the result cannot be gone through.
pub fn all_finite<T: Serialize>(result: &T) -> Result<(), ReportError> {
    fn walk(path: &str, value: &Value) -> Option<(String, f64)> {
        match value {
            Value::Float(number) if !number.is_finite() => Some((path.to_owned(), *number)),
            Value::Array(items) => {
                items.iter().enumerate().find_map(|(i, item)| walk(&format!("{path}[{i}]"), item))
            }
            Value::Map(fields) => fields.iter().find_map(|(key, value)| {
                let key = key.as_text().unwrap_or("?");
                walk(&if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }, value)
            }),
            _ => None,
        }
    }
    match walk("", &Value::serialized(result)?) {
        Some((owner, value)) => Err(ReportError::NotFinite { owner, key: "a number", value }),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::estimate::Band;

    #[derive(Serialize)]
    struct Result {
        absent: Option<f64>,
        bands: Vec<Band>,
    }

    #[test]
    fn what_is_absent_passes_and_what_is_no_number_is_named() {
        let band = Band { low: 1.0, likely: 2.0, high: 3.0 };
        let mut result = Result { absent: None, bands: vec![band, band] };
        all_finite(&result).unwrap();
        result.bands[1].high = f64::INFINITY;
        let said = all_finite(&result).unwrap_err().to_string();
        assert_eq!(said, "a number = inf of bands[1].high is not a finite number, so it cannot be reported");
        result.bands.clear();
        result.absent = Some(f64::NAN);
        assert!(all_finite(&result).unwrap_err().to_string().contains("of absent"), "a NaN is not absence");
    }
}
