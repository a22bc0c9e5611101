//! Turns a TOML reader's error into a finding with line, value and suggestion.

use diag::{Code, Finding};

/// `unknown` is raised for a key that is not known, `syntax` for all else.
pub(crate) fn finding_from_toml(syntax: &'static Code, unknown: &'static Code, file: &str, text: &str, error: &toml::de::Error) -> Finding {
    let span = error.span().unwrap_or(0..0);
    let line = text.get(..span.start).map_or(0, |t| t.matches('\n').count() as u32 + 1);
    let value = text.get(span).unwrap_or_default().lines().next().unwrap_or_default().trim().to_owned();
    let message = error.message().lines().next().unwrap_or_default().to_owned();
    let Some((key, known)) = unknown_field(&message) else {
        return Finding::new(syntax, message).at(file, line).value(value);
    };
    let nearest = known.iter().map(|k| (strsim::damerau_levenshtein(k, &key), k)).filter(|(d, k)| *d <= 3 && *d < k.len()).min();
    let hint = match nearest {
        Some((_, k)) => format!("did you mean `{k}`?"),
        None => format!("known here: {}", known.join(", ")),
    };
    Finding::new(unknown, format!("the key `{key}` is not known here")).at(file, line).value(key).hint(hint)
}

/// Takes serde's "unknown field `a`, expected one of `b`, `c`" apart.
fn unknown_field(message: &str) -> Option<(String, Vec<String>)> {
    let (_, rest) = message.split_once("unknown field `")?;
    let mut quoted = rest.split('`').step_by(2).map(str::to_owned);
    let key = quoted.next()?;
    Some((key, quoted.filter(|k| !k.is_empty()).collect()))
}
