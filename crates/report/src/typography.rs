//! Type: the families that pictures ask for, and how wide words come out.
//!
//! The reader's own sans is used, so the true width of a word is not known here. The widths below are rounded
//! up from a wide face, so that what is placed by them fits in a narrower one (own estimate; from memory).

/// The reader's own sans, by the names that systems give it.
pub const SANS: &str =
    "system-ui,-apple-system,'Segoe UI',Roboto,'Noto Sans','Helvetica Neue',Arial,sans-serif";

/// Width of a line of text in units of its font size times `size`; an upper estimate.
pub fn width(text: &str, size: f64) -> f64 {
    text.chars().map(advance).sum::<f64>() * size
}

/// Advance of one character at font size 1.
fn advance(c: char) -> f64 {
    match c {
        'i' | 'j' | 'l' | '|' | '\'' => 0.29,
        ' ' | '.' | ',' | ':' | ';' | '!' | '(' | ')' | '[' | ']' | 'I' | 't' | 'f' | '-' => 0.40,
        'r' | '/' | '\\' | '"' | '*' => 0.46,
        '0'..='9' | 'a'..='h' | 'k' | 'n'..='q' | 's' | 'u' | 'v' | 'x'..='z' | '_' => 0.64,
        'm' | 'M' | 'W' | 'w' | '@' | '%' => 1.0,
        'A'..='Z' | '+' | '=' | '<' | '>' | '~' | '&' | '#' => 0.80,
        c if c.is_ascii() => 0.64,
        // Latin letters with accents are near the plain ones; other scripts may fill the square.
        '\u{80}'..='\u{24f}' => 0.80,
        _ => 1.05,
    }
}

/// The text, or as much of it as fits in `room` with an ellipsis at its end.
pub fn shorten(text: &str, size: f64, room: f64) -> String {
    if width(text, size) <= room {
        return text.to_owned();
    }
    let mut kept = String::new();
    let mut used = width("…", size);
    for c in text.chars() {
        used += advance(c) * size;
        if used > room {
            break;
        }
        kept.push(c);
    }
    format!("{}…", kept.trim_end())
}

/// The text broken at spaces into lines that fit in `room`; a single longer word is shortened.
pub fn wrap(text: &str, size: f64, room: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if width(&longer, size) <= room || line.is_empty() {
            line = longer;
        } else {
            lines.push(std::mem::replace(&mut line, word.to_owned()));
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines.iter().map(|l| shorten(l, size, room)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn wrapped_lines_fit_and_keep_every_word() {
        let text = "Nets clk and data0 are 8.2 um apart on RDL 1; at least 10 um is asked";
        let lines = wrap(text, 12.0, 200.0);
        assert!(lines.len() > 1 && lines.iter().all(|l| width(l, 12.0) <= 200.0));
        assert_eq!(lines.join(" "), text);
        assert_eq!(shorten("abcdefghij", 10.0, 30.0), "abc…");
    }
}
