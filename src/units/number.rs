//! The number at the start of a quantity.

use super::error::Reason;

/// The number at the start of `text`, and what follows it.
pub(super) fn number(text: &str, grouped: bool) -> Result<(f64, &str), Reason> {
    let bytes = text.as_bytes();
    let mut end = usize::from(matches!(bytes.first(), Some(b'+' | b'-')));
    while bytes
        .get(end)
        .is_some_and(|b| b.is_ascii_digit() || matches!(b, b'.' | b','))
    {
        end += 1;
    }
    let literal = text[..end].trim_end_matches(',');
    end = literal.len();
    if !literal.bytes().any(|b| b.is_ascii_digit()) {
        return Err(Reason::NoNumber);
    }
    let mut plain = without_commas(literal, grouped)?;
    if matches!(bytes.get(end), Some(b'e' | b'E')) {
        let sign = usize::from(matches!(bytes.get(end + 1), Some(b'+' | b'-')));
        let start = end + 1 + sign;
        let digits = bytes[start.min(bytes.len())..]
            .iter()
            .take_while(|b| b.is_ascii_digit())
            .count();
        if digits > 0 {
            plain.push_str(&text[end..start + digits]);
            end = start + digits;
        }
    }
    let value: f64 = plain.parse().map_err(|_| Reason::NoNumber)?;
    if value.is_finite() {
        Ok((value, text[end..].trim_start()))
    } else {
        Err(Reason::NotFinite)
    }
}

/// The literal with a decimal point and no commas. `grouped` says that a lone comma before three
/// digits parts thousands, as in an amount of money.
fn without_commas(literal: &str, grouped: bool) -> Result<String, Reason> {
    if !literal.contains(',') {
        return Ok(literal.to_owned());
    }
    let (whole, decimals) = literal.split_once('.').unwrap_or((literal, ""));
    let mut groups = whole.trim_start_matches(['+', '-']).split(',');
    let first = groups.next().unwrap_or_default();
    let rest: Vec<&str> = groups.collect();
    let in_threes = (1..=3).contains(&first.len()) && rest.iter().all(|g| g.len() == 3);
    if decimals.contains(['.', ',']) || rest.is_empty() {
        return Err(Reason::NoNumber);
    }
    let certain = literal.contains('.') || rest.len() > 1 || grouped;
    if in_threes && certain {
        return Ok(literal.replace(',', ""));
    }
    if certain && !(grouped && rest.len() == 1 && !literal.contains('.')) {
        return Err(Reason::NoNumber);
    }
    if in_threes && !first.starts_with('0') {
        return Err(Reason::AmbiguousComma);
    }
    Ok(literal.replace(',', "."))
}

/// A number that may end in a fraction: `7 1/4`, `5-1/2`, `3/4`, `7.25`.
pub(super) fn mixed(text: &str) -> Result<(f64, &str), Reason> {
    let (whole, rest) = number(text, false)?;
    let digits = |t: &str| t.bytes().take_while(u8::is_ascii_digit).count();
    let parted = |t: &str| -> Option<(f64, usize)> {
        let n = digits(t);
        let over = t.get(n..)?.strip_prefix('/')?;
        let d = digits(over);
        let (top, bottom) = (t[..n].parse::<f64>().ok()?, over[..d].parse::<f64>().ok()?);
        (bottom > 0.0).then_some((top / bottom, n + 1 + d))
    };
    if let Some(over) = rest.strip_prefix('/') {
        let d = digits(over);
        let bottom: f64 = over[..d].parse().map_err(|_| Reason::Malformed)?;
        if bottom <= 0.0 {
            return Err(Reason::Malformed);
        }
        return Ok((whole / bottom, over[d..].trim_start()));
    }
    let tail = rest.trim_start_matches([' ', '-']);
    if let Some((fraction, used)) = parted(tail) {
        let sign = if text.starts_with('-') { -1.0 } else { 1.0 };
        return Ok((whole + sign * fraction, tail[used..].trim_start()));
    }
    Ok((whole, rest))
}
