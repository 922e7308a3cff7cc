//! Words of a LEF or DEF text: separated by white space, `#` begins a comment, `"` encloses text.

use crate::fault::Fault;
use std::ops::Range;

/// A word and its place.
#[derive(Debug, Clone)]
pub(crate) struct Word<'a> {
    pub text: &'a str,
    pub span: Range<usize>,
}

impl Word<'_> {
    /// True for this keyword in any case.
    pub fn is(&self, keyword: &str) -> bool {
        self.text.eq_ignore_ascii_case(keyword)
    }
}

/// Walks through the words of a text.
pub(crate) struct Words<'a> {
    /// Name of the format for messages.
    format: &'static str,
    text: &'a str,
    next: usize,
}

impl<'a> Words<'a> {
    pub fn new(format: &'static str, text: &'a str) -> Words<'a> {
        Words { format, text, next: 0 }
    }

    /// The next word; `None` at the end. `;` also ends a word that it is written against.
    pub fn next(&mut self) -> Option<Word<'a>> {
        let bytes = self.text.as_bytes();
        let mut at = self.next;
        loop {
            match bytes.get(at) {
                None => {
                    self.next = at;
                    return None;
                }
                Some(b'#') => at += bytes[at..].iter().position(|&b| b == b'\n').unwrap_or(bytes.len() - at),
                Some(b) if b.is_ascii_whitespace() => at += 1,
                Some(_) => break,
            }
        }
        let start = at;
        let end = match bytes[start] {
            b';' => start + 1,
            // To the closing quote, or to the end where it is missing.
            b'"' => bytes[start + 1..].iter().position(|&b| b == b'"').map_or(bytes.len(), |i| start + i + 2),
            _ => {
                let rest = &bytes[start..];
                start + rest.iter().position(|&b| b.is_ascii_whitespace() || b == b';').unwrap_or(rest.len())
            }
        };
        self.next = end;
        // Both ends stand beside ASCII bytes or the ends of the text, so they are character boundaries.
        Some(Word { text: self.text.get(start..end).unwrap_or(""), span: start..end })
    }

    /// The next word without taking it.
    pub fn peek(&mut self) -> Option<Word<'a>> {
        let before = self.next;
        let word = self.next();
        self.next = before;
        word
    }

    /// The next word, or a fault that says what was wanted.
    pub fn want(&mut self, what: &str) -> Result<Word<'a>, Fault> {
        self.next().ok_or_else(|| {
            Fault::new(
                "lefdef-end",
                format!("the {} text ends in the middle of a statement or block", self.format),
            )
            .allowed(format!("{what} next"))
            .at_text(self.text, self.text.len()..self.text.len())
            .mend("copy or write the file again; its end is missing")
        })
    }

    /// The next word as a name: not `;`.
    pub fn name(&mut self, what: &str) -> Result<Word<'a>, Fault> {
        let word = self.want(what)?;
        if word.text == ";" { Err(self.unexpected(&word, what)) } else { Ok(word) }
    }

    /// The next word as a number.
    pub fn number(&mut self, what: &str) -> Result<f64, Fault> {
        let word = self.want(what)?;
        word.text.parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(|| self.unexpected(&word, what))
    }

    /// The next word must be this one.
    pub fn expect(&mut self, keyword: &str) -> Result<(), Fault> {
        let word = self.want(&format!("`{keyword}`"))?;
        if word.is(keyword) { Ok(()) } else { Err(self.unexpected(&word, &format!("`{keyword}`"))) }
    }

    /// Passes over the rest of a statement, its `;` included.
    pub fn skip_statement(&mut self) -> Result<(), Fault> {
        while !self.want("`;`")?.is(";") {}
        Ok(())
    }

    /// Passes over everything up to and including `END name`.
    pub fn skip_block(&mut self, name: &str) -> Result<(), Fault> {
        loop {
            if self.want(&format!("`END {name}`"))?.is("END") && self.peek().is_some_and(|w| w.text == name) {
                self.next();
                return Ok(());
            }
        }
    }

    /// Passes over everything up to and including one word.
    pub fn skip_to(&mut self, keyword: &str) -> Result<(), Fault> {
        while !self.want(&format!("`{keyword}`"))?.is(keyword) {}
        Ok(())
    }

    /// A fault that names the word found and what was wanted.
    pub fn unexpected(&self, word: &Word<'_>, wanted: &str) -> Fault {
        let mut shown: String = word.text.chars().take(40).collect();
        if shown.len() < word.text.len() {
            shown.push_str("...");
        }
        self.fault(word, "lefdef-word", format!("`{shown}` does not belong here in the {} text", self.format))
            .allowed(wanted)
    }

    /// A fault at a word.
    pub fn fault(&self, word: &Word<'_>, code: &'static str, what: String) -> Fault {
        Fault::new(code, what).at_text(self.text, word.span.clone())
    }

    /// A place where the next word would begin, for faults about what follows.
    pub fn here(&mut self) -> Word<'a> {
        self.peek().unwrap_or(Word { text: "", span: self.text.len()..self.text.len() })
    }
}
