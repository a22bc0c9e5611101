//! Cells of a workbook as packages of the Python registry read them (`tests/oracle/cells.py`, versions in `requirements.txt`).
//!
//! The interpreter is `EVENLINE_PYTHON`, else `python3`. Where it has not got the packages the checks are left out with a message,
//! or fail if `EVENLINE_REQUIRE_ORACLES` is 1.

use std::io::Write;
use std::process::{Command, Stdio};

const FOLDER: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../intake/tests/oracle");

/// A cell: sheet, row and column (both from 1), what stands there.
pub type Cell = (String, u32, u32, Value);

/// What stands in a cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    /// Words, as they are.
    Text(String),
    /// A number.
    Number(f64),
    /// A date that the workbook keeps as a number of days.
    Date(f64),
    /// Yes or no.
    Bool(bool),
}

impl Value {
    /// Whether a text says the same: words letter for letter, a number as the very same 64 bits, a date to half a millisecond.
    #[allow(dead_code, reason = "not every test file uses it")]
    pub fn is_said_by(&self, text: &str) -> bool {
        match self {
            Self::Text(words) => words == text,
            Self::Number(number) => text.parse() == Ok(*number),
            Self::Date(day) => text.parse::<f64>().is_ok_and(|d| (d - day).abs() * 86_400.0 < 0.000_5),
            Self::Bool(yes) => text == yes.to_string(),
        }
    }
}

/// The interpreter, if it has the packages.
pub struct Python(String);

impl Python {
    /// Looks for it and says what is left out where it is missing.
    pub fn find() -> Option<Self> {
        let program = std::env::var("EVENLINE_PYTHON").unwrap_or_else(|_| "python3".to_owned());
        let packages = "import openpyxl, xlrd, xlwt, odf";
        let tried = Command::new(&program).args(["-c", packages]).stderr(Stdio::null()).status();
        if tried.is_ok_and(|s| s.success()) {
            return Some(Self(program));
        }
        let message = format!(
            "left out: comparing cells with openpyxl, xlrd and odfpy, which `{program}` has not got; \
             pip install -r crates/intake/tests/oracle/requirements.txt and name the interpreter in EVENLINE_PYTHON"
        );
        assert!(std::env::var("EVENLINE_REQUIRE_ORACLES").as_deref() != Ok("1"), "{message}");
        println!("{message}");
        None
    }

    /// All cells that the package for this ending (`xlsx`, `xls`, `ods`, `csv`) reads, in no certain order.
    pub fn cells(&self, ending: &str, bytes: &[u8]) -> Vec<Cell> {
        let text = String::from_utf8(self.run("cells.py", ending, bytes)).expect("UTF-8");
        text.lines().map(cell).collect()
    }

    /// A workbook of odd cells that the package for this ending writes.
    #[allow(dead_code, reason = "not every test file uses it")]
    pub fn make(&self, ending: &str) -> Vec<u8> {
        self.run("make.py", ending, b"")
    }

    fn run(&self, program: &str, ending: &str, input: &[u8]) -> Vec<u8> {
        let mut command = Command::new(&self.0);
        command.arg("-B").arg(format!("{FOLDER}/{program}")).arg(ending);
        let mut child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("the interpreter starts");
        // It reads all before it writes anything.
        child.stdin.take().expect("a pipe").write_all(input).expect("the interpreter reads");
        let output = child.wait_with_output().expect("the interpreter ends");
        assert!(output.status.success(), "{program} {ending} failed");
        output.stdout
    }
}

fn cell(line: &str) -> Cell {
    let fields: Vec<String> = line.split('\t').map(plain).collect();
    let [sheet, row, column, kind, value] = &fields[..] else { panic!("not five fields: {line}") };
    let number = || value.parse().expect("a number");
    let value = match kind.as_str() {
        "text" => Value::Text(value.clone()),
        "number" => Value::Number(number()),
        "date" => Value::Date(number()),
        "bool" => Value::Bool(value == "true"),
        other => panic!("a cell of kind {other}"),
    };
    (sheet.clone(), row.parse().expect("a row"), column.parse().expect("a column"), value)
}

/// A field without its backslashes.
fn plain(field: &str) -> String {
    let (mut text, mut letters) = (String::new(), field.chars());
    while let Some(letter) = letters.next() {
        let escaped = if letter == '\\' { letters.next() } else { None };
        text.push(match escaped {
            Some('t') => '\t',
            Some('n') => '\n',
            Some('r') => '\r',
            Some(other) => other,
            None => letter,
        });
    }
    text
}
