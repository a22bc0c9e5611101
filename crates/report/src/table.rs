//! A table as it is told, before any form: the page, the sheets and the workbook all print it.

/// How a column stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Align {
    /// Text, from the left.
    Left,
    /// Figures, to the right.
    Right,
}

/// A column: its heading and how it stands.
#[derive(Clone, Debug)]
pub struct Column {
    /// Its heading.
    pub name: String,
    /// How it stands.
    pub align: Align,
}

/// What stands in a cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Words.
    Text(String),
    /// A figure and the decimals it is shown with.
    Number(f64, usize),
    /// The text of a code to scan; drawn as the code.
    Code(String),
    /// Nothing.
    Empty,
}

impl Cell {
    /// As it is read.
    pub fn words(&self) -> String {
        match self {
            Self::Text(t) | Self::Code(t) => t.clone(),
            Self::Number(value, digits) => format!("{value:.digits$}"),
            Self::Empty => String::new(),
        }
    }
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        if text.is_empty() { Self::Empty } else { Self::Text(text.to_owned()) }
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        if text.is_empty() { Self::Empty } else { Self::Text(text) }
    }
}

impl From<usize> for Cell {
    fn from(count: usize) -> Self {
        Self::Number(count as f64, 0)
    }
}

impl From<u32> for Cell {
    fn from(count: u32) -> Self {
        Self::Number(f64::from(count), 0)
    }
}

/// A table.
#[derive(Clone, Debug, Default)]
pub struct Table {
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, each with a cell for every column.
    pub rows: Vec<Vec<Cell>>,
    /// Whether the last row is a sum.
    pub totals: bool,
}

impl Table {
    /// A table with these columns; a heading that starts with `>` stands right.
    pub(crate) fn new(columns: &[&str]) -> Self {
        let column = |name: &&str| match name.strip_prefix('>') {
            Some(name) => Column { name: name.to_owned(), align: Align::Right },
            None => Column { name: (*name).to_owned(), align: Align::Left },
        };
        Self { columns: columns.iter().map(column).collect(), rows: Vec::new(), totals: false }
    }

    /// A table of cells as text, the header first; figures under a header of a length, share or count stand as such.
    pub(crate) fn of_cells(cells: &[Vec<String>]) -> Self {
        let heads: Vec<&str> = cells.first().map_or(Vec::new(), |row| row.iter().map(String::as_str).collect());
        let mut table = Self::new(&heads);
        let is_figure = |head: &str| ["_mm", "_percent", "_pockets", "_dots"].iter().any(|end| head.ends_with(end));
        for row in cells.iter().skip(1) {
            let cell = |(k, text): (usize, &String)| match text.parse::<f64>() {
                Ok(value) if is_figure(heads.get(k).copied().unwrap_or("")) => {
                    Cell::Number(value, text.split_once('.').map_or(0, |(_, decimals)| decimals.len()))
                }
                _ => Cell::from(text.as_str()),
            };
            table.rows.push(row.iter().enumerate().map(cell).collect());
        }
        table
    }

    /// With one more column.
    pub(crate) fn column(&mut self, name: &str, align: Align) {
        self.columns.push(Column { name: name.to_owned(), align });
    }

    /// With one more row.
    pub(crate) fn row(&mut self, cells: Vec<Cell>) {
        self.rows.push(cells);
    }

    /// Whether it has no row.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
}
