//! The many ways to say that a part is not fitted.
//!
//! Words: the usual short forms and sentences in several languages, alone in a cell or as a
//! word of it; a yes/no column; a quantity of zero; a list in free text, `NF(C225 C236)`.

use crate::grid::Row;
use crate::header::Role;
use crate::refs;
use crate::table::Table;
use std::collections::HashSet;

/// Sentences and short forms that fill a cell.
const ALONE: [&str; 40] = [
    "dnp",
    "dnm",
    "dnf",
    "dni",
    "dns",
    "dna",
    "nc",
    "nf",
    "nm",
    "nofit",
    "nopop",
    "noload",
    "nostuff",
    "nomount",
    "noplace",
    "notfitted",
    "notfit",
    "notpopulated",
    "notmounted",
    "notinstalled",
    "notplaced",
    "notassembled",
    "notused",
    "unpopulated",
    "unfitted",
    "donotpopulate",
    "donotplace",
    "donotfit",
    "donotinstall",
    "donotmount",
    "donotstuff",
    "donotassemble",
    "leaveempty",
    "nichtbestückt",
    "nichtbestücken",
    "nichtbestuecken",
    "nonmonté",
    "неустанавливать",
    "неставить",
    "不贴",
];

/// Short forms that mean it as one word among others, in capitals.
const AMONG_OTHERS: [&str; 5] = ["DNP", "DNM", "DNF", "DNI", "NOPOP"];

/// Sentences that mean it wherever they stand.
const SENTENCES: [&str; 10] = [
    "do not populate",
    "do not place",
    "do not fit",
    "do not mount",
    "do not install",
    "not fitted",
    "not populated",
    "not mounted",
    "not installed",
    "nicht bestück",
];

/// Whether the whole cell says that a part is not fitted.
pub(crate) fn says_so_alone(text: &str) -> bool {
    let word: String = text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
    text.chars().count() < 40 && ALONE.contains(&word.as_str())
}

/// Whether a cell says so, alone or among other words.
pub(crate) fn says_so(text: &str) -> bool {
    if says_so_alone(text) {
        return true;
    }
    let lower = text.to_lowercase();
    SENTENCES.iter().any(|s| lower.contains(s)) || text.split(|c: char| !c.is_alphanumeric()).any(|word| AMONG_OTHERS.contains(&word))
}

/// The references of a list in free text: a word that says so, then references in brackets.
pub(crate) fn listed(text: &str, known: &HashSet<&str>) -> Vec<String> {
    let mut found = Vec::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('(') {
        let Some((inside, behind)) = after.split_once(')') else { break };
        let word = before.rsplit(|c: char| !(c.is_alphanumeric() || c == ' ' || c == '.')).next().unwrap_or_default().trim();
        if says_so_alone(word) || SENTENCES.iter().any(|s| word.to_lowercase().ends_with(s)) {
            found.extend(refs::references(inside, known).unwrap_or_default());
        }
        rest = behind;
    }
    found
}

/// What a yes/no cell means; `None` for a blank or unknown one.
pub(crate) fn yes_no(text: &str) -> Option<bool> {
    let word: String = text.to_lowercase().chars().filter(|c| c.is_alphanumeric()).collect();
    match word.as_str() {
        "yes" | "y" | "true" | "1" | "x" | "ja" | "j" | "oui" | "si" | "sí" | "да" | "是" | "fitted" | "placed" | "populate"
        | "populated" | "mounted" | "place" | "fit" | "mount" | "installed" => Some(true),
        "no" | "n" | "false" | "0" | "nein" | "non" | "нет" | "否" => Some(false),
        _ if says_so_alone(text) => Some(false),
        _ => None,
    }
}

/// Why the cell of this role says that the part is not fitted, or that it is.
pub(crate) fn by_role(role: Role, text: &str) -> Option<bool> {
    match role {
        Role::Fitted => yes_no(text),
        // A blank cell of such a column says nothing; anything written but a no means it.
        Role::NotFitted if !text.is_empty() => Some(yes_no(text) == Some(false) && !says_so_alone(text)),
        Role::Value | Role::Option | Role::Description if says_so(text) => Some(false),
        Role::Number | Role::Order if says_so_alone(text) => Some(false),
        _ => None,
    }
}

/// What a row of a bill of materials says, cell by cell: is it fitted, and in which words not.
pub(crate) fn of_row(table: &Table, row: &Row) -> (Option<bool>, String) {
    const ROLES: [Role; 7] = [Role::Fitted, Role::NotFitted, Role::Option, Role::Value, Role::Number, Role::Order, Role::Description];
    let mut fitted = None;
    for role in ROLES {
        for column in table.columns.of_role(role) {
            let text = row.cell(*column);
            match by_role(role, text) {
                Some(false) => return (Some(false), text.to_owned()),
                Some(true) => fitted = Some(true),
                None => {}
            }
        }
    }
    // Remarks stand in columns without a known heading too, alone in their cell. Columns of
    // other variants are no remarks on this one.
    let known: Vec<usize> = table.columns.firsts().map(|(_, c)| c).collect();
    for (column, cell) in row.cells.iter().enumerate().filter(|(c, _)| !known.contains(c)) {
        let heading = table.headings.get(column).map_or("", String::as_str).to_lowercase();
        if says_so_alone(cell) && cell.trim().chars().count() > 2 && !heading.contains("variant") {
            return (Some(false), cell.trim().to_owned());
        }
    }
    (fitted, String::new())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_spellings() {
        for text in ["DNP", "dnp", "N.C.", "Not Fitted", "Do not mount", "NF", "Leave empty", "nicht bestückt", "не устанавливать"]
        {
            assert!(says_so_alone(text), "{text}");
        }
        for text in ["100n DNP", "10k (DNM)", "100nF_DNP", "resistor, do not populate"] {
            assert!(says_so(text), "{text}");
        }
        for text in ["100nF", "1 nf 50V", "SNC-4", "NCP115", "0R", "", "connector", "FNC"] {
            assert!(!says_so(text), "{text}");
        }
    }

    #[test]
    fn free_text_lists() {
        let known = HashSet::new();
        assert_eq!(listed("NF(C225 C236)", &known), ["C225", "C236"]);
        assert_eq!(listed("use X7R; DNP (R1, R3-R4)", &known), ["R1", "R3", "R4"]);
        assert!(listed("0402 (1005 Metric)", &known).is_empty());
    }

    #[test]
    fn yes_and_no_columns() {
        assert_eq!((yes_no("YES"), yes_no("No"), yes_no("Not Fitted"), yes_no("")), (Some(true), Some(false), Some(false), None));
        assert_eq!(by_role(Role::NotFitted, "x"), Some(false));
        assert_eq!(by_role(Role::NotFitted, "DNP"), Some(false));
        assert_eq!(by_role(Role::NotFitted, "no"), Some(true));
    }
}
