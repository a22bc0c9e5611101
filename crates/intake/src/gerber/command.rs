//! A Gerber file as commands with their lines.
//!
//! Our own, for a reading must name lines, take attributes out of comments and go on behind anything it does not know; the
//! library that was tried (`gerber_parser`) keeps no lines and knows one spelling of each attribute. It serves as an
//! independent reader in the tests.

/// One command.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Command {
    /// Format: whether trailing zeros are left out, digits before and behind the point.
    Format { trailing: bool, whole: u32, decimals: u32 },
    /// Unit: inch, else millimetre.
    Inch(bool),
    /// Attribute of the file, of apertures or of objects: kind, name with its point, fields.
    Attribute { kind: char, name: String, fields: Vec<String> },
    /// Deletes one attribute, or all.
    Delete(Option<String>),
    /// Defines an aperture.
    Aperture(u32),
    /// Selects an aperture.
    Select(u32),
    /// Straight, clockwise or counter-clockwise lines.
    Mode(Mode),
    /// An operation; coordinates as written.
    Operation { x: Option<String>, y: Option<String>, i: Option<String>, j: Option<String>, code: Option<u32> },
}

/// How lines run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mode {
    Straight,
    Clockwise,
    CounterClockwise,
}

/// All commands that are understood, with their lines.
pub(super) fn commands(text: &str) -> Vec<(u32, Command)> {
    let mut found = Vec::new();
    let (mut line, mut begun) = (1, 1);
    let mut block = String::new();
    let mut extended = false;
    for c in text.chars() {
        match c {
            '\n' => line += 1,
            '\r' => {}
            '%' => {
                extended = !extended;
                block.clear();
            }
            '*' => {
                parse(&block, extended, &mut |command| found.push((begun, command)));
                block.clear();
            }
            _ => {
                if block.is_empty() {
                    begun = line;
                }
                block.push(c);
            }
        }
    }
    found
}

fn parse(block: &str, extended: bool, tell: &mut dyn FnMut(Command)) {
    let block = block.trim();
    if let Some(comment) = block.strip_prefix("G04").or_else(|| block.strip_prefix("G4 ")) {
        // Attributes of older readers' sake stand in comments.
        if let Some(attribute) = comment.trim_start().strip_prefix("#@!") {
            attribute_of(attribute.trim_start(), tell);
        }
    } else if extended || block.starts_with(['T', 'A', 'F', 'M']) {
        extended_of(block, tell);
    } else {
        words(block, tell);
    }
}

fn extended_of(block: &str, tell: &mut dyn FnMut(Command)) {
    if let Some(format) = block.strip_prefix("FS") {
        let trailing = format.starts_with('T');
        let digits: Vec<u32> = format.chars().skip_while(|c| *c != 'X').filter_map(|c| c.to_digit(10)).collect();
        if let [whole, decimals, ..] = digits[..] {
            tell(Command::Format { trailing, whole, decimals });
        }
    } else if let Some(unit) = block.strip_prefix("MO") {
        tell(Command::Inch(unit.starts_with("IN")));
    } else if let Some(code) = block.strip_prefix("ADD").and_then(number) {
        tell(Command::Aperture(code));
    } else {
        attribute_of(block, tell);
    }
}

fn attribute_of(block: &str, tell: &mut dyn FnMut(Command)) {
    let Some(rest) = block.strip_prefix('T') else { return };
    let Some(kind) = rest.chars().next().filter(|k| matches!(k, 'F' | 'A' | 'O' | 'D')) else { return };
    let mut fields = rest[1..].split(',').map(unescaped);
    let name = fields.next().unwrap_or_default();
    if kind == 'D' {
        tell(Command::Delete((!name.is_empty()).then_some(name)));
    } else {
        tell(Command::Attribute { kind, name, fields: fields.collect() });
    }
}

/// Letters that fields may not hold are written as `\u002C` and the like.
fn unescaped(field: &str) -> String {
    let mut text = String::new();
    let mut rest = field;
    while let Some((before, after)) = rest.split_once("\\u") {
        text.push_str(before);
        let letter = after.get(..4).and_then(|code| u32::from_str_radix(code, 16).ok()).and_then(char::from_u32);
        match letter {
            Some(letter) => {
                text.push(letter);
                rest = &after[4..];
            }
            None => {
                text.push_str("\\u");
                rest = after;
            }
        }
    }
    text.push_str(rest);
    text.trim().to_owned()
}

/// A command of letters and numbers, such as `G01X100Y200D01`.
fn words(block: &str, tell: &mut dyn FnMut(Command)) {
    let (mut x, mut y, mut i, mut j, mut code) = (None, None, None, None, None);
    let mut rest = block;
    while let Some(letter) = rest.chars().next() {
        let after = &rest[letter.len_utf8()..];
        let end = after.find(|c: char| !(c.is_ascii_digit() || matches!(c, '+' | '-' | '.'))).unwrap_or(after.len());
        let value = after[..end].to_owned();
        match letter {
            'X' => x = Some(value),
            'Y' => y = Some(value),
            'I' => i = Some(value),
            'J' => j = Some(value),
            'D' => code = value.parse().ok(),
            'G' => match value.parse() {
                Ok(1u32) => tell(Command::Mode(Mode::Straight)),
                Ok(2) => tell(Command::Mode(Mode::Clockwise)),
                Ok(3) => tell(Command::Mode(Mode::CounterClockwise)),
                Ok(70) => tell(Command::Inch(true)),
                Ok(71) => tell(Command::Inch(false)),
                _ => {}
            },
            _ => {}
        }
        rest = &after[end..];
    }
    match code {
        Some(aperture) if aperture >= 10 => tell(Command::Select(aperture)),
        _ if code.is_some() || x.is_some() || y.is_some() => tell(Command::Operation { x, y, i, j, code }),
        _ => {}
    }
}

/// The number a text begins with.
fn number(text: &str) -> Option<u32> {
    let end = text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    text[..end].parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commands_with_their_lines() {
        let text = "%FSLAX46Y46*%\n%MOMM*%\nG04 #@! TO.C,D1*\n%TO.CVal,4\\u002C7k*%\n%ADD10C,0.3*%\nD10*\nG01X1000000Y-2D03*\n%TD*%\n";
        let found = commands(text);
        let lines: Vec<u32> = found.iter().map(|c| c.0).collect();
        assert_eq!(lines, [1, 2, 3, 4, 5, 6, 7, 7, 8]);
        let field = |name: &str, field: &str| Command::Attribute { kind: 'O', name: name.to_owned(), fields: vec![field.to_owned()] };
        assert_eq!((&found[2].1, &found[3].1), (&field(".C", "D1"), &field(".CVal", "4,7k")));
        let operation = Command::Operation { x: Some("1000000".to_owned()), y: Some("-2".to_owned()), i: None, j: None, code: Some(3) };
        assert_eq!((&found[5].1, &found[7].1, &found[8].1), (&Command::Select(10), &operation, &Command::Delete(None)));
    }
}
