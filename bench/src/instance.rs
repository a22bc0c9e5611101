//! The fixed list of instances. Names stay; what is measured under a name does not change.

use crate::Trouble;
use crate::generate::{Kind, Recipe};
use crate::panel::{WEB, columns_and_rows};
use domain::job::Panel;
use domain::line::Line;
use domain::product::{Product, Side};
use domain::rules::Rules;
use intake::{InputFile, ReadOptions};
use std::path::{Path, PathBuf};
use units::Length;

/// A product on a line.
#[derive(Clone, Debug)]
pub struct Instance {
    /// Its name, unique.
    pub name: String,
    /// The list it belongs to.
    pub suite: &'static str,
    source: Source,
}

#[derive(Clone, Debug)]
enum Source {
    /// A folder of a real board, or a demo product, on an example line.
    Read { product: &'static str, demo: bool, line: &'static str, images: u32 },
    /// Made up.
    Generated(Recipe),
}

/// Everything the planner is given.
pub struct Given {
    /// The product.
    pub product: Product,
    /// Side to be placed.
    pub side: Side,
    /// How it is repeated.
    pub panel: Panel,
    /// The line.
    pub line: Line,
    /// Rules: those of the line's example, where a demo product has some.
    pub rules: Rules,
}

/// Real boards with a placement list that can be read and at least 20 parts on the fuller side.
const BOARDS: [&str; 15] = [
    "axxsolder",
    "beagle-ai64",
    "canopi-base",
    "diff-probe",
    "eez-dcp405",
    "limesdr-qpcie",
    "openbadge",
    "openbci-cyton",
    "orangecrab",
    "ov-ftdi",
    "parasdr",
    "simplefoc-shield",
    "ulx3s",
    "vesc-bldc4",
    "voron-disco-xxl",
];
/// Those of them that fit a panel several times.
const SMALL: [&str; 6] = ["openbadge", "openbci-cyton", "orangecrab", "parasdr", "simplefoc-shield", "vesc-bldc4"];
const LINES: [&str; 3] = ["fixed-roles", "head-swap", "one-station"];
const OTHER_LINES: [&str; 2] = ["gang-pick", "two-beam"];
/// Lines of the generated suite: stations, placements, images.
const SIZES: [(usize, u32, u32); 8] =
    [(2, 300, 1), (4, 500, 4), (4, 1_000, 1), (8, 2_000, 1), (8, 2_400, 12), (12, 5_000, 2), (12, 10_000, 1), (16, 10_000, 6)];

/// Names of the lists, in the order in which a campaign runs them.
pub const SUITES: [&str; 5] = ["real", "demo", "panels", "generated", "lines"];

/// All instances.
pub fn all() -> Vec<Instance> {
    let mut list = Vec::new();
    let mut read = |suite, product: &'static str, demo, line: &'static str, images: u32| {
        let name = format!("{product}/{line}/x{images}");
        list.push(Instance { name, suite, source: Source::Read { product, demo, line, images } });
    };
    // Line by line, so that a campaign that is cut short has every board on the first lines.
    for line in LINES {
        for board in BOARDS {
            read("real", board, false, line, 1);
        }
    }
    for (demo, line) in
        [("river-logger", "fixed-roles"), ("river-logger", "head-swap"), ("weir-radio", "head-swap"), ("gauge-node", "gang-pick")]
    {
        read("demo", demo, true, line, 1);
    }
    for board in SMALL {
        for line in ["fixed-roles", "head-swap"] {
            for images in [2, 4, 6, 12] {
                read("panels", board, false, line, images);
            }
        }
    }
    for line in OTHER_LINES {
        for board in BOARDS {
            read("lines", board, false, line, 1);
        }
    }
    for kind in [Kind::FixedRoles, Kind::HeadSwap, Kind::Mixed] {
        for (stations, placements, images) in SIZES {
            let part_types = Recipe::usual_part_types(placements);
            let recipe = Recipe { kind, stations, placements, images, part_types, seed: 1 };
            list.push(Instance { name: recipe.name(), suite: "generated", source: Source::Generated(recipe) });
        }
    }
    list
}

impl Instance {
    /// A generated instance that is on no list.
    pub fn generated(recipe: Recipe) -> Self {
        Self { name: recipe.name(), suite: "generated", source: Source::Generated(recipe) }
    }

    /// The instance of a name: one of the list, or any that [`Recipe::name`] could have made.
    ///
    /// # Errors
    /// When it is neither.
    pub fn named(name: &str) -> Result<Self, Trouble> {
        if let Some(found) = all().into_iter().find(|i| i.name == name) {
            return Ok(found);
        }
        recipe_of(name).map(Self::generated).ok_or_else(|| format!("no instance is called `{name}`"))
    }

    /// Reads or makes what the planner is given. `boards` is the folder of the real boards.
    ///
    /// # Errors
    /// What could not be read.
    pub fn load(&self, boards: Option<&Path>) -> Result<Given, Trouble> {
        match &self.source {
            Source::Generated(recipe) => {
                let product = recipe.board()?;
                let panel = panel_of(&product, recipe.images);
                Ok(Given { product, side: Side::Top, panel, line: recipe.line()?, rules: Rules::default() })
            }
            Source::Read { product: name, demo, line, images } => {
                let folder =
                    if *demo { examples().join("products") } else { boards.ok_or("--boards FOLDER is needed for real boards")?.to_owned() };
                let table = demo.then(|| examples().join("parts").join(format!("{name}.csv"))).filter(|p| p.exists());
                let product = read(&folder.join(name), name, table.as_deref())?;
                let side = if product.fitted_on(Side::Bottom) > product.fitted_on(Side::Top) { Side::Bottom } else { Side::Top };
                let path = examples().join("lines").join(format!("{line}.toml"));
                let line = Line::parse(line, &text(&path)?).map_err(|f| format!("{f:?}"))?;
                let panel = panel_of(&product, *images);
                Ok(Given { product, side, panel, line, rules: Rules::default() })
            }
        }
    }
}

fn recipe_of(name: &str) -> Option<Recipe> {
    let fields: Vec<&str> = name.split('-').collect();
    let [n, p, x, line, r] = fields.as_slice() else { return None };
    let number = |text: &str, letter: char| text.strip_prefix(letter)?.parse::<u32>().ok();
    let kind = [Kind::FixedRoles, Kind::HeadSwap, Kind::Mixed].into_iter().find(|k| line.starts_with(k.word()))?;
    let stations = line.strip_prefix(kind.word())?.parse().ok().filter(|s| (1..=64).contains(s))?;
    Some(Recipe {
        kind,
        stations,
        placements: number(n, 'n')?,
        images: number(x, 'x')?.max(1),
        part_types: number(p, 'p')?,
        seed: number(r, 'r')?.into(),
    })
}

/// So many boards, as near to a square as can be, a router's width apart.
pub fn panel_of(product: &Product, images: u32) -> Panel {
    if images <= 1 {
        return Panel::SINGLE;
    }
    let (columns, rows) = columns_and_rows(images);
    Panel { columns, rows, pitch_x_um: product.width_um + Length(WEB), pitch_y_um: product.depth_um + Length(WEB), ..Panel::SINGLE }
}

fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples")
}

fn text(path: &Path) -> Result<String, Trouble> {
    std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))
}

/// Reads a folder of designer's files.
fn read(folder: &Path, name: &str, table: Option<&Path>) -> Result<Product, Trouble> {
    let say = |e: std::io::Error| format!("{}: {e}", folder.display());
    let entries = std::fs::read_dir(folder).map_err(say)?.collect::<Result<Vec<_>, _>>().map_err(say)?;
    let mut paths: Vec<_> = entries.iter().map(std::fs::DirEntry::path).filter(|p| p.is_file()).collect();
    paths.sort();
    let bytes = |p: &Path| std::fs::read(p).map_err(|e| format!("{}: {e}", p.display()));
    let file_name = |p: &Path| p.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let files = paths.iter().map(|p| Ok((file_name(p), bytes(p)?))).collect::<Result<Vec<_>, Trouble>>()?;
    let inputs: Vec<InputFile<'_>> = files.iter().map(|(name, bytes)| InputFile { name, bytes }).collect();
    let table = table.map(|p| Ok::<_, Trouble>((file_name(p), bytes(p)?))).transpose()?;
    let options = ReadOptions {
        name: Some(name.to_owned()),
        parts_table: table.as_ref().map(|(name, bytes)| InputFile { name, bytes }),
        ..ReadOptions::default()
    };
    intake::read(&inputs, &options).product.ok_or_else(|| format!("{}: no placement list was found", folder.display()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn names_are_unique_and_every_suite_has_instances() {
        let list = all();
        let names: BTreeSet<&str> = list.iter().map(|i| i.name.as_str()).collect();
        assert_eq!(names.len(), list.len());
        assert!(SUITES.iter().all(|s| list.iter().any(|i| i.suite == *s)));
    }

    #[test]
    fn a_generated_name_leads_back_to_its_recipe() {
        for i in all().into_iter().filter(|i| i.suite == "generated") {
            let Source::Generated(recipe) = i.source else { panic!("{} is not generated", i.name) };
            assert_eq!(recipe_of(&i.name), Some(recipe));
        }
        assert!(Instance::named("no-such-thing").is_err());
    }

    #[test]
    fn the_demo_products_can_be_read() {
        for i in all().into_iter().filter(|i| i.suite == "demo") {
            assert!(i.load(None).expect("a demo product").product.fitted_on(Side::Top) > 0, "{}", i.name);
        }
    }
}
